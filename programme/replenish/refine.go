package replenish

import "slices"

// refine improves a plan for several lines on drawn futures. The rule that led
// to it knows only the total used; the plan's own rule looks at every line. So
// cycles are let run under that rule, and each line's level is set anew to where,
// over the reviews that cycles really had, one more piece costs what it saves.
// With few lines the neighbouring levels are tried as well. What costs least in
// the same futures is kept.
func (c *cycle) refine(p *Plan) {
	r := newRefining(c, p)
	best := r.run(p.UpTo, p.CostWeek)
	for range improvements {
		next := r.run(best.better(), best.cost)
		if !next.beats(&best) {
			break
		}
		best = next
	}
	if len(p.UpTo) <= few {
		best = r.descend(best)
	}
	p.UpTo, p.CostWeek, p.Weeks, p.Pieces, p.stocks = best.upTo, best.cost, best.weeks, best.pieces, best.stocks
	for i := range p.stocks { // the futures' reviews, a cycle
		for a := range p.stocks[i].reviews {
			p.stocks[i].reviews[a] /= float64(len(r.futures))
		}
	}
}

const (
	improvements = 6
	// few is the number of lines up to which neighbouring levels are tried.
	few = 3
	// drawn is about how many pieces are drawn in all futures: small problems
	// get many futures, large ones, in which chance evens out, few.
	drawn = 24_000
	// drawnMany is the number for problems with many lines, whose plans are near the best
	// before they are improved.
	drawnMany = 8_000
)

// descend steps to neighbouring levels, one or two lines at a time, as long as
// that costs less.
func (r *refining) descend(best outcome) outcome {
	for found := true; found; {
		found = false
		for _, levels := range neighbours(best.upTo) {
			if next := r.run(levels, best.cost); next.beats(&best) {
				best, found = next, true
				break
			}
		}
	}
	return best
}

// neighbours returns all levels that differ by at most one piece a line.
func neighbours(levels []int) [][]int {
	all := [][]int{nil}
	for _, s := range levels {
		var longer [][]int
		for _, head := range all {
			for _, next := range []int{s, s + 1, s - 1} {
				longer = append(longer, append(slices.Clone(head), next))
			}
		}
		all = longer
	}
	return all[1:] // the first is no step
}

// refining is a plan while cycles are tried.
type refining struct {
	*cycle
	futures []future
}

func newRefining(c *cycle, p *Plan) *refining {
	r := &refining{cycle: c}
	most, long := 2*p.Pieces+8, 6*int(p.Weeks)/max(1, c.Review)+20
	means := make([]float64, long)
	before := 0.0
	for k := range means {
		upTo := c.mean(k + 1)
		means[k], before = upTo-before, upTo
	}
	d := newDrawing(c)
	pieces := drawn
	if len(c.Lines) > few {
		pieces = drawnMany
	}
	for range max(50, pieces/most) {
		r.futures = append(r.futures, d.draw(means, most))
	}
	return r
}

// outcome is the result of certain levels over all futures.
type outcome struct {
	upTo   []int
	cost   float64 // a week
	weeks  float64 // a cycle
	pieces int     // a cycle
	stocks []stock
}

// beats reports a saving that is more than rounding.
func (o *outcome) beats(p *outcome) bool { return o.cost < p.cost*(1-1e-5) }

// better returns the levels at which one more piece would cost what it saves, over
// the reviews that the cycles had.
func (o *outcome) better() []int {
	levels := make([]int, len(o.stocks))
	for i := range o.stocks {
		levels[i] = o.stocks[i].best()
	}
	return levels
}

// run lets one cycle pass in every future.
func (r *refining) run(upTo []int, average float64) outcome {
	upTo = slices.Clone(upTo)
	t := newTrial(r.cycle, upTo, average)
	for i := range r.futures {
		t.live(&r.futures[i])
	}
	n := float64(len(r.futures))
	weeks := t.passed * float64(max(1, r.Review))
	return outcome{upTo: upTo, cost: (r.Ordering*n + t.cost) / weeks, weeks: weeks / n, pieces: int(t.pieces/n + 0.5),
		stocks: t.stocks}
}

