package gang

// closing returns the layout that prints what is left in the shortest run: the least
// at which the copies it asks for, need divided by run and rounded up, fit one
// sheet. ok is false when nothing is left or one sheet cannot carry it.
func (s *solver) closing(left []int) (l Layout, ok bool) {
	l = Layout{Copies: make([]int, len(left))}
	var area float64
	most := 0
	for j, n := range left {
		area += float64(max(0, n)) * s.p.Size[j]
		most = max(most, n)
	}
	holds := func(run int) bool {
		for j, n := range left {
			l.Copies[j] = ceilDiv(max(0, n), run)
		}
		l.Run = run
		return s.holds(l.Copies)
	}
	if most <= 0 || !holds(most) {
		return l, false
	}
	low, high := max(1, ceil(area)), most
	for low < high {
		if mid := (low + high) / 2; holds(mid) {
			high = mid
		} else {
			low = mid + 1
		}
	}
	return l, holds(low)
}

// reclose replaces a layout by the one that best prints what the others leave
// with their runs.
func (s *solver) reclose(layouts []Layout, at int) bool {
	left := make([]int, len(s.p.Need))
	for j, need := range s.p.Need {
		for i := range layouts {
			if i != at {
				need -= layouts[i].Copies[j] * layouts[i].Run
			}
		}
		left[j] = need
	}
	l, ok := s.closing(left)
	if !ok {
		return false
	}
	copy(layouts[at].Copies, l.Copies)
	s.top(&layouts[at])
	return true
}
