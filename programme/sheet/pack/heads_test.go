package pack

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The first slot of each shape speaks for the others: scanning every slot, as
// if no two pieces were alike, must give the same sheets.
func TestOneScanAShapeIsAsGoodAsOneAPiece(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces := make([]Piece, rapid.IntRange(1, 5).Draw(t, "shapes"))
		for i := range pieces {
			pieces[i] = Piece{
				W: rapid.Int64Range(1, 4).Draw(t, "w"), H: rapid.Int64Range(1, 4).Draw(t, "h"),
				Count: rapid.IntRange(0, 9).Draw(t, "count"), Turn: rapid.Bool().Draw(t, "turn"),
			}
		}
		elems := elements(pieces)
		order := rapid.Permutation(sorted(elems, 0)).Draw(t, "order")
		for i := range order {
			order[i] ^= int32(rapid.IntRange(0, 1).Draw(t, "flip"))
		}
		plain := rapid.Bool().Draw(t, "plain")
		short, long := newSkyline(elems, plain), newSkyline(elems, plain)
		for i := range long.shapes {
			long.shapes[i] = int32(i)
		}
		long.last = make([]int32, len(elems))
		short.load(order)
		long.load(order)
		for range 3 { // sheets of one sequence
			require.Equal(t, long.fill(6, 8), short.fill(6, 8))
			require.Equal(t, long.result(), short.result())
			require.Equal(t, long.remaining(), short.remaining())
		}
	})
}
