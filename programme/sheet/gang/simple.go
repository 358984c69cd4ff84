package gang

// Simple returns what a careful person would order without a search: one
// artwork a sheet, everything once on one layout with as many copies as fit,
// and the layout in the ratio of the needs. Rules that are impossible for the
// problem are left out.
func Simple(p *Problem) []Solution {
	s := newSolver(p, Options{})
	out := []Solution{s.onePerSheet()}
	out[0].Name = "One artwork a sheet"
	if l, ok := s.oneLayout(); ok {
		l.Name = "Everything on one layout"
		out = append(out, l)
	}
	if l, ok := s.proportional(); ok {
		l.Name = "One layout in the ratio of the need"
		out = append(out, l)
	}
	return out
}

// onePerSheet prints each artwork on sheets of its own.
func (s *solver) onePerSheet() Solution {
	layouts := make([]Layout, len(s.p.Need))
	for j, need := range s.p.Need {
		l := Layout{Copies: make([]int, len(s.p.Need))}
		s.crowd(&l, j)
		l.Run = ceilDiv(need, max(1, l.Copies[j]))
		layouts[j] = l
	}
	return s.p.finish(layouts)
}

// crowd puts on a layout as many copies of j alone as fit, in growing steps.
func (s *solver) crowd(l *Layout, j int) {
	holds := func(n int) bool {
		l.Copies[j] = n
		return s.holds(l.Copies)
	}
	low, high := 0, 1
	for holds(high) {
		low, high = high, 2*high
	}
	for high-low > 1 {
		if mid := (low + high) / 2; holds(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	l.Copies[j] = low
}

// oneLayout puts every artwork on one layout, then copies where they shorten the run.
func (s *solver) oneLayout() (Solution, bool) {
	l := Layout{Copies: make([]int, len(s.p.Need))}
	for j := range s.p.Need {
		if !s.add(&l, j) {
			return Solution{}, false
		}
	}
	s.fill(&l)
	return s.single(l), true
}

// proportional puts copies in the ratio of the needs, rounded up, for the
// shortest run at which that fits one sheet.
func (s *solver) proportional() (Solution, bool) {
	most := 0
	for _, n := range s.p.Need {
		most = max(most, n)
	}
	fits := func(run int) (Layout, bool) {
		l := Layout{Copies: make([]int, len(s.p.Need))}
		for j, n := range s.p.Need {
			l.Copies[j] = ceilDiv(n, run)
		}
		return l, s.holds(l.Copies)
	}
	if _, ok := fits(most); !ok {
		return Solution{}, false
	}
	low, high := s.p.floor(), most
	for low < high {
		mid := (low + high) / 2
		if _, ok := fits(mid); ok {
			high = mid
		} else {
			low = mid + 1
		}
	}
	l, ok := fits(low)
	if !ok {
		return Solution{}, false
	}
	return s.single(l), true
}

func (s *solver) single(l Layout) Solution {
	layouts := []Layout{l}
	s.runs.solve(layouts)
	return s.p.finish(layouts)
}
