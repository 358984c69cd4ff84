package gang

import (
	"cmp"
	"slices"
)

// peel builds a solution layer by layer: a layout is filled with artworks of
// which at least a full run is still wanted, so that nothing is printed in
// vain, and its run is taken off the need. Which run is taken is partly
// chance; what one sheet can hold in the end is printed by the last layout.
func (s *solver) peel() ([]Layout, bool) {
	left := slices.Clone(s.p.Need)
	var layouts []Layout
	for len(layouts) <= len(s.p.Need) {
		if slices.Max(left) <= 0 {
			return layouts, true
		}
		if l, ok := s.closing(left); ok && s.rng.IntN(2) == 0 {
			return append(layouts, l), true
		}
		l, useful := s.layer(left)
		if !useful {
			return nil, false
		}
		layouts = append(layouts, l)
		for j, c := range l.Copies {
			left[j] = max(0, left[j]-c*l.Run)
		}
	}
	return nil, false
}

// layer chooses among some random runs the one that prints most of what is
// left, a layout that wastes slots being worth less.
func (s *solver) layer(left []int) (best Layout, useful bool) {
	order := s.byLeft(left)
	var bestArea float64
	for range 1 + s.rng.IntN(6) {
		j := order[s.rng.IntN(min(len(order), 8))]
		run := ceilDiv(left[j], 1+s.rng.IntN(3)*s.rng.IntN(2))
		l := s.filled(order, left, run)
		area := 0.0
		for i, c := range l.Copies {
			area += float64(min(left[i], c*run)) * s.p.Size[i]
		}
		if area > bestArea {
			best, bestArea = l, area
		}
	}
	return best, bestArea > 0
}

// filled puts on as many copies as a run of run needs, whole runs first, then
// parts of runs where room is left.
func (s *solver) filled(order, left []int, run int) Layout {
	l := Layout{make([]int, len(left)), run}
	for _, j := range order {
		for l.Copies[j] < left[j]/run && s.add(&l, j) {
		}
	}
	for _, j := range order {
		if l.Copies[j]*run < left[j] {
			s.add(&l, j)
		}
	}
	return l
}

// byLeft lists artworks of which something is left, most area first.
func (s *solver) byLeft(left []int) []int {
	var order []int
	for _, j := range s.byNeed() {
		if left[j] > 0 {
			order = append(order, j)
		}
	}
	area := func(j int) float64 { return float64(left[j]) * s.p.Size[j] }
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(area(b), area(a)) })
	return order
}
