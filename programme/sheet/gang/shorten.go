package gang

// shorten looks for a shorter run of a single layout. For one layout the
// shortest run is the least at which the copies it asks for, need divided by
// run and rounded up, fit one sheet; so all depends on how well one sheet is
// packed, and there more effort pays.
func (s *solver) shorten(effort int) {
	if s.p.TryHard == nil || s.p.Slots > 0 {
		return
	}
	run := s.shortest()
	for run > s.p.floor() && !s.stopped() {
		l := Layout{Copies: make([]int, len(s.p.Need))}
		for j, n := range s.p.Need {
			l.Copies[j] = ceilDiv(n, run-1)
		}
		s.tries += min(effort, 500)
		if !s.holds(l.Copies) && !s.hold(l.Copies, effort) {
			return
		}
		s.runs.single(&l)
		run = l.Run
		s.offer(s.p.finish([]Layout{l}))
	}
}

// shortest returns the shortest run of one layout known so far.
func (s *solver) shortest() int {
	if s.found && len(s.best.Layouts) == 1 {
		return s.best.Layouts[0].Run
	}
	if l, ok := s.proportional(); ok {
		return l.Layouts[0].Run
	}
	run := 0
	for _, n := range s.p.Need {
		run = max(run, n)
	}
	return run + 1
}

// hold asks with effort and remembers a yes.
func (s *solver) hold(copies []int, effort int) bool {
	if s.crowded(copies) || !s.p.TryHard(copies, effort) {
		return false
	}
	s.fits[string(s.key)] = true
	return true
}
