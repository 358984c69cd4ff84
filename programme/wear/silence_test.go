package wear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// What a silence says is the slope of the logarithm of its chance, worked out here by
// differences.
func TestSilenceIsWorthTheSlopeOfItsLikelihood(t *testing.T) {
	chance := func(before, since, hidden, late float64) float64 {
		a, b := math.Exp(-before), math.Exp(-before-since)
		return math.Log(hidden*(1-a) + (hidden+(1-hidden)*late)*(a-b) + b)
	}
	const d = 1e-6
	for _, c := range [][4]float64{{0.1, 0, 0.3, 0}, {1.5, 0.4, 0.3, 0.5}, {0, 0.7, 0, 0.8}, {3, 0.01, 0.05, 0.1},
		{2, 0, 0, 0}} {
		before, since, hidden, late := c[0], c[1], c[2], c[3]
		then, now := silence(before, since, hidden, late)
		require.InDelta(t, (chance(before-d, since, hidden, late)-chance(before+d, since, hidden, late))/(2*d), then,
			1e-6, "%v", c)
		require.InDelta(t, (chance(before, since-d, hidden, late)-chance(before, since+d, hidden, late))/(2*d), now,
			1e-6, "%v", c)
	}
}

// Somebody whose pieces may be gone unseen has not worn softly: of such pieces less
// wear is expected than of pieces known to be there.
func TestSilentPiecesShowLittleOfAPersonsPace(t *testing.T) {
	b := &belief{risks: []risk{{Weibull{2.5, 40}, 1}}, mishap: 1e-4}
	p := &programme.Piece{FromWashes: 10, Washes: 60, UnseenDays: 180}
	seen := *p
	seen.UnseenDays = 0
	h := &History{Hidden: 0.3}
	_, there := b.worn(&seen, h)
	_, silent := b.worn(p, h)
	require.InDelta(t, math.Pow(60.0/40, 2.5), there, 1e-9)
	require.Less(t, silent, 0.5*there)
	h.Hidden = 0
	_, sure := b.worn(p, h)
	require.InDelta(t, there, sure, 1e-9, "where everything is written down, it is there")
}
