package message

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// hotPlaten stands on every ticket. A platen at these temperatures burns at a
// touch; workers must be shielded from hot surfaces (OSHA interpretation
// letter, 19 Aug 1998).
const hotPlaten = "The platen burns at a touch: keep its guard on and hands clear when it closes. Vent the room; read the safety data sheets of inks and powders. The supplier's own settings sheet goes before this ticket."

// readyToBleed are dyes that are tested first (common practice, no source).
var readyToBleed = []string{"red", "maroon", "burgundy", "navy", "camo", "camouflage"}

// cautions lists what can go wrong with this print on this garment.
func (j *Job) cautions(t notation, k pressKey, kind *programme.TransferKind, pieces []tally) []string {
	var out []string
	g, ok := j.Shop.Garment(k.garment)
	if !ok {
		return []string{"The shop file has no such garment: ask before pressing."}
	}
	if g.Protective != programme.NotProtective {
		out = append(out, protectivePress(g))
	}
	fibre := j.fibre(g)
	if limit := kind.Settings.PolyesterLimit(); kind.Settings.TooHot(fibre) {
		out = append(out, fmt.Sprintf("This cloth holds polyester: above %s its dye may move into the print, and show only days later. This transfer is made for more heat: ask its maker whether it holds at no more than %s and how long to press it. If it does not, press none on this cloth: it needs a transfer for less heat. Press one piece, leave it a day, then look.",
			t.shop.Units.Temperature(limit), t.shop.Units.Temperature(limit)))
	}
	if colours := bleeders(pieces); len(colours) > 0 {
		out = append(out, fmt.Sprintf("Test %s first: such dyes bleed more than others.", sentence(colours)))
	}
	if fibre == programme.Cotton {
		out = append(out, "Dyed cotton scorches and takes press marks: try one piece; if it marks, lower the heat, use a cover sheet, and steam lightly.")
	}
	return out
}

// protectivePress warns where a transfer could end a garment's approval.
func protectivePress(g *programme.Garment) string {
	s := fmt.Sprintf("This is %s. Press nothing on it without its maker's word in writing and the owner's yes; follow local codes.",
		protectiveWords(g.Protective))
	switch g.Protective {
	case programme.HighVisibility:
		return s +
			" Never on or over the reflective tape; print takes away from the fluorescent area that its class needs."
	case programme.FlameResistant:
		return s +
			" Ordinary transfers can burn or melt: size and number of emblems are limited by the garment's standard."
	case programme.NotProtective, programme.OtherPPE:
	}
	return s
}

// fibre returns what the garment's fabric class is made of; a class that is
// not known counts as a blend, the more cautious answer.
func (j *Job) fibre(g *programme.Garment) programme.Fibre {
	for _, list := range [][]programme.FabricBaseline{j.Shop.Baselines.Fabrics, programme.DefaultBaselines().Fabrics} {
		for i := range list {
			if list[i].Code == g.FabricClass {
				return list[i].Fibre
			}
		}
	}
	return programme.Blend
}

func bleeders(pieces []tally) []string {
	var out []string
	for _, p := range pieces {
		for _, c := range readyToBleed {
			if strings.Contains(strings.ToLower(p.Colour), c) && !slices.Contains(out, p.Colour) {
				out = append(out, p.Colour)
				break
			}
		}
	}
	slices.Sort(out)
	return out
}
