package pack

import (
	"cmp"
	"math"
	"slices"
)

// segment is one level stretch of the skyline. A beam notes which way of lying
// of which shape is its top, counted from 1; 0 is several, or none.
type segment struct {
	x, w, y int64
	top     int32
}

// slot is an element with what is left of it during one build.
type slot struct {
	w, h int64
	id   int32
	left int32
	turn bool
	flip bool // cut or lie the other way, see builder
}

// skyline builds one sheet at a time from a sequence. It is reused between
// builds so that a search does not allocate.
type skyline struct {
	segs   []segment
	slots  []slot
	places []Place
	elems  []element
	// shapes numbers the different shapes of elems; last is the latest slot of each.
	shapes, last []int32
	// heads are the first slots left of each shape, in sequence, and next leads
	// from a slot to the following one of its shape. Pieces of one shape fit a gap
	// equally well, so the first of them speaks for all. headOf is the head of each
	// shape, or -1.
	heads, next, headOf []int32
	// byWidth and byHeight are the ways in which shapes may lie: what fits a gap well
	// is found without a look at all the rest. Nothing left is narrower than the lay
	// of byWidth at narrowest.
	byWidth, byHeight ranking
	narrowest         int
	// plain takes the first piece of the sequence that fits, however well, so
	// that no packing is out of reach because another piece fits better.
	plain bool
	// near is by how much two lengths may differ and still be taken as equal:
	// lengths in inches or to a tenth of a millimetre hardly ever are. What lies
	// between them is given up.
	near int64
}

// unbounded is a height that nothing reaches.
const unbounded = math.MaxInt64 / 4

func newSkyline(elems []element, plain bool) *skyline {
	s := &skyline{elems: elems, plain: plain, shapes: make([]int32, len(elems))}
	known := map[shape]int32{}
	var lays []lay
	for i := range elems {
		k := shape{w: elems[i].w, h: elems[i].h, turn: elems[i].turn}
		n, ok := known[k]
		if !ok {
			n = int32(len(known))
			known[k] = n
			lays = append(lays, lay{k.w, k.h, n, false})
			if k.turn {
				lays = append(lays, lay{k.h, k.w, n, true})
			}
		}
		s.shapes[i] = n
	}
	s.byWidth = rank(lays, func(l lay) int64 { return l.w })
	s.byHeight = rank(lays, func(l lay) int64 { return l.h })
	s.last, s.headOf = make([]int32, len(known)), make([]int32, len(known))
	return s
}

func (s *skyline) load(order []int32) {
	s.slots = loadSlots(s.slots, order, s.elems)
	for k := range s.last {
		s.last[k], s.headOf[k] = -1, -1
	}
	s.heads, s.next, s.narrowest = s.heads[:0], s.next[:0], 0
	for i := range s.slots {
		k := s.shapes[s.slots[i].id]
		if before := s.last[k]; before < 0 {
			s.heads = append(s.heads, int32(i))
			s.headOf[k] = int32(i)
		} else {
			s.next[before] = int32(i)
		}
		s.last[k] = int32(i)
		s.next = append(s.next, -1)
	}
}

// used replaces a head by the next slot of its shape, further down the sequence.
func (s *skyline) used(head int32) {
	at, _ := slices.BinarySearch(s.heads, head)
	n := s.next[head]
	s.headOf[s.shapes[s.slots[head].id]] = n
	if n < 0 {
		s.heads = append(s.heads[:at], s.heads[at+1:]...)
		return
	}
	for ; at+1 < len(s.heads) && s.heads[at+1] < n; at++ {
		s.heads[at] = s.heads[at+1]
	}
	s.heads[at] = n
}

// loadSlots takes the sequence as pieces yet to be placed.
func loadSlots(slots []slot, order []int32, elems []element) []slot {
	slots = slots[:0]
	for _, entry := range order {
		id := entry >> 1
		e := &elems[id]
		slots = append(slots, slot{e.w, e.h, id, e.count, e.turn, entry&1 == 1})
	}
	return slots
}

