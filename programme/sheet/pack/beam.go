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
	// value is the weight of a piece of each shape: its area, more for what is
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
	// judged is the number of ways to fill a gap that are judged in full: where pieces are of
	// many shapes, a look at the gap alone leaves out most of them.
	judged int
	// untidy is the cost of beginning another island of equal pieces, in areas of a
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

const (
	everyWay = math.MaxInt32
	// fewWays serves strips, where wider beams are worth more than looking at every way.
	fewWays = 12
)

// newBeam prepares a beam; steps is how finely the widths of gaps are told apart.
func newBeam(pieces []Piece, width int64, steps int, stop func() bool) *beam {
	b := &beam{width: width, stop: stop, judged: everyWay, untidy: tidyHabit}
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

// sheetBuckets is the number of classes of area into which the states of one sheet are sorted.
const sheetBuckets = 24
