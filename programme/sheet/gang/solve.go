package gang

import (
	"errors"
	"math"
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

// Unfit returns how many sheets were found not to fit.
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

// Floor returns an amount that no solution costs less than, net of overs.
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
	if k > s.mostLayouts() || s.hopeless(s.setUpFloor(k)+s.printFloor()) {
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

// near is the share by which a number of layouts may have been dearer than the best and still be tried again.
const near = 0.04

// promising reports that k layouts came close enough to the best so far.
func (s *solver) promising(k int) bool {
	v, tried := s.perLayouts[k]
	return !tried || v <= s.best.Net()+near*math.Abs(s.best.Net())
}
