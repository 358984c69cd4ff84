package pack

import (
	"cmp"
	"math"
	"slices"
)

// run is one pass.
type run struct {
	*beam
	limit  int64
	slack  int64 // the most that may be wasted
	kept   int
	wanted int  // pieces to place
	sheet  bool // a sheet may end before all pieces are placed
	// trifle is an area that may be given up to level a step of the skyline.
	trifle int64
	// island is the cost of beginning one, in area.
	island float64
	// buckets hold what is to be extended, by the area placed times perArea.
	buckets [][]step
	perArea float64
	// most is the cost above which a bucket has no room, once it is full.
	most    []float64
	best    *state
	scratch state
	// candidates are the ways to fill the gap in hand.
	candidates []candidate
}

// search extends states until none is open.
func (r *run) search(left []int32, buckets int, perArea float64) {
	r.trifle = r.total / int64(max(1, r.pieces)) / 20
	r.island = r.untidy * float64(r.total) / float64(max(1, r.pieces))
	r.buckets, r.perArea, r.most = make([][]step, buckets), perArea, make([]float64, buckets)
	for i := range r.most {
		r.most[i] = math.Inf(1)
	}
	r.extend(0, &state{segs: []segment{{w: r.width}}, left: left})
	for i := range r.buckets {
		states := r.chosen(i)
		r.buckets[i] = nil
		for _, s := range states {
			if r.opened++; r.opened&63 == 0 && r.stop != nil && r.stop() {
				return
			}
			r.extend(i, s)
		}
	}
}

// step is a way to extend a state; it is made only if it is among the best.
type step struct {
	from  *state
	lay   int32
	right bool
	cost  float64
	hash  uint64
}

// chosen makes the best steps of a bucket into states.
func (r *run) chosen(i int) []*state {
	steps := r.trim(r.buckets[i])
	out := make([]*state, len(steps))
	for i, st := range steps {
		out[i] = r.grow(st)
	}
	return out
}

// trim keeps the best steps, one of each equal outcome.
func (r *run) trim(steps []step) []step {
	slices.SortFunc(steps,
		func(a, b step) int { return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.hash, b.hash)) })
	steps = slices.CompactFunc(steps, func(a, b step) bool { return a.hash == b.hash })
	return steps[:min(len(steps), r.kept)]
}

// candidate is a way to fill the lowest gap.
type candidate struct {
	lay   int32
	right bool
	// quick is its cost as far as the gap alone shows.
	quick float64
}

// extend judges the ways to fill the lowest gap of a state.
func (r *run) extend(bucket int, s *state) {
	at := lowestOf(s.segs)
	seg := s.segs[at]
	left, right := walls(s.segs, at, r.limit)
	r.candidates = r.candidates[:0]
	for k := range r.lays {
		l := &r.lays[k]
		if l.w > seg.w {
			break
		}
		if s.left[l.shape] == 0 || seg.y+l.h > r.limit {
			continue
		}
		c := candidate{lay: int32(k), right: right > left}
		switch l.h {
		case left:
			c.right = false
		case right:
			c.right = true
		}
		if r.judged < everyWay {
			c.quick = r.atGap(l, seg.w, left, right, c.right)
		}
		r.consider(c)
	}
	for i := range r.candidates {
		r.judge(bucket, s, r.candidates[i].lay, r.candidates[i].right)
	}
	if up := min(left, right); len(s.segs) > 1 && up > 0 && up*seg.w <= r.trifle {
		level := *s // what is placed next may lie across the step
		level.segs = slices.Clone(s.segs)
		raiseLowest(&level)
		r.extend(bucket, &level)
	}
}

// consider keeps a candidate if it is among the best so far, best first.
func (r *run) consider(c candidate) {
	i := len(r.candidates)
	if r.judged == everyWay {
		r.candidates = append(r.candidates, c)
		return
	}
	if i == r.judged {
		if c.quick >= r.candidates[i-1].quick {
			return
		}
		i--
		r.candidates = r.candidates[:i]
	}
	r.candidates = append(r.candidates, c)
	for ; i > 0 && r.candidates[i-1].quick > c.quick; i-- {
		r.candidates[i] = r.candidates[i-1]
	}
	r.candidates[i] = c
}

// atGap returns what a lay costs as far as the gap alone shows: the width that stays
// idle beside it or, where it fills the width, above it.
func (r *run) atGap(l *lay, w, left, right int64, toRight bool) float64 {
	cost := float64(l.w*l.h) - r.value[l.shape]
	wall := left
	if !toRight {
		wall = right
	}
	if rest := w - l.w; rest > 0 {
		return cost + float64(r.unused(rest)*min(wall, l.h))
	}
	return cost + float64(r.unused(w)*max(0, min(left, right)-l.h))
}

// judge tries a step on scratch and puts it into the bucket of its outcome, if
// it is among the best there.
func (r *run) judge(bucket int, s *state, k int32, toRight bool) {
	l := &r.lays[k]
	placed := s.placed + l.w*l.h
	to := max(bucket+1, int(float64(placed)*r.perArea))
	least := float64(placed+s.waste) - s.worth - r.value[l.shape]
	ends := r.sheet || int(s.count)+1 == r.wanted
	if !ends && least > r.most[to] {
		return
	}
	c := &r.scratch
	if !r.outcome(c, s, k, toRight) {
		return
	}
	if ends {
		r.finish(c, step{from: s, lay: k, right: toRight})
	}
	if c.full {
		return
	}
	cost := least + float64(c.waste-s.waste+r.expect(c.segs)) + s.islands
	begins := r.untidy > 0 && alone(s.segs, lowestOf(s.segs), k, toRight)
	if begins {
		cost += r.island
	}
	if cost > r.most[to] {
		return
	}
	list := append(r.buckets[to], step{s, k, toRight, cost, c.hash()})
	if len(list) >= 4*r.kept+32 {
		list = r.trim(list)
		if len(list) == r.kept {
			r.most[to] = list[len(list)-1].cost
		}
	}
	r.buckets[to] = list
}

// finish keeps the outcome of a step that may be the end: the sheet that is
// worth most, the strip with the fewest islands where they count, else the lowest.
func (r *run) finish(c *state, st step) {
	better := r.best == nil
	switch {
	case better:
	case r.untidy > tidyHabit:
		better = r.grow(st).islands < r.best.islands
	case r.sheet:
		better = c.worth > r.best.worth
	default:
		better = topSegment(c.segs) < topSegment(r.best.segs)
	}
	if better {
		r.best = r.grow(st)
	}
}

// places traces a packing back.
func (s *state) places() []Place {
	var places []Place
	for ; s.parent != nil; s = s.parent {
		places = append(places, s.at)
	}
	slices.Reverse(places)
	return places
}
