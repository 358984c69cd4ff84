package demand

import (
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// replacements are distributions of how many pieces in service, and replacements of
// them, will need replacing.
type replacements struct {
	lines []pmf // by line
	// When the whole is asked for: by garment, where these are, and of all together.
	garments map[string]pmf
	total    pmf
}

// replace counts replacements within a number of days by line and, when whole,
// by garment and of all together. Classes of pieces are independent; within
// one, lines are so under each lifetime, and what one person's pieces have in
// common is brought back by widening.
func (f *forecast) replace(days int, whole bool) replacements {
	out := replacements{lines: make([]pmf, len(f.lines)), garments: map[string]pmf{}, total: certainly(0)}
	for i := range out.lines {
		out.lines[i] = certainly(0)
	}
	stays := f.in.Staffing.stays(float64(days) / 7)
	var together *ties
	if whole {
		together = &ties{}
	}
	for _, c := range f.classes {
		lifetimes := f.counters[c].lifetimes
		sums := f.endings(c, days, stays, together)
		for line, s := range sums {
			if s != nil {
				out.lines[line] = out.lines[line].plus(mixed(lifetimes, s))
			}
		}
		if whole {
			out.addUp(f.lines, lifetimes, sums, f.byGarment)
		}
	}
	if whole {
		out.widen(together, &f.in.Staffing)
	}
	return out
}

// endings counts the endings of one class of pieces within a number of days by
// line and lifetime, nil for lines without such pieces. What ties a person's pieces
// together is noted in together, unless that is nil.
func (f *forecast) endings(c wear.Class, days int, stays map[bool]retention, together *ties) [][]sum {
	counter := f.counters[c]
	sums := make([][]sum, len(f.lines))
	for i := range f.holders {
		h := &f.holders[i]
		if h.use.Class.Class != c || h.outgrown || h.due > f.in.AsOf.Add(days) {
			continue
		}
		retention := h.present.of(f.stayOf(h, days, stays))
		season := *h
		if now, far := f.hardnessOf(h, days), f.hardnessOf(h, f.days); now != far {
			season.rot.Pace *= now / far
		}
		for _, in := range f.spans(h) {
			if 7*in.from >= float64(days) {
				break
			}
			if sums[in.line] == nil {
				sums[in.line] = make([]sum, len(counter.lifetimes))
			}
			means := counter.add(&season, retention, in, sums[in.line], together != nil)
			if together != nil {
				together.add(h.person, "", retention.times(h.paces), len(retention.moments), means)
				if f.byGarment {
					together.add(h.person, f.lines[in.line].Garment, retention.times(h.paces),
						len(retention.moments), means)
				}
			}
		}
	}
	return sums
}

// stayOf returns one of stays, the retentions of everybody, or a holder's own when the
// last day is known.
func (f *forecast) stayOf(h *holder, days int, stays map[bool]retention) retention {
	if h.lastDay.IsZero() {
		return stays[h.resizes]
	}
	return until(min(float64(days)/7, float64(h.lastDay-f.in.AsOf)/7))
}

// addUp adds the sums of one class over lines, which are in order of garment, to garments, where these are asked for,
// and total. They are added under each lifetime first, since which one is true is the same for all of them.
func (r *replacements) addUp(lines []programme.SKU, lifetimes []Lifetime, sums [][]sum, byGarment bool) {
	all := make([]sum, len(lifetimes))
	for from, to := 0, 0; from < len(lines); from = to {
		garment := lines[from].Garment
		var one []sum
		for to = from; to < len(lines) && lines[to].Garment == garment; to++ {
			one = joined(one, sums[to])
		}
		if one == nil {
			continue
		}
		if byGarment {
			before, ok := r.garments[garment]
			if !ok {
				before = certainly(0)
			}
			r.garments[garment] = before.plus(mixed(lifetimes, one))
		}
		joined(all, one)
	}
	r.total = r.total.plus(mixed(lifetimes, all))
}

// widen gives garments and the total the variance that their lines, taken as
// independent, lack.
func (r *replacements) widen(together *ties, s *Staffing) {
	stopping := s.stopping()
	size := 1 + (s.LeaveTogether.Size()-1)*s.Leaving.Mean()/stopping.Mean() // nobody changes size with others
	for g := range r.garments {
		r.garments[g] = r.garments[g].widened(together.covariance(g, stopping, size))
	}
	r.total = r.total.widened(together.covariance("", stopping, size))
}
