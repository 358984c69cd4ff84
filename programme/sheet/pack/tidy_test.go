package pack_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// Two islands of a (at the left, and one apart at the top right) and one of b,
// one of whose pieces is turned and so lies apart too.
func TestIslandsAreCounted(t *testing.T) {
	places := []pack.Place{
		{Piece: 0, X: 0, Y: 0, W: 2, H: 1}, {Piece: 0, X: 0, Y: 1, W: 2, H: 1}, {Piece: 0, X: 4, Y: 2, W: 2, H: 1},
		{Piece: 1, X: 2, Y: 0, W: 2, H: 3}, {Piece: 1, X: 4, Y: 0, W: 3, H: 2, Turned: true},
	}
	islands, both := pack.Islands(places)
	require.Equal(t, [2]int{4, 1}, [2]int{islands, both})
	islands, both = pack.Islands(nil)
	require.Equal(t, [2]int{0, 0}, [2]int{islands, both})
}

// TestTidyingKeepsEveryPieceAndTheHeight: what is tidied is sound, no higher than
// it may be, and never in more islands.
func TestTidyingKeepsEveryPieceAndTheHeight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces := drawPieces(t)
		places, height, err := pack.Strip(pieces, 60, pack.Options{Iterations: 20})
		require.NoError(t, err)
		limit := height + rapid.Int64Range(0, 5).Draw(t, "more")
		before, ways := pack.Islands(places)
		tidied := pack.Tidy(pieces, 60, limit, places)
		sound(t, pieces, [][]pack.Place{tidied}, 60, limit, false)
		after, waysAfter := pack.Islands(tidied)
		require.LessOrEqual(t, after+waysAfter, before+ways)
	})
}

// TestEqualPiecesEndUpTogether: three kinds of tile that fill a strip exactly in
// bands need no more islands than kinds.
func TestEqualPiecesEndUpTogether(t *testing.T) {
	pieces := []pack.Piece{{W: 10, H: 7, Count: 24}, {W: 12, H: 9, Count: 15}, {W: 15, H: 11, Count: 12}}
	places, height, err := pack.Strip(pieces, 60, pack.Options{Iterations: 200})
	require.NoError(t, err)
	require.Equal(t, int64(4*7+3*9+3*11), height)
	islands, _ := pack.Islands(pack.Tidy(pieces, 60, height, places))
	require.Equal(t, 3, islands)
}
