package programme

import (
	"iter"
	"maps"
	"slices"
)

// Cuts holds the lines that a kit has of one thing, cut by cut: first the cut that the
// others name as theirs (cut_of), then these, in the order of the kit. Most things
// come in one.
type Cuts []Succession

// Cuts returns the role's kit thing by thing, in the order of the kit.
func (r *Role) Cuts() []Cuts {
	var out []Cuts
	var others []Succession
	for _, s := range r.Successions() {
		if _, ok := s.cutOf(); ok {
			others = append(others, s)
		} else {
			out = append(out, Cuts{s})
		}
	}
	for _, s := range others {
		of, _ := s.cutOf()
		if i := slices.IndexFunc(out, func(c Cuts) bool { return c[0].Has(of.Garment, of.Colour) }); i >= 0 {
			out[i] = append(out[i], s)
		} else {
			out = append(out, Cuts{s})
		}
	}
	return out
}

// cutOf returns the line of which the succession is a cut: the cut_of of its newest line that states one.
func (s Succession) cutOf() (Former, bool) {
	for i := range slices.Backward(s) {
		if s[i].CutOf != (Former{}) {
			return s[i].CutOf, true
		}
	}
	return Former{}, false
}

// HasCuts reports whether some of the role's people wear another cut of something.
func (r *Role) HasCuts() bool {
	return slices.ContainsFunc(r.Kit, func(l KitLine) bool { return l.CutOf != (Former{}) })
}

// Worn returns the index of the cut that somebody wears: the last of which they have a
// size, the first where they have none of the others.
func (c Cuts) Worn(shop *Shop, p *Person) int {
	for i := len(c) - 1; i > 0; i-- {
		for j := range c[i] {
			if g, ok := shop.Garment(c[i][j].Garment); ok && p.Sizes[g.SizeFamily] != "" {
				return i
			}
		}
	}
	return 0
}

// Told reports whether it is known which of the cuts somebody wears: they have a size of one.
func (c Cuts) Told(shop *Shop, p *Person) bool {
	return len(c) == 1 || p.Sizes[c.family(shop, p)] != ""
}

// Has reports whether pieces of a garment and colour are of the thing, whatever its cut.
func (c Cuts) Has(garment, colour string) bool {
	return slices.ContainsFunc(c, func(s Succession) bool { return s.Has(garment, colour) })
}

// For returns the role with the kit that one person is given: of what comes in several
// cuts the one that they wear.
func (r *Role) For(shop *Shop, p *Person) *Role {
	if !r.HasCuts() {
		return r
	}
	out := *r
	out.Kit = slices.Clone(r.Kit)
	for _, c := range r.Cuts() {
		worn := c.Worn(shop, p)
		out.Kit = slices.DeleteFunc(out.Kit, func(l KitLine) bool {
			return c.Has(l.Garment, l.Colour) && !c[worn].Has(l.Garment, l.Colour)
		})
	}
	return &out
}

// InEachCut returns the role with the kit that its people are given who wear the first cut
// of everything, then with that of those who wear the second, and so on: the role alone
// where nothing comes in cuts.
func (r *Role) InEachCut(shop *Shop) []*Role {
	out := []*Role{r.For(shop, &Person{})}
	cuts := r.Cuts()
	for i := 1; slices.ContainsFunc(cuts, func(c Cuts) bool { return len(c) > i }); i++ {
		p := Person{Sizes: map[string]string{}}
		for _, c := range cuts {
			if i < len(c) {
				if g, ok := shop.Garment(c[i].Newest().Garment); ok {
					p.Sizes[g.SizeFamily] = "any"
				}
			}
		}
		out = append(out, r.For(shop, &p))
	}
	return out
}

// Families returns the size families of the cuts, the first line's first: a size of one of
// them says which cut somebody wears.
func (c Cuts) Families(shop *Shop) (out []string) {
	for l := range c.Lines() {
		if g, ok := shop.Garment(l.Garment); ok && !slices.Contains(out, g.SizeFamily) {
			out = append(out, g.SizeFamily)
		}
	}
	return out
}

