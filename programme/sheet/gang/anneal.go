package gang

import (
	"math"
	"slices"
)

// Temperatures of the search as shares of the cost.
const (
	hot  = 0.02
	cold = 0.0003
)

// warmths multiply the temperature at the beginning, in passes that take turns:
// where a sheet more or less is a large part of the cost, the way to another set
// of layouts leads over dear ones.
var warmths = []float64{1, 5, 1, 2}

// peels tries solutions built layer by layer and remembers the best of each
// number of layouts as a start.
func (s *solver) peels(tries int) {
	for range tries {
		s.tries++
		layouts, ok := s.peel()
		if !ok {
			continue
		}
		k := len(layouts)
		if v := s.value(layouts); s.peeled[k] == nil || v < s.peeledValue[k] {
			s.peeled[k], s.peeledValue[k] = layouts, v
		}
		if s.stopped() {
			return
		}
	}
}

// polish goes on from the best solution so far, with changes that cost little.
func (s *solver) polish(steps, pass int) {
	if !s.found || pass == 0 {
		return
	}
	layouts := clone(s.best.Layouts)
	if pass%2 == 1 && len(layouts) > 2 { // without one of its layouts
		at := s.rng.IntN(len(layouts))
		layouts = append(layouts[:at], layouts[at+1:]...)
		for j := range s.p.Need {
			if !onSome(layouts, j) && !s.squeeze(layouts, j) {
				return
			}
		}
	}
	s.cool(layouts, steps, hot/4)
}

func onSome(layouts []Layout, j int) bool {
	for i := range layouts {
		if layouts[i].Copies[j] > 0 {
			return true
		}
	}
	return false
}

// squeeze puts a copy of j on one of the layouts, in the place of others that
// are on it more than once.
func (s *solver) squeeze(layouts []Layout, j int) bool {
	for range 4 * len(layouts) {
		l := &layouts[s.rng.IntN(len(layouts))]
		before := slices.Clone(l.Copies)
		for range 4 {
			if s.add(l, j) {
				return true
			}
			if i := s.pick(l, j); i >= 0 && l.Copies[i] > 1 {
				l.Copies[i]--
			}
		}
		copy(l.Copies, before)
	}
	return false
}

// anneal searches solutions with at most k layouts. Every other pass begins
// with the best solution that was built layer by layer.
func (s *solver) anneal(k, steps, pass int) {
	now, ok := s.start(k, pass)
	if s.peeled[k] != nil && pass%2 == 0 {
		now, ok = clone(s.peeled[k]), true
	}
	if ok {
		s.cool(now, steps, hot*warmths[pass/2%len(warmths)])
	}
}

// cool anneals from a solution, beginning at a temperature that is a share of its cost.
func (s *solver) cool(now []Layout, steps int, hot float64) {
	cost := s.value(now)
	s.short = append(s.short[:0], s.runs.short...)
	next := clone(now)
	for i := range steps {
		if s.tries++; s.tries&31 == 0 && s.stopped() {
			break
		}
		temperature := math.Abs(cost) * hot * math.Pow(cold/hot, float64(i)/float64(steps))
		copyInto(next, now)
		if !s.change(next) {
			continue
		}
		v := s.value(next)
		if v <= cost || s.rng.Float64() < math.Exp((cost-v)/temperature) {
			now, next = next, now
			cost = v
			copy(s.short, s.runs.short)
		}
	}
}

// value works out runs and cost, keeps the solution if it is the best, and
// returns the cost with a little of the fractional runs, which shows the way
// across plains of equal cost.
func (s *solver) value(layouts []Layout) float64 {
	bound, ok := s.runs.solve(layouts)
	if !ok {
		return math.Inf(1)
	}
	net := s.p.net(layouts)
	if s.improves(net) {
		s.offer(s.p.finish(layouts))
	}
	net = s.refine(layouts, net)
	if v, ok := s.perLayouts[len(layouts)]; !ok || net < v {
		s.perLayouts[len(layouts)] = net
	}
	return net + 0.1*bound*s.p.price(int(bound))
}

func clone(layouts []Layout) []Layout {
	out := slices.Clone(layouts)
	for i := range out {
		out[i].Copies = slices.Clone(out[i].Copies)
	}
	return out
}

func copyInto(to, from []Layout) {
	for i := range from {
		to[i].Run = from[i].Run
		copy(to[i].Copies, from[i].Copies)
	}
}
