package sheettest

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// The general packers themselves must be sound: on sheets that squares fill exactly
// both need the known number.
func TestGeneralPackersFillWhatIsFilled(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 20 {
		side, nx, ny := 10+rng.Int64N(20), 1+rng.Int64N(4), 1+rng.Int64N(4)
		tiles := make([]tile, 3*nx*ny)
		for i := range tiles {
			tiles[i] = tile{side, side}
		}
		require.Equal(t, 3, maximalRectangles(tiles, side*nx, side*ny))
		require.Equal(t, 3, straightCuts(tiles, side*nx, side*ny))
	}
}
