package demand

import "sync"

// room is the memory of one forecast's intermediate numbers. It is released as a whole and used again by the next
// forecast; a large shop's round would otherwise leave gigabytes to be collected.
type room struct {
	numbers arena[float64]
	causes  arena[byCause]
}

// arena is memory for many slices, in blocks.
type arena[T any] struct {
	blocks   [][]T
	at, used int // the block that is being filled, and how far
}

// blockSize is the least number of values in a block.
const blockSize = 1 << 13

var rooms = sync.Pool{New: func() any { return &room{} }}

// floats returns n zeros that nothing else uses until the room is emptied.
func (r *room) floats(n int) []float64 { return r.numbers.take(n) }

// weeks returns n weeks without endings, as floats does.
func (r *room) weeks(n int) []byCause { return r.causes.take(n) }

// empty lets go of all numbers.
func (r *room) empty() { r.numbers.empty(); r.causes.empty() }

func (a *arena[T]) take(n int) []T {
	for a.at < len(a.blocks) && len(a.blocks[a.at])-a.used < n {
		a.at, a.used = a.at+1, 0
	}
	if a.at == len(a.blocks) {
		a.blocks = append(a.blocks, make([]T, max(n, blockSize)))
	}
	out := a.blocks[a.at][a.used : a.used+n : a.used+n]
	a.used += n
	clear(out)
	return out
}

func (a *arena[T]) empty() { a.at, a.used = 0, 0 }
