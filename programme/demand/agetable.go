package demand

import (
	"math"

	"github.com/kitmuster/kitmuster/programme/wear"
)

// ageTable holds numbers that depend smoothly on the age of a piece, for pieces that are worn alike but are of many
// ages: they are worked out at the ages of a grid, as far as they are asked for, and read off between these. A large
// client has hundreds of such pieces, and every number takes dozens of exponentials.
//
// The grid is even in the square root of the age, in which hazards, which are powers of the age, are smooth from a new
// piece on; numbers are read by the polynomial through the six nearest nodes (Lagrange).
type ageTable struct {
	step float64 // of the root of the age in washes
	// of works the numbers out into zeros, as many as there are.
	of    func(age float64, into []float64)
	size  int
	room  *room
	nodes [][]float64
}

// The fineness of an ageTable, with which its chances are right to 1e-7, in the first wash of a life to 5e-6, and from
// how many pieces that are worn alike on it pays: their ages reach over one or two lives.
const (
	nodesAcross  = 24 // the root of a typical life
	manyAges     = 64
	nodesForRead = 6
)

func newAgeTable(life float64, size int, room *room, of func(age float64, into []float64)) *ageTable {
	return &ageTable{step: math.Sqrt(life) / nodesAcross, of: of, size: size, room: room}
}

// node returns the numbers at the i-th age of the grid.
func (t *ageTable) node(i int) []float64 {
	if i >= len(t.nodes) {
		t.nodes = append(t.nodes, make([][]float64, i+1-len(t.nodes))...)
	}
	if t.nodes[i] == nil {
		t.nodes[i] = t.room.floats(t.size)
		root := float64(i) * t.step
		t.of(root*root, t.nodes[i])
	}
	return t.nodes[i]
}

// read puts the numbers at an age into out.
func (t *ageTable) read(age float64, out []float64) {
	at := math.Sqrt(max(age, 0)) / t.step
	first := max(0, int(at)-(nodesForRead/2-1))
	w := lagrange(at - float64(first))
	out = out[:t.size]
	clear(out)
	for i, x := range w {
		for k, y := range t.node(first + i) {
			out[k] += x * y
		}
	}
}

// lagrange returns the weights of the values at 0, 1, ... 5 in the value at x of the polynomial through them.
func lagrange(x float64) (w [nodesForRead]float64) {
	for i := range w {
		w[i] = 1
		for j := range w {
			if j != i {
				w[i] *= (x - float64(j)) / float64(i-j)
			}
		}
	}
	return w
}

// countKindred counts, for each holder, the pieces of all holders that are worn as its own are, so that one table
// serves them.
func countKindred(holders []holder) {
	type alike struct {
		class wear.Class
		rot   Rotation
		pace  float64 // the slowest that may be the person's
	}
	of := func(h *holder) alike {
		k := alike{class: h.use.Class.Class, rot: h.rot}
		if len(h.paces) > 0 {
			k.pace = h.paces[0].At
		}
		return k
	}
	counts := map[alike]int{}
	for i := range holders {
		counts[of(&holders[i])] += len(holders[i].pieces)
	}
	for i := range holders {
		holders[i].kindred = counts[of(&holders[i])]
	}
}

// manyKindred reports whether numbers of the holder's pieces are read off tables. A label's limit is a jump at one age.
func (h *holder) manyKindred() bool { return h.kindred >= manyAges && h.rot.Limit <= 0 }
