package demand

import "sync"

// room is the memory of one forecast's intermediate numbers. It is released as a whole and used again by the next
// forecast; a large shop's round would otherwise leave gigabytes to be collected.
type room struct {
	blocks   [][]float64
	at, used int // the block that is being filled, and how far
}

// blockSize is the least number of values in a block.
const blockSize = 1 << 13

var rooms = sync.Pool{New: func() any { return &room{} }}

// floats returns n zeros that nothing else uses until the room is emptied.
func (r *room) floats(n int) []float64 {
	for r.at < len(r.blocks) && len(r.blocks[r.at])-r.used < n {
		r.at, r.used = r.at+1, 0
	}
	if r.at == len(r.blocks) {
		r.blocks = append(r.blocks, make([]float64, max(n, blockSize)))
	}
	out := r.blocks[r.at][r.used : r.used+n : r.used+n]
	r.used += n
	clear(out)
	return out
}

// empty lets go of all numbers.
func (r *room) empty() { r.at, r.used = 0, 0 }
