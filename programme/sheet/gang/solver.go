package gang

import (
	"math"
	"math/rand/v2"
)

// solver is one search.
type solver struct {
	p     *Problem
	opt   Options
	rng   *rand.Rand
	runs  leastRuns
	best  Solution
	found bool
	// cheapest is the solution that costs least in cash.
	cheapest Solution
	fits     map[string]bool
	key      []byte
	tries    int
	// short is the need less what the present layouts print, mostly below 0.
	short []int
	// refined holds the cost of sets of layouts with their best runs.
	refined map[string]float64
	// perLayouts is the best value met for each number of layouts.
	perLayouts map[int]float64
	// peeled is the best solution of each number of layouts that was built layer by layer.
	peeled      map[int][]Layout
	peeledValue map[int]float64
	// proven is set when the best is known to be the optimum.
	proven bool
}

func newSolver(p *Problem, opt Options) *solver {
	return &solver{
		p: p, opt: opt, rng: rand.New(rand.NewPCG(opt.Seed, 0x67616e67)),
		fits: map[string]bool{}, refined: map[string]float64{}, perLayouts: map[int]float64{},
		peeled: map[int][]Layout{}, peeledValue: map[int]float64{}, runs: leastRuns{need: p.Need},
	}
}

func (s *solver) stopped() bool { return s.opt.Stop != nil && s.opt.Stop() }

// offer keeps a solution that is better than the best so far.
func (s *solver) offer(c Solution) {
	if len(c.Layouts) == 0 || (s.p.MaxLayouts > 0 && len(c.Layouts) > s.p.MaxLayouts) {
		return
	}
	if s.improves(c.Net()) {
		s.best = c
	}
	if !s.found || beats(c.SetUp+c.Print, s.cheapest.SetUp+s.cheapest.Print) {
		s.cheapest = c
	}
	s.found = true
}

// beats reports that a cost is lower than another by more than rounding.
func beats(cost, other float64) bool { return cost < other-1e-9 }

// improves reports that a solution of such a cost is better than the best so far.
func (s *solver) improves(net float64) bool { return !s.found || beats(net, s.best.Net()) }

// hopeless reports that nothing that costs as much as that at the least is better than the best so far.
func (s *solver) hopeless(floor float64) bool { return s.found && floor >= s.best.Net()-1e-6 }

// mostLayouts bounds the useful number of layouts: each has an artwork that
// only it needs, so there are never more than artworks.
func (s *solver) mostLayouts() int {
	n := len(s.p.Need)
	if s.p.MaxLayouts > 0 {
		n = min(n, s.p.MaxLayouts)
	}
	return n
}

// setUpFloor returns the least that k layouts cost to set up.
func (s *solver) setUpFloor(k int) float64 {
	least := math.Inf(1)
	one := make([]int, len(s.p.Need))
	for j := range one {
		one[j] = 1
		least = min(least, s.p.SetUp(one))
		one[j] = 0
	}
	return float64(k) * least
}

// printFloor returns the least that any solution pays for copies, less the most its
// overs can be worth.
func (s *solver) printFloor() float64 {
	last := s.p.Breaks[0].Price
	for _, b := range s.p.Breaks {
		last = min(last, b.Price)
	}
	v := float64(s.p.floor()) * last
	for j := range s.p.Worth {
		v -= s.p.Worth[j] * float64(s.p.Useful[j])
	}
	return v
}

// holds asks Fits, remembering answers: a search meets the same sheets again and again.
func (s *solver) holds(copies []int) bool {
	if s.p.Slots > 0 {
		n := 0
		for _, c := range copies {
			n += c
		}
		return n <= s.p.Slots
	}
	if s.crowded(copies) {
		return false
	}
	ok, known := s.fits[string(s.key)]
	if !known {
		ok = s.p.Fits(copies)
		s.fits[string(s.key)] = ok
	}
	return ok
}

// crowded reports that copies are more than a sheet's area holds. It sets the key by which
// answers about them are remembered.
func (s *solver) crowded(copies []int) bool {
	var a float64
	s.key = s.key[:0]
	for j, c := range copies {
		a += float64(c) * s.p.Size[j]
		s.key = append(s.key, byte(c), byte(c>>8))
	}
	return a > 1+1e-9
}
