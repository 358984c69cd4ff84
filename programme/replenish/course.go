package replenish

import "slices"

// course is a cycle that grows longer, some pieces at a time, as far as it has been
// asked to. Every plan of a problem, however long it is to last, is a point of it.
type course struct {
	*cycle
	stride  int       // pieces from one point to the next
	reviews []float64 // expected reviews at which so many pieces have been used
	passed  float64   // expected reviews so far
	stocks  []stock
	points  []point
	// parts are the reviews that each point adds, uses the chances of each line's use in
	// them, line after line.
	parts []float64
	uses  [][][]float64
}

// point is the cheapest way to order for cycles of one length.
type point struct {
	pieces int
	weeks  float64
	week   float64 // cost a week
	levels []int
}

func newCourse(c *cycle, most int) *course {
	o := &course{cycle: c, reviews: c.spend(most), stocks: make([]stock, len(c.Lines))}
	o.stride = max(1, len(o.reviews)/128)
	for i := range o.stocks {
		o.stocks[i] = c.stock(i)
	}
	return o
}

// point returns a point, and false past the last.
func (o *course) point(k int) (point, bool) {
	for len(o.points) <= k {
		if len(o.points)*o.stride >= len(o.reviews) {
			return point{}, false
		}
		o.grow()
	}
	return o.points[k], true
}

// grow lengthens the cycle by one point.
func (o *course) grow() {
	n := len(o.points) * o.stride
	part := 0.0
	for _, r := range o.reviews[n:min(n+o.stride, len(o.reviews))] {
		part += r
	}
	o.passed += part
	cost, uses := o.Ordering, make([][]float64, len(o.stocks))
	levels := make([]int, len(o.stocks))
	for i := range o.stocks {
		s := &o.stocks[i]
		uses[i] = o.used(i, n+o.stride/2)
		s.add(uses[i], part)
		s.raise()
		cost += s.cost
		levels[i] = s.level
	}
	weeks := o.passed * float64(max(1, o.Review))
	o.parts, o.uses = append(o.parts, part), append(o.uses, uses)
	o.points = append(o.points, point{pieces: n + o.stride, weeks: weeks, week: cost / weeks, levels: levels})
}

// cheapest returns the point of least cost a week within those bounds; end
// reports that it may lie beyond the last.
func (o *course) cheapest(atLeast, atMost float64) (best int, end bool) {
	best = -1
	var least point
	for k := 0; ; k++ {
		p, ok := o.point(k)
		if !ok {
			return best, true
		}
		if best >= 0 && atMost > 0 && p.weeks > atMost {
			return best, false
		}
		n := k * o.stride
		switch {
		case best < 0 || least.weeks < atLeast || p.week < least.week:
			best, least = k, p
		case n > 2*least.pieces+16 || p.week > clearlyDearer*least.week && n > least.pieces+least.pieces/4+16:
			return best, false
		}
	}
}

// stocksAt returns the lines as they were at a point.
func (o *course) stocksAt(k int) []stock {
	out := make([]stock, len(o.stocks))
	for i := range out {
		s := o.stock(i)
		s.level = o.points[k].levels[i]
		for j, part := range o.parts[:k+1] {
			s.note(o.uses[j][i], part)
		}
		out[i] = s
	}
	return out
}

// clearlyDearer is by how much a longer cycle must cost more than the cheapest for
// still longer ones not to be looked at: cost falls and then rises with the length
// but for small steps, since levels are whole pieces.
const clearlyDearer = 1.05

func (o *course) plan(k int, atLeast, atMost float64) *Plan {
	at := o.points[k]
	p := &Plan{Problem: *o.Problem, UpTo: slices.Clone(at.levels), Pieces: at.pieces, CostWeek: at.week,
		Weeks: at.weeks, cycle: o.cycle, from: o, at: k}
	p.AtLeast, p.AtMost = atLeast, atMost
	return p
}
