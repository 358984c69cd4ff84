package demand

import (
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// startersBy is, by line, the pieces due to people on the roster on a day that lies
// within days, with those of them that end in the days left: a kit, its rest, or what
// a season or a change of kit takes.
func (f *forecast) startersBy(days int, ends *starterEnds) []pmf {
	out := make([]pmf, len(f.lines))
	for i := range out {
		out[i] = certainly(0)
	}
	end := f.in.AsOf.Add(days)
	for _, s := range f.starters {
		if s.on > end {
			continue
		}
		worn := end
		if !s.last.IsZero() {
			worn = min(end, s.last)
		}
		k := f.lines[s.line]
		taken := certainly(s.Pieces).withEndings(ends.after(k.Garment, k.Colour, float64(worn.Sub(s.on))/7))
		if s.there < 1 {
			var m mixture
			m.add(s.there, taken)
			m.add(1-s.there, certainly(0))
			taken = m.pmf()
		}
		out[s.line] = out[s.line].plus(taken)
	}
	return out
}

// kitBy is, by line, the pieces of startersBy that a season or a change of kit takes.
func (f *forecast) kitBy(days int) []float64 {
	out := make([]float64, len(f.lines))
	for _, s := range f.starters {
		if !s.Begins.IsZero() && s.Begins <= f.in.AsOf.Add(days) {
			out[s.line] += float64(s.Pieces)
		}
	}
	return out
}

// kitIn is the pieces of a line that a season or a change of kit takes in a week.
func (f *forecast) kitIn(line, week int) (n float64) {
	for _, s := range f.starters {
		if s.line == line && !s.Begins.IsZero() && (s.Begins.Sub(f.in.AsOf)-1)/7 == week {
			n += float64(s.Pieces)
		}
	}
	return n
}

// people returns how many are known to start within days. Whose kit nobody can size yet
// is one of those who may come: of the size that people of the role have.
func (f *forecast) people(days int) int {
	n := 0
	for i := range f.in.Staff {
		if p := &f.in.Staff[i]; p.Start > f.in.AsOf && p.Start <= f.in.AsOf.Add(days) && f.sized(p) {
			n++
		}
	}
	return n
}

// sized reports whether any piece of a person's kit can be named with its size.
func (s *scene) sized(p *programme.Person) bool {
	for l := range linesOf(s.outfits.places[s.outfits.role(p)]) {
		if _, known := s.skuFor(p, l, nil); known {
			return true
		}
	}
	return false
}

// line puts together what is known of line i; the expected pieces by cause add
// up to the means of the distributions of replacements (worn) and of hires.
func (f *forecast) line(i int, worn, hired, starters, resized pmf, kit float64, days int) Line {
	l := Line{SKU: f.lines[i], Distribution: worn.plus(hired).plus(starters).plus(resized).describe(), Owed: f.owed[i]}
	var c programme.Causes
	for _, x := range f.expected(i, days) {
		c = c.Plus(x)
	}
	if sum := c.Sum(); sum > 0 {
		l.ByCause = c.Times(worn.mean() / sum)
	}
	l.ByCause.Kit, l.ByCause.Resize = kit, resized.mean()
	l.ByCause.Hires = hired.mean() + max(0, starters.mean()-kit)
	return l
}

// stock fills in finished pieces of the client: on the shelf, and on order for a
// day within the horizon. Pieces that were worn before count where they may go
// out again.
func (f *forecast) stock(m *Muster, days int) {
	for goods, p := range programme.Positions(f.wearable(), f.in.AsOf.Add(days)) {
		if i, ok := f.at[goods.SKU()]; ok && goods.Kind == programme.Finished && goods.Client == f.in.Client.Code {
			m.Lines[i].OnHand, m.Lines[i].OnOrder = m.Lines[i].OnHand+p.OnHand, m.Lines[i].OnOrder+p.OnOrder
		}
	}
	all, unlisted := f.reissuable()
	for i := range m.Lines {
		m.Lines[i].Reissuable = all[i]
		m.Lines[i].OnHand += unlisted[i]
	}
}

// wearable returns the stock without worn pieces that may not go out again.
func (f *forecast) wearable() []programme.StockLine {
	return slices.DeleteFunc(slices.Clone(f.in.Stock), func(l programme.StockLine) bool {
		return l.Washes > 0 && !f.in.StillFit(l.SKU(), float64(l.Washes))
	})
}

// garments returns the distribution of each garment over all its colours and sizes.
func (f *forecast) garments(worn map[string]pmf, h *hires, known []pmf, resized *resizes) []GarmentTotal {
	var out []GarmentTotal
	for i, k := range f.lines {
		if n := len(out); n > 0 && out[n-1].Garment == k.Garment {
			out[n-1].known = out[n-1].known.plus(known[i])
			continue
		}
		out = append(out, GarmentTotal{Garment: k.Garment, known: known[i]})
	}
	for i := range out {
		g := &out[i]
		d, ok := worn[g.Garment]
		if !ok {
			d = certainly(0)
		}
		hired := h.all(func(l *programme.KitLine) bool { return l.Garment == g.Garment })
		g.Distribution = d.plus(hired).plus(g.known).plus(resized.garment(g.Garment)).describe()
	}
	return out
}
