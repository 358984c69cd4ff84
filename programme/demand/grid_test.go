package demand

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// Between its points a curve is read by the cubic through the four nearest, which is off by
// 9/16 of a 24th of the steepest fourth derivative at most; in the first and last cell, where
// there are fewer points on one side, by one 24th.
func TestACubicGoesThroughTheNearestPoints(t *testing.T) {
	const often = 0.9
	var g []float64
	for i := range 12 {
		g = append(g, math.Sin(often*float64(i)))
	}
	steepest := math.Pow(often, 4)
	for x := 0.0; x <= 11; x += 0.05 {
		bound := steepest * 9 / 16 / 24
		if x < 1 || x > 10 {
			bound = steepest / 24
		}
		require.InDelta(t, math.Sin(often*x), cubic(g, x), bound+1e-12, "at %g", x)
	}
}

// Pieces that hardly last are renewed without end, of which so many are told apart.
func TestRenewalsAreToldApartUpToTheDeepest(t *testing.T) {
	// rate^n / n!, the last below 1e-8
	for rate, depth := range map[float64]int{1e-9: 2, 1e-5: 3, 1e-3: 4, 200: deepest + 1} {
		r := newRenewals([]Lifetime{{Weight: 1, Mishap: rate}}, Rotation{Pace: 1}, 1, coarse, &room{})
		require.Equal(t, depth, r.Depth(), "%g", rate)
	}
}

// Pieces that a mishap ends at a constant rate, or the label's limit after so many weeks:
// how often they are renewed, from the integral over the first ending, in closed form for
// two, for three by the midpoint rule between the days at which it jumps.
func TestRenewalsUnderALabelsLimitInClosedForm(t *testing.T) {
	const rate, limit, pace = 0.11, 5.0, 2.0
	one := func(x float64) float64 {
		switch {
		case x <= 0:
			return 0
		case x >= limit:
			return 1
		}
		return -math.Expm1(-rate * x)
	}
	e := func(x float64) float64 { return math.Exp(-rate * x) }
	two := func(x float64) float64 {
		switch {
		case x <= 0:
			return 0
		case x < limit:
			return 1 - e(x)*(1+rate*x)
		case x >= 2*limit:
			return 1
		}
		return 1 - e(x-limit) + (e(x-limit) - e(limit)) - rate*e(x)*(2*limit-x) + e(limit)*(1-e(x-limit))
	}
	// after is the chance that the first ending, which comes by a mishap or after until weeks,
	// is followed by those of f before x.
	after := func(f func(float64) float64, until, x float64) (sum float64) {
		from := 0.0
		for from < min(until, x) {
			to := min(until, x)
			for k := 1.0; k < 9; k++ {
				if jump := x - k*limit; jump > from+1e-9 {
					to = min(to, jump)
				}
			}
			const n = 400
			for i := range n {
				s := from + (to-from)*(float64(i)+0.5)/n
				sum += (to - from) / n * rate * e(s) * f(x-s)
			}
			from = to
		}
		if x >= until {
			sum += e(until) * f(x-until)
		}
		return sum
	}
	life := []Lifetime{{Weight: 1, Mishap: rate}}
	for name, c := range map[string]struct {
		effort
		off float64
	}{"fine": {fine, 2e-6}, "coarse": {coarse, 2e-3}} {
		r := newRenewals(life, Rotation{Pace: pace, Limit: limit * pace}, 14, c.effort, &room{})
		for _, x := range []float64{0.5, 2, 4.9, 5, 5.1, 7.3, 9.95, 10, 10.2, 12.5, 14} {
			got := r.Tails(0, x)
			require.InDelta(t, one(x), got[1], 1e-9, "%s, %g weeks", name, x)
			require.InDelta(t, two(x), got[2], c.off, "%s, %g weeks", name, x)
			require.InDelta(t, two(x), after(one, limit, x), 1e-6, "the two roads agree")
			require.InDelta(t, after(two, limit, x), got[3], c.off, "%s, %g weeks", name, x)

			got = r.Tails(4, x) // of eight washes left until the limit six, which take three weeks
			left := limit - 4/pace
			require.InDelta(t, after(func(float64) float64 { return 1 }, left, x), got[1], 1e-6,
				"%s, %g weeks", name, x)
			require.InDelta(t, after(one, left, x), got[2], c.off, "%s, %g weeks, used", name, x)
			require.InDelta(t, after(two, left, x), got[3], c.off, "%s, %g weeks, used", name, x)
		}
	}
}
