package choose

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// garments returns the candidates: asked for, or those of the same size family and
// protection that are washed about as often (a fleece is no rival of a tee).
func (q *Question) garments(present *programme.Garment) []*programme.Garment {
	var out []*programme.Garment
	for i := range q.Shop.Garments {
		g := &q.Shop.Garments[i]
		same := g.SizeFamily == present.SizeFamily && g.Protective == present.Protective && q.perWash(g) == q.perWash(present)
		if g.Code == present.Code || slices.Contains(q.Garments, g.Code) || len(q.Garments) == 0 && same {
			out = append(out, g)
		}
	}
	return out
}

func (q *Question) perWash(g *programme.Garment) float64 {
	if g.WearsPerWash > 0 {
		return g.WearsPerWash
	}
	if f, ok := q.Shop.Baselines.Fabric(g.FabricClass); ok {
		return max(f.WearsPerWash, 1)
	}
	return 1
}

// kinds lists, for each option of a garment, the kind of every print: as it is
// now, and all prints by one kind.
func (q *Question) kinds(g *programme.Garment) [][]string {
	now := make([]string, len(q.Line.Decorations))
	for i, d := range q.Line.Decorations {
		if a, ok := q.Shop.Artwork(d.Artwork); ok {
			now[i] = a.Kind
		}
	}
	all := [][]string{now}
	for i := range q.Shop.Kinds {
		k := &q.Shop.Kinds[i]
		if len(now) == 0 || !slices.ContainsFunc(now, func(c string) bool { return c != k.Code }) || len(q.Kinds) > 0 && !slices.Contains(q.Kinds, k.Code) || q.refuses(g, k) {
			continue
		}
		all = append(all, slices.Repeat([]string{k.Code}, len(now)))
	}
	return all
}

// refuses reports whether a kind does not take on the garment's fibre.
func (q *Question) refuses(g *programme.Garment, k *programme.TransferKind) bool {
	d, ok := q.Shop.Baselines.Decoration(k.Decoration)
	if !ok || !d.PolyesterOnly {
		return false
	}
	f, ok := q.Shop.Baselines.Fabric(g.FabricClass)
	return !ok || f.Fibre != programme.Polyester
}

// suppose returns the shop and client as they would be with one candidate.
func (q *Question) suppose(g *programme.Garment, kinds []string, wash programme.Laundering) (*programme.Shop, *programme.Client, *programme.KitLine) {
	shop, client, line := *q.Shop, *q.Client, q.Line
	shop.Artworks = slices.Clone(q.Shop.Artworks)
	line.Garment = g.Code
	// One artwork may stand at two places, so each print gets a copy of its own.
	line.Decorations = make([]programme.Decoration, len(q.Line.Decorations))
	for i, d := range q.Line.Decorations {
		if a, ok := q.Shop.Artwork(d.Artwork); ok {
			own := *a
			own.Kind, own.Code = kinds[i], fmt.Sprintf("%s %d", a.Code, i)
			shop.Artworks = append(shop.Artworks, own)
			d.Artwork = own.Code
		}
		line.Decorations[i] = d
	}
	client.Laundering = wash
	client.Roles = []programme.Role{{Code: q.Role, Kit: []programme.KitLine{line}}}
	return &shop, &client, &line
}

func (q *Question) isNow(kinds []string) bool {
	for i, d := range q.Line.Decorations {
		if a, ok := q.Shop.Artwork(d.Artwork); !ok || a.Kind != kinds[i] {
			return false
		}
	}
	return true
}

func kindName(kinds []string) string {
	var names []string
	for _, k := range kinds {
		if !slices.Contains(names, k) {
			names = append(names, k)
		}
	}
	return strings.Join(names, " and ")
}
