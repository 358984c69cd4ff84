package wear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// Endings that follow a wave exactly give that wave back, drawn towards none, the less
// the more there are; even months give none.
func TestAWaveOfTheYearIsLearntFromEnoughEndings(t *testing.T) {
	swing := func(endings float64) (w wave, gain float64) {
		var m monthly
		for i := range m {
			m[i] = wornTally{endings * math.Exp(0.3*math.Sin(2*math.Pi*(float64(i)+0.5)/12)), endings * 1.2}
		}
		return m.wave()
	}
	few, little := swing(3)
	many, clear := swing(300)
	require.InDelta(t, 0.3, many.sin, 0.01)
	require.InDelta(t, 0, many.cos, 0.01)
	require.Less(t, few.sin, 0.2)
	require.Less(t, little, float64(seasonWeight))
	require.Greater(t, clear, float64(seasonWeight))
	var even monthly
	for i := range even {
		even[i] = wornTally{20, 20}
	}
	w, gain := even.wave()
	require.InDelta(t, 0, math.Hypot(w.cos, w.sin), 1e-9)
	require.InDelta(t, 0, gain, 1e-9)
}
