package demand

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/wear"
)

// The rule used for many lifetimes at once is checked against the fine one over
// the ages, paces and causes that shops meet.
func TestTheCoarseRuleIsCloseToTheFineOne(t *testing.T) {
	lifetimes := []Lifetime{{Weight: 1, Wash: []wear.Weibull{{Shape: 2.5, Scale: 50}, {Shape: 3, Scale: 60}},
		Number: []float64{1, 2}, Mishap: 0.003}}
	finer := effort{points: 12, smooth: true, span: 0.4, cells: 600, ignore: 1e-12}
	worst := 0.0
	for _, pace := range []float64{0.3, 1, 2.5} {
		for _, weeks := range []float64{3, 8, 16, 26} {
			for _, limit := range []float64{0, 25, 50} {
				a := newRenewals(lifetimes, Rotation{Pace: pace, Limit: limit}, weeks, finer, &room{})
				b := newRenewals(lifetimes, Rotation{Pace: pace, Limit: limit}, weeks, coarse, &room{})
				for _, age := range []float64{0, 3, 20, 45, 70} {
					x, y := a.Tails(age, weeks), b.Tails(age, weeks)
					for n := range y {
						worst = max(worst, math.Abs(x[n]-y[n]))
					}
				}
			}
		}
	}
	require.Less(t, worst, 2e-4)
}
