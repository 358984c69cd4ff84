package pack

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// The sequence has an entry a piece up to 400; of more, equal pieces share entries of as many
// as are needed to stay near that, and none is lost.
func TestManyPiecesShareEntries(t *testing.T) {
	for _, c := range []struct{ a, b, entries, most int }{{3, 0, 3, 1}, {200, 200, 400, 1}, {200, 201, 201, 2},
		{399, 401, 401, 2}, {401, 400, 268, 3}, {0, 4000, 400, 10}, {4001, 0, 364, 11}} {
		elems := elements([]Piece{{W: 2, H: 1, Count: c.a, Turn: true}, {W: 3, H: 3, Count: c.b, Turn: true}})
		counts := [2]int{}
		most := 0
		for _, e := range elems {
			counts[e.piece] += int(e.count)
			most = max(most, int(e.count))
			require.Positive(t, e.count)
			require.Equal(t, e.piece == 0, e.turn, "to turn a square changes nothing")
		}
		require.Equal(t, [2]int{c.a, c.b}, counts)
		require.Equal(t, [2]int{c.entries, c.most}, [2]int{len(elems), most}, "%v", c)
	}
}

// Pieces are of one size where sides and turns agree; a square may be turned or not.
func TestWhetherPiecesAreOfOneSize(t *testing.T) {
	for want, pieces := range map[bool][][]Piece{
		true: {
			{{W: 3, H: 2, Count: 1}}, {{W: 3, H: 2, Count: 1}, {W: 3, H: 2, Count: 5}},
			{{W: 9, H: 9}, {W: 3, H: 2, Count: 1, Turn: true}},
			{{W: 3, H: 3, Count: 1}, {W: 3, H: 3, Count: 1, Turn: true}},
		},
		false: {
			nil, {{W: 3, H: 2}}, {{W: 3, H: 2, Count: 1}, {W: 3, H: 1, Count: 1}},
			{{W: 3, H: 2, Count: 1}, {W: 4, H: 2, Count: 1}},
			{{W: 3, H: 2, Count: 1}, {W: 3, H: 2, Count: 1, Turn: true}},
		},
	} {
		for _, p := range pieces {
			_, ok := oneShape(p)
			require.Equal(t, want, ok, "%v", p)
		}
	}
}
