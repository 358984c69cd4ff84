package pack_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// Backs of 11 by 6 in leave room for chest marks beside them on every length of a roll of
// 22 in: a length that has backs alone wastes a sixth of it. With their gaps all images
// fill 353 in where nothing is lost.
func TestEveryLengthOfARollGetsSmallPieces(t *testing.T) {
	const gap = 25 // hundredths of an inch, as all lengths here
	piece := func(w, h int64, n int) pack.Piece { return pack.Piece{W: w + gap, H: h + gap, Count: n, Turn: true} }
	pieces := []pack.Piece{piece(1100, 600, 85), piece(400, 200, 27), piece(350, 275, 130), piece(400, 200, 16)}
	r, err := pack.NewRolls(pieces, 2200+gap, 24000+gap, pack.Options{Iterations: 200})
	require.NoError(t, err)
	r.Improve(200)
	rolls, lengths := r.Best()
	require.Len(t, rolls, 2)
	images := 0
	for _, roll := range rolls {
		images += len(roll)
	}
	require.Equal(t, 85+27+130+16, images)
	require.LessOrEqual(t, lengths[0], int64(24000+gap))
	require.Less(t, lengths[0]+lengths[1], int64(36500))
}
