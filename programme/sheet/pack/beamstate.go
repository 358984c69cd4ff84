package pack

import "slices"

// state is a packing that is not finished.
type state struct {
	segs    []segment
	left    []int32 // of each shape
	placed  int64   // area of the pieces
	waste   int64   // area below the skyline without a piece
	worth   float64 // of the pieces placed
	islands float64 // what they cost so far
	count   int32
	full    bool   // nothing can be added
	used    uint64 // equal for equal pieces placed
	parent  *state
	at      Place // the piece placed last, by shape
}

// counts returns how many pieces of each shape are left.
func (b *beam) counts() []int32 {
	left := make([]int32, len(b.shapes))
	for i := range b.shapes {
		left[i] = b.shapes[i].count
	}
	return left
}

// grow makes what is chosen: the outcome of a step with the pieces left.
func (r *run) grow(st step) *state {
	s := &state{}
	r.outcome(s, st.from, st.lay, st.right)
	s.parent = st.from
	if s.islands = st.from.islands; r.untidy > 0 && alone(st.from.segs, lowestOf(st.from.segs), st.lay, st.right) {
		s.islands += r.island
	}
	s.left = slices.Clone(st.from.left)
	s.left[s.at.Piece]--
	return s
}

// outcome puts a piece into the lowest gap of s and gives up gaps that take
// nothing; false when more is wasted than the limit allows. The pieces left
// are not counted off.
func (r *run) outcome(c, s *state, k int32, toRight bool) bool {
	l := &r.lays[k]
	at := lowestOf(s.segs)
	seg := s.segs[at]
	x := seg.x
	if toRight {
		x += seg.w - l.w
	}
	c.segs = liftInto(c.segs[:0], s.segs, at, segment{x, l.w, seg.y + l.h, k + 1})
	c.worth = s.worth + r.value[l.shape]
	c.placed, c.count, c.waste = s.placed+l.w*l.h, s.count+1, s.waste
	c.at = Place{int(l.shape), x, seg.y, l.w, l.h, l.turned}
	c.used = s.used + r.tag[l.shape]
	if c.full = int(c.count) == r.wanted; !c.full {
		for !r.takesOne(c, s.left, l.shape) {
			if !raiseLowest(c) {
				c.full = true
				return r.sheet
			}
			if c.waste > r.slack {
				return false
			}
		}
	}
	return c.waste <= r.slack
}

// takesOne reports that some piece fits the lowest gap, of those left and one
// less of shape minus.
func (r *run) takesOne(c *state, left []int32, minus int32) bool {
	at := lowestOf(c.segs)
	w, room := c.segs[at].w, r.limit-c.segs[at].y
	for k := range r.lays {
		l := &r.lays[k]
		if l.w > w {
			return false
		}
		if n := left[l.shape]; l.h <= room && (n > 1 || (n == 1 && l.shape != minus)) {
			return true
		}
	}
	return false
}

// raiseLowest gives up the lowest gap up to its lower wall; false when it has none.
func raiseLowest(c *state) bool {
	at := lowestOf(c.segs)
	left, right := walls(c.segs, at, unbounded)
	up := min(left, right)
	if len(c.segs) == 1 || up <= 0 {
		return false
	}
	c.waste += up * c.segs[at].w
	c.segs[at].y += up
	c.segs[at].top = 0
	c.segs = mergeAt(c.segs, at)
	return true
}

// expect returns the waste to come that the skyline shows already: the part of each
// valley, up to its lower wall, that no row of pieces can use.
func (b *beam) expect(segs []segment) (area int64) {
	for i := range segs {
		left, right := walls(segs, i, unbounded)
		if depth := min(left, right); depth > 0 && depth < unbounded/2 {
			area += b.unused(segs[i].w) * depth
		}
	}
	return area
}

// lowestOf returns the number of the lowest segment, the leftmost of equals.
func lowestOf(segs []segment) int {
	at := 0
	for i := 1; i < len(segs); i++ {
		if segs[i].y < segs[at].y {
			at = i
		}
	}
	return at
}

// walls returns how far the neighbours of a segment rise above it; the edges of the
// strip reach to the limit.
func walls(segs []segment, at int, limit int64) (left, right int64) {
	left, right = limit-segs[at].y, limit-segs[at].y
	if at > 0 {
		left = segs[at-1].y - segs[at].y
	}
	if at+1 < len(segs) {
		right = segs[at+1].y - segs[at].y
	}
	return left, right
}

func topSegment(segs []segment) (y int64) {
	for i := range segs {
		y = max(y, segs[i].y)
	}
	return y
}

// liftInto writes segs to out with a part of segment at raised to up.
func liftInto(out, segs []segment, at int, up segment) []segment {
	out = append(out, segs[:at]...)
	seg := segs[at]
	if up.x > seg.x {
		out = append(out, segment{seg.x, up.x - seg.x, seg.y, seg.top})
	}
	if n := len(out); n > 0 && out[n-1].y == up.y {
		out[n-1].join(up)
	} else {
		out = append(out, up)
	}
	if end := seg.x + seg.w; up.x+up.w < end {
		out = append(out, segment{up.x + up.w, end - up.x - up.w, seg.y, seg.top})
	}
	rest := segs[at+1:]
	if n := len(out); len(rest) > 0 && out[n-1].y == rest[0].y {
		out[n-1].join(rest[0])
		rest = rest[1:]
	}
	return append(out, rest...)
}

// join adds the segment to the right, which is as high.
func (g *segment) join(right segment) {
	g.w += right.w
	if g.top != right.top {
		g.top = 0
	}
}

// mergeAt joins segment at with neighbours of the same height.
func mergeAt(segs []segment, at int) []segment {
	if at+1 < len(segs) && segs[at+1].y == segs[at].y {
		segs[at].join(segs[at+1])
		segs = append(segs[:at+1], segs[at+2:]...)
	}
	if at > 0 && segs[at-1].y == segs[at].y {
		segs[at-1].join(segs[at])
		segs = append(segs[:at], segs[at+1:]...)
	}
	return segs
}

// alone reports that a piece laid so into segment at, against a wall, begins an
// island: neither below it nor beside it lies its like.
func alone(segs []segment, at int, k int32, toRight bool) bool {
	if segs[at].top == k+1 {
		return false
	}
	if toRight {
		return at+1 >= len(segs) || segs[at+1].top != k+1
	}
	return at == 0 || segs[at-1].top != k+1
}

// hash is equal for states with equal skylines and equal pieces left.
func (c *state) hash() uint64 {
	h := c.used
	for i := range c.segs {
		h = mix(mix(h, uint64(c.segs[i].x)), uint64(c.segs[i].y))
	}
	return h
}

// mix returns a step of the FNV hash (Fowler, Noll & Vo) with a shift that brings
// high bits down.
func mix(h, v uint64) uint64 {
	h ^= v
	h *= 1099511628211
	return h ^ h>>29
}
