package draft

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// marksOn returns the marks for which the garment has a place, under its name there.
func (d *maker) marksOn(g *programme.Garment, it *item) []mark {
	if len(g.Placements) == 0 {
		return it.marks
	}
	var out []mark
	for _, m := range it.marks {
		for _, name := range append([]string{m.place}, m.also...) {
			if slices.ContainsFunc(g.Placements, func(p programme.Placement) bool { return p.Place == name }) {
				m.place = name
				out = append(out, m)
				break
			}
		}
	}
	return out
}

// decorations puts the marks on a garment as artworks of the first kind that
// holds them, for weighing; settle makes them final.
func (d *maker) decorations(marks []mark) []programme.Decoration {
	var out []programme.Decoration
	for _, m := range marks {
		art := d.artwork(m, d.anyKind())
		art.Code = fmt.Sprintf("draft %s %d", m.suffix, len(d.shop.Artworks))
		d.shop.Artworks = append(d.shop.Artworks, art)
		out = append(out, programme.Decoration{Artwork: art.Code, Place: m.place})
	}
	return out
}

// anyKind returns a kind of transfer that takes on every fibre, or else the first.
func (d *maker) anyKind() string {
	for _, k := range d.shop.Kinds {
		if x, ok := d.shop.Baselines.Decoration(k.Decoration); !ok || !x.PolyesterOnly {
			return k.Code
		}
	}
	return d.shop.Kinds[0].Code
}

func (d *maker) artwork(m mark, kind string) programme.Artwork {
	a := programme.Artwork{
		Code: d.in.Code + "-" + m.suffix, Client: d.in.Code, Name: "Mark for the " + strings.ReplaceAll(m.place, "-", " "),
		Kind: kind, Width: m.wide, Height: m.high, Turn: true,
	}
	if k, ok := d.shop.Kind(kind); ok && k.Process == programme.ScreenPrinted {
		a.Inks = 1
	}
	if m.suffix == "back" {
		a.Name = "Lettering for the back"
	}
	return a
}

// settle returns the final decorations, adding each artwork once. The same mark
// on cloths that want different kinds of transfer becomes two artworks.
func (d *maker) settle(marks []mark, kind string) []programme.Decoration {
	var out []programme.Decoration
	for _, m := range marks {
		art := d.artwork(m, kind)
		for _, have := range d.out.Artworks {
			if have.Code == art.Code && have.Kind != kind {
				art.Code += "-" + kind
			}
		}
		if !slices.ContainsFunc(d.out.Artworks, func(a programme.Artwork) bool { return a.Code == art.Code }) {
			d.out.Artworks = append(d.out.Artworks, art)
		}
		out = append(out, programme.Decoration{Artwork: art.Code, Place: m.place})
	}
	return out
}
