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
		same := g.SizeFamily == present.SizeFamily && g.Protective == present.Protective &&
			q.perWash(g) == q.perWash(present)
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
	if g.Code != q.Line.Garment && slices.ContainsFunc(now,
		func(c string) bool { k, ok := q.Shop.Kind(c); return ok && q.refuses(g, k) }) {
		all = nil // of another garment it is no present state, only a bad idea
	}
	for i := range q.Shop.Kinds {
		k := &q.Shop.Kinds[i]
		if len(now) == 0 || len(all) > 0 && !slices.ContainsFunc(now, func(c string) bool { return c != k.Code }) ||
			len(q.Kinds) > 0 && !slices.Contains(q.Kinds, k.Code) || q.refuses(g, k) {
			continue
		}
		all = append(all, slices.Repeat([]string{k.Code}, len(now)))
	}
	if len(all) == 0 {
		return [][]string{now}
	}
	return all
}

func (q *Question) refuses(g *programme.Garment, k *programme.TransferKind) bool {
	return Refuses(q.Shop, g, k)
}

// Refuses reports whether a kind of transfer is not for a garment: its print does not take
// on the fibre, or is pressed so hot that the dye of cloth all of polyester moves into it.
// Blends are pressed as hot by common practice, and tickets caution of them.
func Refuses(shop *programme.Shop, g *programme.Garment, k *programme.TransferKind) bool {
	f, known := shop.Baselines.Fabric(g.FabricClass)
	polyester := known && f.Fibre == programme.Polyester
	if d, ok := shop.Baselines.Decoration(k.Decoration); ok && d.PolyesterOnly {
		return !polyester
	}
	return polyester && k.Settings.TooHot(f.Fibre)
}

// suppose returns the shop and client as they would be with one candidate.
func (q *Question) suppose(g *programme.Garment, kinds []string,
	wash programme.Laundering) (*programme.Shop, *programme.Client, *programme.KitLine) {
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