// fill opens a sheet and places from s.slots until nothing more fits.
func (s *skyline) fill(width, limit int64) (placed int64) {
	s.segs = append(s.segs[:0], segment{w: width})
	s.places = s.places[:0]
	for len(s.heads) > 0 {
		at := lowestOf(s.segs)
		g := s.gap(at, limit)
		c := s.choose(g)
		if c.at < 0 {
			if !s.raise(at, limit) {
				break
			}
			continue
		}
		placed += c.w * c.h
		s.put(at, g, c)
	}
	return placed
}

// hollow is the gap above a segment with the height of its walls.
type hollow struct{ w, left, right, room int64 }

func (s *skyline) gap(at int, limit int64) hollow {
	left, right := walls(s.segs, at, limit)
	return hollow{s.segs[at].w, left, right, limit - s.segs[at].y}
}

// choice is a slot in one of the ways it may lie; at is -1 where there is none.
type choice struct {
	at    int
	score int
	w, h  int64
	turn  bool
}

// choose finds the piece that fits the gap best, of equally good ones the first of
// the sequence.
func (s *skyline) choose(g hollow) choice {
	if s.plain {
		return s.chooseFirst(g)
	}
	best := choice{at: -1, score: -1}
	for s.headOf[s.byWidth.lays[s.narrowest].shape] < 0 {
		s.narrowest++
	}
	if s.byWidth.sides[s.narrowest] > g.w {
		return best
	}
	r := &s.byWidth
	for i := r.from(g.w - s.near); i < len(r.sides) && r.sides[i] <= g.w; i++ {
		s.consider(&best, g, &r.lays[i])
	}
	if best.at >= 0 { // nothing narrower fits as well
		return best
	}
	r = &s.byHeight
	for _, wall := range [2]int64{g.left, g.right} {
		if wall > g.room+s.near {
			continue
		}
		for i := r.from(wall - s.near); i < len(r.sides) && r.sides[i] <= wall+s.near; i++ {
			s.consider(&best, g, &r.lays[i])
		}
	}
	if best.at >= 0 {
		return best
	}
	for _, at := range s.heads {
		p := &s.slots[at]
		if p.w <= g.w && p.h <= g.room {
			return choice{at: int(at), w: p.w, h: p.h}
		}
		if p.turn && p.h <= g.w && p.w <= g.room {
			return choice{at: int(at), w: p.h, h: p.w, turn: true}
		}
	}
	return best
}

// consider takes a way of lying if it fits better than the best so far, or as well
// and comes earlier in the sequence; of one piece, upright first.
func (s *skyline) consider(best *choice, g hollow, l *lay) {
	at := int(s.headOf[l.shape])
	if at < 0 || l.w > g.w || l.h > g.room {
		return
	}
	v := g.score(l.w, l.h, s.near)
	if v < best.score || v == best.score && (at > best.at || at == best.at && l.turned) {
		return
	}
	*best = choice{at, v, l.w, l.h, l.turned}
}

// chooseFirst takes the first piece of the sequence that fits, the way its
// entry asks for if it fits so.
func (s *skyline) chooseFirst(g hollow) choice {
	for _, at := range s.heads {
		p := &s.slots[at]
		upright := p.w <= g.w && p.h <= g.room
		turned := p.turn && p.h <= g.w && p.w <= g.room
		if turned && (p.flip || !upright) {
			return choice{at: int(at), w: p.h, h: p.w, turn: true}
		}
		if upright {
			return choice{at: int(at), w: p.w, h: p.h}
		}
	}
	return choice{at: -1}
}

// ranking is lays by one of their sides, shortest first. The table first leads near
// to the first of at least a length, by the length without its last shift bits.
type ranking struct {
	sides []int64
	lays  []lay
	first []int32
	shift uint
}

// rankSteps is about how long the table of a ranking is.
const rankSteps = 512

func rank(lays []lay, side func(lay) int64) (r ranking) {
	r.lays = slices.Clone(lays)
	slices.SortFunc(r.lays, func(a, b lay) int { return cmp.Compare(side(a), side(b)) })
	for _, l := range r.lays {
		r.sides = append(r.sides, side(l))
	}
	if len(r.sides) == 0 {
		return r
	}
	for r.sides[len(r.sides)-1]>>r.shift >= rankSteps {
		r.shift++
	}
	for i, v := range r.sides {
		for int64(len(r.first)) <= v>>r.shift {
			r.first = append(r.first, int32(i))
		}
	}
	return r
}