// trial lets cycles pass at certain levels.
type trial struct {
	*cycle
	stocks []stock
	limit  float64 // the cost of a review from which on waiting is too dear
	steps  [][]step
	used   []int
	since  []int // review from which on so much is used
	cost   float64
	passed float64 // reviews
	pieces float64
}

// step is the cost of a line in one review with so much used, and how much more
// that is expected to become by the next.
type step struct{ cost, slope float64 }

func newTrial(c *cycle, upTo []int, average float64) *trial {
	n := len(upTo)
	t := &trial{cycle: c, stocks: make([]stock, n), limit: average * float64(max(1, c.Review)),
		steps: make([][]step, n), used: make([]int, n), since: make([]int, n)}
	for i := range t.stocks {
		t.stocks[i] = c.stock(i)
		t.stocks[i].level = upTo[i]
	}
	return t
}

// at returns the step of a line; steps are worked out as far as they are asked for.
func (t *trial) at(i, used int) step {
	s := &t.stocks[i]
	for len(t.steps[i]) <= used {
		position := s.level - len(t.steps[i])
		cost := s.at(position)
		t.steps[i] = append(t.steps[i], step{cost, t.share[i] * (s.at(position-1) - cost)})
	}
	return t.steps[i][used]
}

// live lets a cycle pass until waiting another review is too dear, or the
// future ends.
func (t *trial) live(f *future) {
	clear(t.used)
	clear(t.since)
	var now step
	for i := range t.used {
		now = now.plus(t.at(i, 0), 1)
	}
	review := 0
	for u := 0; u < len(f.uses); {
		last := int(f.uses[u].review)
		if review > 0 && t.stops(now) {
			break
		}
		stay := last + 1 - review
		if t.stops(now) { // just ordered: the first review passes in any case
			stay = 1
		}
		t.cost += now.cost * float64(stay)
		if review += stay; review <= last {
			break
		}
		for ; u < len(f.uses) && int(f.uses[u].review) == last; u++ {
			now = t.use(&f.uses[u], review, now)
		}
	}
	for i, n := range t.used {
		t.stocks[i].spend(n, review-t.since[i])
	}
	t.passed += float64(review)
}

// stops reports whether to order: the next review costs more than the average,
// and it will not become less by waiting.
func (t *trial) stops(now step) bool { return now.cost >= t.limit && now.slope >= 0 }

func (t *trial) use(u *use, review int, now step) step {
	i, before := int(u.line), t.used[u.line]
	t.stocks[i].spend(before, review-t.since[i])
	t.since[i], t.used[i] = review, before+int(u.pieces)
	t.pieces += float64(u.pieces)
	return now.plus(t.at(i, before), -1).plus(t.at(i, t.used[i]), 1)
}

func (s step) plus(o step, sign float64) step {
	return step{s.cost + sign*o.cost, s.slope + sign*o.slope}
}

// spend notes that so much was used for so many reviews.
func (s *stock) spend(used, reviews int) {
	s.reviews = padded(s.reviews, used+1)
	s.reviews[used] += float64(reviews)
}

// CostOf estimates the cost a week, and how many weeks a cycle lasts, to order
// up to other levels for ever and to wait as is best with them, over futures drawn
// from a fixed seed.
func (p *Plan) CostOf(upTo []int) (week, weeks float64) {
	like := *p
	for i, s := range upTo {
		like.Pieces += s - p.UpTo[i]
	}
	like.Pieces = max(like.Pieces, 1)
	like.Weeks *= max(1, float64(like.Pieces)/float64(max(1, p.Pieces)))
	r := newRefining(p.cycle, &like)
	best := r.run(upTo, p.CostWeek)
	for range improvements { // waiting is judged by the average that it leads to
		next := r.run(upTo, best.cost)
		if !next.beats(&best) {
			break
		}
		best = next
	}
	return best.cost, best.weeks
}
