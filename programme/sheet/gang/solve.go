package gang

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
)

// Options steer the search; equal options give equal solutions.
type Options struct {
	Seed uint64
	// Iterations is the number of changed layouts tried in all.
	Iterations int
	// Stop, when not nil, is asked now and then; true ends the search with the best so far.
	Stop func() bool
	// Start is solutions to begin with.
	Start []Solution
}

// ErrNoSolution reports that the bound on layouts leaves no way to print the need.
var ErrNoSolution = errors.New("no set of layouts within the bound holds every artwork")

// Solve returns the best solution found; it is never worse than the simple
// rules (see Simple). Every artwork must fit a sheet by itself.
func Solve(p *Problem, opt Options) (Solution, error) {
	s := NewSearch(p, opt)
	s.Improve(opt.Iterations)
	return s.Best()
}

// Search is a search that can be taken up again: improving it twice is the same
// as improving it once for as long as both.
type Search struct {
	solver  *solver
	pass    int
	steps   int // of a run in this pass
	layouts int // of the next run; 0 at the beginning of a pass
}

// NewSearch begins with the simple rules and the solutions that are given.
func NewSearch(p *Problem, opt Options) *Search {
	s := newSolver(p, opt)
	for _, c := range append(Simple(p), opt.Start...) {
		s.offer(c)
	}
	return &Search{solver: s, steps: firstPass}
}

// Offer adds a solution that was found in another way.
func (r *Search) Offer(c Solution) { r.solver.offer(c) }

// Unfit is how many sheets were found not to fit.
func (r *Search) Unfit() (n int) {
	for _, ok := range r.solver.fits {
		if !ok {
			n++
		}
	}
	return n
}

// AskAgain forgets which sheets did not fit: Fits is trying harder now.
func (r *Search) AskAgain() {
	for k, ok := range r.solver.fits {
		if !ok {
			delete(r.solver.fits, k)
		}
	}
}

// Best returns the best solution found so far.
func (r *Search) Best() (Solution, error) {
	s := r.solver
	if !s.found {
		return Solution{}, ErrNoSolution
	}
	if !s.proven {
		s.reachBreaks()
	}
	s.best.Proven = s.proven
	return s.best, nil
}

// Cheapest returns the solution found that costs least in cash, what is left
// over counted for nothing.
func (r *Search) Cheapest() Solution { return r.solver.cheapest }

// Floor is an amount that no solution costs less than, net of overs.
func (r *Search) Floor() float64 {
	return r.solver.setUpFloor(1) + r.solver.printFloor()
}

// Improve searches for about so many tries more, to the end of a run, and
// returns how many it took.
func (r *Search) Improve(tries int) int {
	s := r.solver
	from := s.tries
	for !s.proven && s.tries < from+tries && !s.stopped() {
		if r.layouts == 0 {
			r.begin()
			continue
		}
		r.next()
	}
	return s.tries - from
}

// begin opens a pass: the optimum where it can be enumerated, then solutions
// built in other ways than by annealing.
func (r *Search) begin() {
	s := r.solver
	s.tries++
	s.exact(max(leastWork, int64(s.tries)*workPerTry))
	if s.proven {
		return
	}
	s.shorten(r.steps)
	s.peels(max(2, r.steps/10))
	s.polish(r.steps, r.pass)
	r.layouts = 1
}

// next is one run of the pass, with one layout more than the last.
func (r *Search) next() {
	s, k := r.solver, r.layouts
	if k > s.mostLayouts() || (s.found && s.setUpFloor(k)+s.printFloor() >= s.best.Net()-1e-6) {
		r.layouts, r.pass, r.steps = 0, r.pass+1, r.steps*2
		return
	}
	if r.pass < everyPass || s.promising(k) {
		s.anneal(k, r.steps, r.pass)
	}
	r.layouts++
}

// reachBreaks tries each layout of the best with a longer run that reaches a
// price break: more sheets may cost less, and their overs may be worth something.
func (s *solver) reachBreaks() {
	for i := range s.best.Layouts {
		for _, b := range s.p.Breaks[1:] {
			layouts := append([]Layout(nil), s.best.Layouts...)
			sheets := layouts[i].Run
			if s.p.PerOrder {
				sheets = 0
				for _, l := range layouts {
					sheets += l.Run
				}
			}
			if more := b.From - sheets; more > 0 {
				layouts[i].Run += more
				s.offer(s.p.Cost(layouts))
			}
		}
	}
}

// firstPass is the number of tries that each number of layouts gets at first;
// every further pass doubles it for those that came near the best.
const firstPass = 20

// everyPass is the number of passes that try every number of layouts.
const everyPass = 2

// near is how much dearer than the best a number of layouts may have been to be tried again.
const near = 0.04

// promising reports that k layouts came close enough to the best so far.
func (s *solver) promising(k int) bool {
	v, tried := s.perLayouts[k]
	return !tried || v <= s.best.Net()+near*math.Abs(s.best.Net())
}

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
	// short is what the present layouts print less than the need, mostly below 0.
	short []int
	// refined is what sets of layouts cost with their best runs.
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
		fits: map[string]bool{}, refined: map[string]float64{}, perLayouts: map[int]float64{}, peeled: map[int][]Layout{}, peeledValue: map[int]float64{}, runs: leastRuns{need: p.Need},
	}
}

func (s *solver) stopped() bool { return s.opt.Stop != nil && s.opt.Stop() }

// offer keeps a solution that is better than the best so far.
func (s *solver) offer(c Solution) {
	if len(c.Layouts) == 0 || (s.p.MaxLayouts > 0 && len(c.Layouts) > s.p.MaxLayouts) {
		return
	}
	if !s.found || c.Net() < s.best.Net()-1e-9 {
		s.best = c
	}
	if !s.found || c.SetUp+c.Print < s.cheapest.SetUp+s.cheapest.Print-1e-9 {
		s.cheapest = c
	}
	s.found = true
}

// mostLayouts bounds the useful number of layouts: each has an artwork that
// only it needs, so there are never more than artworks.
func (s *solver) mostLayouts() int {
	n := len(s.p.Need)
	if s.p.MaxLayouts > 0 {
		n = min(n, s.p.MaxLayouts)
	}
	return n
}

// setUpFloor is the least that k layouts cost to set up.
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

// printFloor is the least that any solution pays for copies, less the most its
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
	var a float64
	s.key = s.key[:0]
	for j, c := range copies {
		a += float64(c) * s.p.Size[j]
		s.key = append(s.key, byte(c), byte(c>>8))
	}
	if a > 1+1e-9 {
		return false
	}
	ok, known := s.fits[string(s.key)]
	if !known {
		ok = s.p.Fits(copies)
		s.fits[string(s.key)] = ok
	}
	return ok
}

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
	if !s.found || net < s.best.Net()-1e-9 {
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
