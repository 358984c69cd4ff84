package sheet

import (
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// task is the search for one part of a plan; it can be taken up again and
// again, and what it found never gets worse.
type task interface {
	// improve searches for about so many tries more and returns how many it took;
	// 0 when nothing can be improved.
	improve(tries int) int
	// net returns the cost of the best found, in hundredths, less the worth of what is left over.
	net() float64
	// floor is an amount that nothing found later will be below.
	floor() float64
	// work returns the effort of a try, in any unit that all tasks share.
	work() int
	// order writes layouts and cost of the best found.
	order(o *Order)
}

// way is one way to have a transfer kind printed: a printer and a size, with a
// task for each part of the artworks.
type way struct {
	field   *field
	tasks   []*progress
	freight programme.Money
}

// progress is a task with what was spent on it.
type progress struct {
	task
	value float64 // net after the last effort
	least float64 // floor, worked out once
	tries int
	// vain is the work done since the last improvement.
	vain float64
	// done is set when no effort can improve it.
	done bool
}

func (w *way) value() (v float64) {
	for _, p := range w.tasks {
		v += p.value
	}
	return v + float64(w.freight)
}

func (w *way) floor() (v float64) {
	for _, p := range w.tasks {
		v += p.least
	}
	return v + float64(w.freight)
}

// spend makes p search for about so many tries and returns how many it took.
func (p *progress) spend(tries int) int {
	n := p.improve(tries)
	p.tries += n
	p.done = n == 0
	if v := p.net(); v < p.value-1e-6 {
		p.value, p.least, p.vain = v, p.floor(), 0
		return n
	}
	p.vain += float64(n) * float64(p.work())
	return n
}

// leastSlice is the least effort that a task gets at a time.
const leastSlice = 8

// share divides the budget between all tasks: the next slice of effort goes to
// the one that promises most, by what it, or the kind through it, can still
// save, over the work since it last saved anything. The order does not depend
// on the budget, so a longer search does all that a shorter one does, and more.
func share(kinds [][]*way, b Budget) {
	var left int
	for _, ways := range kinds {
		for _, w := range ways {
			left += b.iterations() * len(w.tasks)
		}
	}
	if b.Most > 0 {
		left = min(left, b.Most)
	}
	for left > 0 && (b.Stop == nil || !b.Stop()) {
		p := promising(kinds)
		if p == nil {
			return
		}
		left -= p.spend(max(leastSlice, p.tries/2))
	}
}

// promising returns the task to go on with; nil when nothing can be saved any more.
func promising(kinds [][]*way) (best *progress) {
	var most float64
	for _, ways := range kinds {
		least := slices.MinFunc(ways, func(a, b *way) int { return int(min(1, max(-1, a.value()-b.value()))) })
		for _, w := range ways {
			// A way that is dearer now must first get level with the best.
			open := least.value() - w.floor()
			if w != least {
				open /= 4
			}
			for _, p := range w.tasks {
				gain := min(open, p.value-p.least)
				if gain < 0.5 || p.done {
					continue
				}
				if v := gain / (p.vain + float64(leastSlice*p.work())); v > most {
					best, most = p, v
				}
			}
		}
	}
	return best
}

// cheapest returns the way whose order costs least.
func cheapest(ways []*way) *way {
	best, value := ways[0], math.Inf(1)
	for _, w := range ways {
		if v := w.value(); v < value-1e-6 {
			best, value = w, v
		}
	}
	return best
}
