package reorder

import (
	"container/heap"
	"math"
)

// Spare is one line of the marginal analysis.
type Spare struct {
	Shortage Shortage
	Stock    int     // the stock position; below 0 = pieces owed
	Cost     float64 // of one more piece, above 0
}

// Levels returns the stock levels, one a line, that bring the expected fill
// rate over all lines to the target at least cost. Pieces owed are certain and
// come first, whatever they cost. Then one piece is added at a time where it
// takes away most expected shortage per unit of cost; the last piece is the
// cheapest that reaches the target. No level lies below the stock.
//
// Since expected shortage is convex in each stock level, the sum is the least
// that reaches the target where all pieces cost the same, and otherwise less
// than one piece above it (marginal analysis of spares provisioning: Fox,
// Management Science 13, 1966; Sherbrooke, Optimal Inventory Modeling of
// Systems, 1992; both cited from memory). Lines of equal gain take turns in the
// order of the slice. A target at or above 1 asks for every piece that the
// distributions hold.
func Levels(lines []Spare, target float64) []int {
	levels := make([]int, len(lines))
	short, needed := 0.0, 0.0
	q := make(gains, 0, len(lines))
	for i := range lines {
		l := &lines[i]
		levels[i] = max(l.Stock, 0)
		needed += l.Shortage.Mean() + float64(max(-l.Stock, 0))
		short += l.Shortage.At(levels[i])
		q.add(i, l, levels[i])
	}
	heap.Init(&q)
	allowed := (1 - target) * needed
	for short > allowed+slack && len(q) > 0 {
		if i := cheapestLast(lines, levels, short-allowed-slack, q[0]); i >= 0 {
			levels[i]++
			break
		}
		top := q[0].line
		short -= lines[top].Shortage.Gain(levels[top])
		levels[top]++
		q.renew(&lines[top], levels[top])
	}
	return levels
}

// slack absorbs rounding in sums of shortages, in pieces.
const slack = 1e-12

// cheapestLast returns the line of the cheapest single piece that takes away
// the rest, or -1 while the next piece in turn does not reach it.
func cheapestLast(lines []Spare, levels []int, rest float64, next gain) int {
	if lines[next.line].Shortage.Gain(levels[next.line]) < rest {
		return -1
	}
	best := next.line
	for i := range lines {
		if lines[i].Cost < lines[best].Cost && lines[i].Shortage.Gain(levels[i]) >= rest {
			best = i
		}
	}
	return best
}

// gain is the expected shortage that the next piece of a line takes away per unit of cost.
type gain struct {
	line  int
	worth float64
}

// gains is a heap with the worthiest piece on top, ties in the order of lines.
type gains []gain

func (g *gains) add(i int, l *Spare, level int) {
	if d := l.Shortage.Gain(level); d > 0 {
		*g = append(*g, gain{i, worth(d, l.Cost)})
	}
}

// renew sets the top to the line's next piece, or drops a line that is full.
func (g *gains) renew(l *Spare, level int) {
	d := l.Shortage.Gain(level)
	if d <= 0 {
		heap.Pop(g)
		return
	}
	(*g)[0].worth = worth(d, l.Cost)
	heap.Fix(g, 0)
}

func worth(gain, cost float64) float64 { return gain / math.Max(cost, 1e-9) }

func (g gains) Len() int      { return len(g) }
func (g gains) Swap(i, j int) { g[i], g[j] = g[j], g[i] }
func (g gains) Less(i, j int) bool {
	if g[i].worth != g[j].worth {
		return g[i].worth > g[j].worth
	}
	return g[i].line < g[j].line
}
func (g *gains) Push(x any) { *g = append(*g, x.(gain)) }
func (g *gains) Pop() any {
	old := *g
	x := old[len(old)-1]
	*g = old[:len(old)-1]
	return x
}
