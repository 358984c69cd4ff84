package pack

import "slices"

// state is a packing that is not finished.
type state struct {
	segs   []segment
	left   []int32 // of each shape
	placed int64   // area of the pieces
	waste  int64   // area below the skyline without a piece
	worth  float64 // of the pieces placed
	count  int32
	full   bool   // nothing can be added
	used   uint64 // equal for equal pieces placed
	parent *state
	at     Place // the piece placed last, by shape
}

// counts are the pieces of each shape.
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
	c.segs = liftInto(c.segs[:0], s.segs, at, x, l.w, seg.y+l.h)
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
	c.segs = mergeAt(c.segs, at)
	return true
}

// expect is the waste to come that the skyline shows already: the part of each
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

func lowestOf(segs []segment) int {
	at := 0
	for i := 1; i < len(segs); i++ {
		if segs[i].y < segs[at].y {
			at = i
		}
	}
	return at
}

// walls are how far the neighbours of a segment rise above it; the edges of the
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

// liftInto writes segs to out with [x, x+w) of segment at raised to y.
func liftInto(out, segs []segment, at int, x, w, y int64) []segment {
	out = append(out, segs[:at]...)
	seg := segs[at]
	if x > seg.x {
		out = append(out, segment{seg.x, x - seg.x, seg.y})
	}
	if n := len(out); n > 0 && out[n-1].y == y {
		out[n-1].w += w
	} else {
		out = append(out, segment{x, w, y})
	}
	if end := seg.x + seg.w; x+w < end {
		out = append(out, segment{x + w, end - x - w, seg.y})
	}
	rest := segs[at+1:]
	if n := len(out); len(rest) > 0 && out[n-1].y == rest[0].y {
		out[n-1].w += rest[0].w
		rest = rest[1:]
	}
	return append(out, rest...)
}

// mergeAt joins segment at with neighbours of the same height.
func mergeAt(segs []segment, at int) []segment {
	if at+1 < len(segs) && segs[at+1].y == segs[at].y {
		segs[at].w += segs[at+1].w
		segs = append(segs[:at+1], segs[at+2:]...)
	}
	if at > 0 && segs[at-1].y == segs[at].y {
		segs[at-1].w += segs[at].w
		segs = append(segs[:at], segs[at+1:]...)
	}
	return segs
}

// hash is equal for states with equal skylines and equal pieces left.
func (c *state) hash() uint64 {
	h := c.used
	for i := range c.segs {
		h = mix(mix(h, uint64(c.segs[i].x)), uint64(c.segs[i].y))
	}
	return h
}

// mix is a step of the FNV hash (Fowler, Noll & Vo) with a shift that brings
// high bits down.
func mix(h, v uint64) uint64 {
	h ^= v
	h *= 1099511628211
	return h ^ h>>29
}