// from is the number of the first lay whose side is at least v.
func (r *ranking) from(v int64) int {
	if v <= r.sides[0] {
		return 0
	}
	at := v >> r.shift
	if at >= int64(len(r.first)) {
		return len(r.sides)
	}
	i := int(r.first[at])
	for i < len(r.sides) && r.sides[i] < v {
		i++
	}
	return i
}

// score says how well a piece closes the gap: full width first, then its
// height against the two walls.
func (g *hollow) score(w, h, near int64) int {
	toLeft, toRight := h-g.left <= near && g.left-h <= near, h-g.right <= near && g.right-h <= near
	if g.w-w <= near {
		switch {
		case toLeft && toRight:
			return 7
		case toLeft || toRight:
			return 6
		case h < g.left && h < g.right:
			return 4
		default:
			return 5
		}
	}
	if toLeft || toRight {
		return 2
	}
	return 0
}

// put places the choice against the wall it matches, else the taller one.
func (s *skyline) put(at int, g hollow, c choice) {
	seg := s.segs[at]
	x := seg.x
	right := g.right > g.left
	switch {
	case c.h == g.left:
		right = false
	case c.h == g.right:
		right = true
	case c.h-g.left <= s.near && g.left-c.h <= s.near:
		right = false
	case c.h-g.right <= s.near && g.right-c.h <= s.near:
		right = true
	}
	if right {
		x = seg.x + seg.w - c.w
	}
	p := &s.slots[c.at]
	s.places = append(s.places, Place{int(p.id), x, seg.y, c.w, c.h, c.turn})
	if p.left--; p.left == 0 {
		s.used(int32(c.at))
	}
	s.lift(at, x, c.w, seg.y+c.h)
}

// lift raises the part [x, x+w) of segment at to height y and merges equals.
func (s *skyline) lift(at int, x, w, y int64) {
	seg := s.segs[at]
	fresh := segment{x: x, w: w, y: y}
	switch {
	case w == seg.w:
		s.segs[at] = fresh
	case x == seg.x:
		s.segs[at] = segment{x: x + w, w: seg.w - w, y: seg.y}
		s.insert(at, fresh)
	default:
		s.segs[at].w -= w
		at++
		s.insert(at, fresh)
	}
	s.merge(at)
}

func (s *skyline) insert(at int, g segment) {
	s.segs = append(s.segs, segment{})
	copy(s.segs[at+1:], s.segs[at:])
	s.segs[at] = g
}

// merge joins segment at with neighbours of the same height, or nearly so: the
// lower one is raised.
func (s *skyline) merge(at int) {
	if at+1 < len(s.segs) && s.level(at, at+1) {
		s.segs[at].w += s.segs[at+1].w
		s.segs = append(s.segs[:at+1], s.segs[at+2:]...)
	}
	if at > 0 && s.level(at-1, at) {
		s.segs[at-1].w += s.segs[at].w
		s.segs = append(s.segs[:at], s.segs[at+1:]...)
	}
}

// level brings two neighbours to one height if they nearly are.
func (s *skyline) level(a, b int) bool {
	low, high := min(s.segs[a].y, s.segs[b].y), max(s.segs[a].y, s.segs[b].y)
	if high-low > s.near {
		return false
	}
	s.segs[a].y, s.segs[b].y = high, high
	return true
}

// raise gives a gap that nothing fits up to its lower wall; false when the
// sheet is full there from edge to edge.
func (s *skyline) raise(at int, limit int64) bool {
	y := int64(unbounded)
	if at > 0 {
		y = s.segs[at-1].y
	}
	if at+1 < len(s.segs) {
		y = min(y, s.segs[at+1].y)
	}
	if y >= unbounded || y > limit {
		return false
	}
	s.segs[at].y = y
	s.merge(at)
	return true
}
