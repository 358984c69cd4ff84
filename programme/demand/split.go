package demand

import "github.com/kitmuster/kitmuster/programme"

// Split parts a line by what meets its need: the first pieces that are needed, up to a
// number, are met with others, and become a line of those; the rest stays. Pieces owed
// come first of all. Stock stays with the line.
func (l *Line) Split(with programme.SKU, first int) (others, rest Line) {
	owed := min(l.Owed, first)
	first -= owed
	others, rest = Line{SKU: with, Owed: owed}, *l
	rest.Owed -= owed
	d := pmf{0, l.PMF}
	if len(l.PMF) == 0 {
		d = certainly(0)
	}
	rest.Distribution = d.less(first).describe()
	low := make([]float64, min(first, len(d.p)-1)+1)
	for n, p := range d.p {
		low[min(n, len(low)-1)] += p
	}
	others.Distribution = pmf{0, low}.describe()
	share := 0.0
	if l.Mean > 0 {
		share = others.Mean / l.Mean
	}
	others.ByCause, rest.ByCause = l.ByCause.Times(share), l.ByCause.Times(1-share)
	others.Weekly, rest.Weekly = make([]float64, len(l.Weekly)), make([]float64, len(l.Weekly))
	left := others.Mean
	for w, x := range l.Weekly {
		others.Weekly[w] = min(x, left)
		rest.Weekly[w] = x - others.Weekly[w]
		left -= others.Weekly[w]
	}
	return others, rest
}
