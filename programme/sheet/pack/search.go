package pack

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

// builder makes sheets from a sequence of elements: load it, then fill sheet
// after sheet. Both cutting styles have one. An entry of the sequence is twice
// the element's number, plus one where the builder is to cut the other way or,
// when it takes pieces strictly in sequence, to turn the piece.
type builder interface {
	load(order []int32)
	// fill opens a sheet, places what it can and returns the area placed.
	fill(width, limit int64) int64
	// result holds the places of the last fill, by element; valid until the next.
	result() []Place
	// remaining counts pieces not yet placed since load.
	remaining() int
}

func newBuilder(elems []element, guillotine bool) builder {
	if guillotine {
		return &guillotiner{elems: elems}
	}
	return newSkyline(elems, false)
}

// newPlainBuilder takes pieces strictly in sequence.
func newPlainBuilder(elems []element) builder {
	return newSkyline(elems, true)
}

func (s *skyline) result() []Place { return s.places }

func (s *skyline) remaining() int { return countLeft(s.slots) }

func countLeft(slots []slot) int {
	n := 0
	for i := range slots {
		n += int(slots[i].left)
	}
	return n
}

// search is a local search over sequences with a budget of tries.
type search struct {
	opt   Options
	rng   *rand.Rand
	tries int
	total int64 // area of all pieces
	cool  cooling
	flips bool // the builder heeds the second half of an entry
	// whole lets a run end even when its tries are spent, so that a search that
	// is taken up again goes on as if it had never paused.
	whole bool
}

func newSearch(total int64, cool cooling, opt Options) *search {
	return &search{opt: opt, rng: rand.New(rand.NewPCG(opt.Seed, 0x6b6974)), total: total, cool: cool}
}

// over reports whether the budget is spent.
func (s *search) over() bool {
	return s.tries >= s.opt.Iterations || (s.opt.Stop != nil && s.opt.Stop())
}

// goOn lets improve search for about so many tries more, to the end of a run, and
// returns how many it took.
func (s *search) goOn(tries int, improve func()) int {
	from := s.tries
	s.opt.Iterations, s.whole = from+tries, true
	improve()
	return s.tries - from
}

// stopped reports that a run must end.
func (s *search) stopped() bool {
	if s.whole {
		return s.opt.Stop != nil && s.opt.Stop()
	}
	return s.over()
}

// cooling holds the first and last temperature of a run, as shares of the total area.
type cooling struct{ hot, cold float64 }

// Tuned on the published instances in testdata/sheets.
var (
	stripCooling = cooling{0.005, 0.0002}
	binCooling   = cooling{0.002, 0.0001}
)

// runLength returns the number of tries in an annealing run over a sequence of n: the
// first runs are short, so that several starts fit even a small budget. A try
// takes time in proportion to the square of the sequence, so that long sequences
// get shorter runs; short ones have little to try. It does not depend on the
// budget: a longer search goes through all that a shorter one does.
func runLength(n, run int) int {
	n = max(1, n*n)
	return min(max(500, min(longestRun, 50*n, 20_000_000/n)), 100<<min(run, 8))
}

// longestRun bounds an annealing run.
const longestRun = 20_000

// anneal looks for a sequence with which build places everything. It changes
// order in place and reports success at once; on failure order is the best met.
func (s *search) anneal(order []int32, steps int, build func([]int32) int64) bool {
	n := len(order)
	now := build(order)
	best, bestOrder := now, slices.Clone(order)
	for i := 0; i < steps && now < s.total && n > 1 && !s.stopped(); i++ {
		temperature := float64(s.total) * s.cool.hot * math.Pow(s.cool.cold/s.cool.hot, float64(i)/float64(steps))
		undo := s.move(order)
		next := build(order)
		s.tries++
		if next < now && s.rng.Float64() >= math.Exp(float64(next-now)/temperature) {
			undo.apply(order)
			continue
		}
		if now = next; now > best {
			best = now
			copy(bestOrder, order)
		}
	}
	copy(order, bestOrder)
	return best == s.total
}

// move changes a sequence and is kept so that it can be undone.
type move struct {
	from, to int
	kind     moveKind
}

type moveKind int

const (
	swap moveKind = iota
	shift
	flip // the other way of cutting or lying
)

func (s *search) move(order []int32) (undo move) {
	kinds := 2
	if s.flips {
		kinds = 3
	}
	m := move{s.rng.IntN(len(order)), s.rng.IntN(len(order)), moveKind(s.rng.IntN(kinds))}
	m.apply(order)
	if m.kind == shift {
		return move{m.to, m.from, shift}
	}
	return m
}

func (m move) apply(order []int32) {
	switch m.kind {
	case swap:
		order[m.from], order[m.to] = order[m.to], order[m.from]
		return
	case flip:
		order[m.from] ^= 1
		return
	case shift:
	}
	v := order[m.from]
	if m.from < m.to {
		copy(order[m.from:m.to], order[m.from+1:m.to+1])
	} else {
		copy(order[m.to+1:m.from+1], order[m.to:m.from])
	}
	order[m.to] = v
}

// starts are the sort keys, largest first, that first sequences come from.
var starts = []func(e *element) int64{
	func(e *element) int64 { return e.w * e.h },
	func(e *element) int64 { return e.w },
	func(e *element) int64 { return e.h },
	func(e *element) int64 { return e.w + e.h },
	func(e *element) int64 { return max(e.w, e.h) },
}

// sorted returns the sequence of elements by start key k.
func sorted(elems []element, k int) []int32 {
	order := make([]int32, len(elems))
	for i := range order {
		order[i] = int32(i) << 1
	}
	key := starts[k%len(starts)]
	slices.SortStableFunc(order, func(a, b int32) int { return cmp.Compare(key(&elems[b>>1]), key(&elems[a>>1])) })
	return order
}

// toPieces replaces element numbers by the caller's piece numbers.
func toPieces(places []Place, elems []element) []Place {
	out := slices.Clone(places)
	for i := range out {
		out[i].Piece = int(elems[out[i].Piece].piece)
	}
	return out
}
