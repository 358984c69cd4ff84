package pack

import (
	"cmp"
	"math"
	"slices"
)

// beam builds many packings side by side, piece by piece, always into the
// lowest gap of the skyline, and of all that have placed about the same area
// keeps the few that have the most to show for the area they used up. Where a
// need has many copies of few sizes it sees further than a search over
// sequences, which must pass through every copy.
//
// Sources of the ideas: beam search, Ow & Morton, IJPR 26(1), 1988; letting the
// value of a piece rise with what is wasted around it, sequential value
// correction, Mukhacheva, Belov, Kartack & Mukhacheva, 2000 (both from memory).
type beam struct {
	width  int64
	shapes []shape
	lays   []lay // by width, narrowest first
	total  int64 // area of all pieces
	pieces int
	// value is what a piece of each shape counts for: its area, more for what is
	// hard to place, so that it is not left to the end. Their sum is total.
	value []float64
	// tag is a random number for each shape; their sum tells what was placed.
	tag []uint64
	// learnt is by how much value was raised by what went wrong before.
	learnt []float64
	// idle is the part of a gap that no row of pieces can use, by width in steps of grain.
	idle  []int64
	grain int64
	// opened counts the states that were extended, in all passes.
	opened int
	// untidy is what beginning another island of equal pieces costs, in areas of a
	// mean piece; see Tidy.
	untidy float64
	stop   func() bool
}

// shape is equal pieces; a piece that may be turned has its shorter side as w.
type shape struct {
	w, h  int64
	count int32
	turn  bool
}

// lay is a shape in one of the ways it may lie.
type lay struct {
	w, h   int64
	shape  int32
	turned bool
}

// newBeam prepares a beam; steps is how finely the widths of gaps are told apart.
func newBeam(pieces []Piece, width int64, steps int, stop func() bool) *beam {
	b := &beam{width: width, stop: stop, untidy: tidyHabit}
	at := map[shape]int{}
	for _, p := range pieces {
		if p.Count == 0 {
			continue
		}
		key := keyOf(p)
		i, known := at[key]
		if !known {
			i = len(b.shapes)
			at[key] = i
			b.shapes = append(b.shapes, key)
		}
		b.shapes[i].count += int32(p.Count)
		b.total += p.W * p.H * int64(p.Count)
		b.pieces += p.Count
	}
	for i, s := range b.shapes {
		if s.w <= width {
			b.lays = append(b.lays, lay{s.w, s.h, int32(i), false})
		}
		if s.turn && s.h <= width {
			b.lays = append(b.lays, lay{s.h, s.w, int32(i), true})
		}
	}
	slices.SortStableFunc(b.lays, func(x, y lay) int { return cmp.Or(cmp.Compare(x.w, y.w), cmp.Compare(x.h, y.h)) })
	b.measureGaps(int64(steps))
	for i := range b.shapes {
		b.tag = append(b.tag, mix(mix(0x6265616d, uint64(i+1)), 0x9e3779b97f4a7c15))
	}
	b.learnt = make([]float64, len(b.shapes))
	for i := range b.learnt {
		b.learnt[i] = 1
	}
	return b
}

func keyOf(p Piece) shape {
	k := shape{w: p.W, h: p.H, turn: p.Turn && p.W != p.H}
	if k.turn && k.w > k.h {
		k.w, k.h = k.h, k.w
	}
	return k
}

// pass looks for a packing of all pieces no higher than limit, keeping
// beamWidth states of each area. The places carry shape numbers.
func (b *beam) pass(limit int64, beamWidth int) ([]Place, int64, bool) {
	r := &run{beam: b, limit: limit, slack: unbounded, kept: beamWidth, wanted: b.pieces}
	if limit < unbounded {
		if r.slack = b.width*limit - b.total; r.slack < 0 {
			return nil, 0, false
		}
	}
	r.search(b.counts(), 2*b.pieces+2, float64(b.pieces)/float64(b.total))
	if r.best == nil {
		return nil, 0, false
	}
	return r.best.places(), topSegment(r.best.segs), true
}

// fillSheet looks for the pieces of those left that are worth most on a sheet of
// the beam's width and a height.
func (b *beam) fillSheet(left []int32, height int64, beamWidth int) []Place {
	r := &run{beam: b, limit: height, slack: unbounded, kept: beamWidth, sheet: true}
	for _, n := range left {
		r.wanted += int(n)
	}
	least := int64(1)
	for i, s := range b.shapes {
		if a := s.w * s.h; left[i] > 0 && (least == 1 || a < least) {
			least = a
		}
	}
	most := min(int64(r.wanted), b.width*height/least)
	r.search(left, sheetBuckets+int(most)+2, sheetBuckets/(float64(b.width)*float64(height)))
	return r.best.places()
}

// sheetBuckets is how finely the states of one sheet are told apart by area.
const sheetBuckets = 24

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
	// island is what beginning one costs, in area.
	island float64
	// buckets hold what is to be extended, by the area placed times perArea.
	buckets [][]step
	perArea float64
	// most is the cost above which a bucket has no room, once it is full.
	most    []float64
	best    *state
	scratch state
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
	slices.SortFunc(steps, func(a, b step) int { return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.hash, b.hash)) })
	steps = slices.CompactFunc(steps, func(a, b step) bool { return a.hash == b.hash })
	return steps[:min(len(steps), r.kept)]
}

// extend judges every way to fill the lowest gap of a state.
func (r *run) extend(bucket int, s *state) {
	at := lowestOf(s.segs)
	seg := s.segs[at]
	left, right := walls(s.segs, at, r.limit)
	for k := range r.lays {
		l := &r.lays[k]
		if l.w > seg.w {
			break
		}
		if s.left[l.shape] == 0 || seg.y+l.h > r.limit {
			continue
		}
		toRight := right > left
		switch l.h {
		case left:
			toRight = false
		case right:
			toRight = true
		}
		r.judge(bucket, s, int32(k), toRight)
	}
	if up := min(left, right); len(s.segs) > 1 && up > 0 && up*seg.w <= r.trifle {
		level := *s // what is placed next may lie across the step
		level.segs = slices.Clone(s.segs)
		raiseLowest(&level)
		r.extend(bucket, &level)
	}
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