// Lines yields the lines of all cuts.
func (c Cuts) Lines() iter.Seq[*KitLine] {
	return func(yield func(*KitLine) bool) {
		for _, s := range c {
			for i := range s {
				if !yield(&s[i]) {
					return
				}
			}
		}
	}
}

// In returns the thing of the kit that a garment and colour is of, in its cuts.
func (r *Role) In(garment, colour string) (Cuts, bool) {
	all := r.Cuts()
	if i := slices.IndexFunc(all, func(c Cuts) bool { return c.Has(garment, colour) }); i >= 0 {
		return all[i], true
	}
	return nil, false
}

// Exchange is a change of size or cut for which a person is owed others for the pieces in hand.
type Exchange int8

// Exchanges.
const (
	NoExchange Exchange = iota
	NewSize
	NewCut
)

// Word is said instead of the word of CauseOwed; it stands by itself and behind a number
// of pieces.
func (e Exchange) Word() string {
	return [...]string{NoExchange: "", NewSize: "for another size", NewCut: "for another cut"}[e]
}

// Exchanges reports whether somebody changed size or cut of what a piece is, so that such
// pieces are owed in exchange for what they hold. Who changed both is said to have
// changed size, which pieces of either cut may be there for.
func (r *Role) Exchanges(shop *Shop, p *Person, k SKU) Exchange {
	c, ok := r.In(k.Garment, k.Colour)
	if !ok || len(p.Outgrown) == 0 {
		return NoExchange
	}
	now, out := c.family(shop, p), NoExchange
	for l := range c.Lines() {
		g, ok := shop.Garment(l.Garment)
		switch {
		case !ok || !slices.ContainsFunc(p.Outgrown[g.SizeFamily],
			func(size string) bool { return p.HasOutgrown(g.SizeFamily, size, now) }):
		case g.SizeFamily == now:
			return NewSize
		default:
			out = NewCut
		}
	}
	return out
}

// Outgrown reports whether a piece that somebody holds fits them no more: it is of a size,
// or of a cut, that they changed from and that is to be exchanged.
func (r *Role) Outgrown(shop *Shop, p *Person, k SKU) bool {
	g, ok := shop.Garment(k.Garment)
	if !ok || len(p.Outgrown) == 0 {
		return false
	}
	now := g.SizeFamily
	if r.HasCuts() {
		if c, ok := r.In(k.Garment, k.Colour); ok {
			now = c.family(shop, p)
		}
	}
	return p.HasOutgrown(g.SizeFamily, k.Size, now)
}

// family is the size family of the cut that somebody wears.
func (c Cuts) family(shop *Shop, p *Person) string {
	g, ok := shop.Garment(c[c.Worn(shop, p)].Newest().Garment)
	if !ok {
		return ""
	}
	return g.SizeFamily
}

// Recut notes that the pieces somebody holds of the cuts they wore before fit no more.
// The person is as they are after a change of sizes.
func (r *Role) Recut(shop *Shop, before, p *Person) {
	outgrown := map[string][]string{}
	maps.Copy(outgrown, p.Outgrown)
	for _, c := range r.Cuts() {
		was, now := c.family(shop, before), c.family(shop, p)
		size := before.Sizes[was]
		if was == now || size == "" {
			continue
		}
		if !slices.Contains(outgrown[was], size) {
			outgrown[was] = append(slices.Clone(outgrown[was]), size)
		}
		mine := slices.DeleteFunc(slices.Clone(outgrown[now]), func(s string) bool { return s == p.Sizes[now] })
		if outgrown[now] = mine; len(mine) == 0 {
			delete(outgrown, now)
		}
	}
	if p.Outgrown = outgrown; len(outgrown) == 0 {
		p.Outgrown = nil
	}
}
