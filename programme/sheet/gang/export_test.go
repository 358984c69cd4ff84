package gang

// Refine looks for cheaper runs of some layouts, with known as the best solution so far, or
// without any; it returns what they cost and the best solution then.
func Refine(p *Problem, layouts []Layout, known bool) (net float64, best Solution) {
	s := newSolver(p, Options{})
	if known {
		s.offer(p.finish(clone(layouts)))
	}
	net = s.refine(layouts, p.net(layouts))
	return net, s.best
}
