package sheet

import "math"

// gangMost is the number of artworks that are ganged together at the most. The search
// over their layouts takes time in proportion to the square of their number,
// and a sheet holds a few dozen images: choosing among hundreds saves hardly more.
const gangMost = 48

// parts divides the wants so that a large need is planned in time in proportion
// to it: at most gangMost artworks each, in the order of clients, about equally
// many, and a client's artworks never apart. A need that is small enough is one part.
func (f *field) parts() []*field {
	if len(f.wants) <= gangMost {
		return []*field{f}
	}
	n := (len(f.wants) + gangMost - 1) / gangMost
	fair := (len(f.wants) + n - 1) / n
	var out []*field
	from := 0
	for at := 0; at < len(f.wants); {
		next := at + 1
		for next < len(f.wants) && f.wants[next].line.Client == f.wants[at].line.Client {
			next++
		}
		if at > from && (at-from >= fair || next-from > gangMost) {
			out = append(out, f.part(from, at))
			from = at
		}
		at = next
	}
	return append(out, f.part(from, len(f.wants)))
}

func (f *field) part(from, to int) *field {
	p := *f
	p.wants, p.whole = f.wants[from:to], f.floor()
	return &p
}

// toNextBreak returns how many more sheets to order when n are wanted, because as
// many as the next price break asks for cost no more.
func (f *field) toNextBreak(n int) (more int) {
	cost := f.eachOf(float64(n)) * float64(n)
	one := f.tariff.quantity(f.size.Height, 1)
	for _, b := range f.tariff.breaks {
		from := int(math.Ceil(b.From/one - 1e-9))
		if v := f.eachOf(float64(from)) * float64(from); from > n && v <= cost {
			cost, more = v, from-n
		}
	}
	return more
}
