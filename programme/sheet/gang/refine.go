package gang

// The fewest sheets are not always the cheapest: where each layout's run meets
// price breaks of its own, a longer run of one layout may be paid for by the
// next price, and another layout printed less often.

const (
	// refineNear is the share by which a set of layouts may be dearer than the best to have its runs looked at.
	refineNear = 0.10
	// refineWindow is the distance from the shortest runs within which others are tried.
	refineWindow = 60
	mostRefined  = 20_000
)

// refine looks for cheaper runs of the layouts and returns what they cost.
// Every pair of layouts is tried: one gets a run, the other what is then still needed.
func (s *solver) refine(layouts []Layout, net float64) float64 {
	if s.p.PerOrder || len(layouts) < 2 || len(s.p.Breaks) < 2 || (s.found && net > s.best.Net()*(1+refineNear)) {
		return net
	}
	key := layoutsKey(layouts)
	if v, known := s.refined[key]; known {
		return min(net, v)
	}
	if len(s.refined) > mostRefined {
		return net
	}
	best := clone(layouts)
	try := clone(layouts)
	for i := range layouts {
		for j := range layouts {
			if i == j {
				continue
			}
			for _, run := range s.runsToTry(best[i].Run) {
				copyInto(try, best)
				try[i].Run = run
				if !s.complete(try, j) {
					continue
				}
				if v := s.p.net(try); beats(v, net) {
					net = v
					copyInto(best, try)
				}
			}
		}
	}
	s.refined[key] = net
	if s.improves(net) {
		s.offer(s.p.finish(best))
	}
	return net
}

// runsToTry returns the runs about a run, and the runs at price breaks.
func (s *solver) runsToTry(run int) (runs []int) {
	for r := max(0, run-refineWindow); r <= run+refineWindow; r++ {
		runs = append(runs, r)
	}
	for _, b := range s.p.Breaks[1:] {
		if b.From < run-refineWindow || b.From > run+refineWindow {
			runs = append(runs, b.From)
		}
	}
	return runs
}

// complete gives layout j the shortest run that covers what the others leave;
// false when it does not carry something that is missing.
func (s *solver) complete(layouts []Layout, j int) bool {
	run := 0
	for a, need := range s.p.Need {
		for i := range layouts {
			if i != j {
				need -= layouts[i].Copies[a] * layouts[i].Run
			}
		}
		if need <= 0 {
			continue
		}
		c := layouts[j].Copies[a]
		if c == 0 {
			return false
		}
		run = max(run, ceilDiv(need, c))
	}
	layouts[j].Run = run
	return true
}

func layoutsKey(layouts []Layout) string {
	var key []byte
	for i := range layouts {
		for _, c := range layouts[i].Copies {
			key = append(key, byte(c), byte(c>>8))
		}
	}
	return string(key)
}
