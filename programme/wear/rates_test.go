package wear

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/integrate/quad"
)

// The integral over the rate at a shape, and the Gamma of the same mean and variance, against a
// fine sum over all rates.
func TestTheRateIsIntegratedOut(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 5))
	for range 20 {
		var obs []Observation
		for range 4 + rng.IntN(20) {
			x := 20 + 60*rng.Float64()
			o := Observation{Kind: Interval, Exit: 0.7 * x, Upper: 1.3 * x, Count: 1, Lives: float64(1 + rng.IntN(2)),
				Other: 0.3 * rng.Float64()}
			if rng.IntN(2) == 0 {
				o = Observation{Kind: Exact, Exit: x, Count: float64(1 + rng.IntN(2)), Other: 0.01 * rng.Float64()}
			}
			obs = append(obs, o, Observation{Kind: Right, Exit: x, Count: 1})
		}
		l := newLearner(Prior{Weibull: Weibull{2.5, 50}, Strength: 8}, obs)
		difference, want := 0.0, 0.0
		for i, k := range []float64{2, 3} {
			conj := Gamma{8 + l.endings, 8 + l.exposure(k)}
			c := *l.terms(k)
			top, best, _ := c.mode(conj, 0)
			moment := func(n float64) float64 {
				return quad.Fixed(func(y float64) float64 {
					v, _, _ := c.value(conj, y)
					return math.Exp(v - best + n*y)
				}, top-4, top+4, 400, nil, 0)
			}
			m0, m1, m2 := moment(0), moment(1), moment(2)
			logIntegral, matched := l.integrate(k, conj)
			mean, variance := m1/m0, m2/m0-m1*m1/m0/m0
			require.InEpsilon(t, mean, matched.Mean(), 1e-3)
			require.InEpsilon(t, mean*mean/variance, matched.Count, 0.01)
			sign := float64(2*i - 1)
			difference, want = difference+sign*logIntegral, want+sign*(best+math.Log(m0))
		}
		require.InDelta(t, want, difference, 1e-3)
	}
}

// Estimates are settled where lives moved by less than the limit, shapes by four times and
// mishaps by ten times that, up or down.
func TestWhenEstimatesAreSettled(t *testing.T) {
	before := []risk{{Weibull{2, 50}, 1}, {Weibull{3, 80}, 2}}
	rate := Gamma{10, 20}
	for name, c := range map[string]struct {
		scale, shape, rate float64
		want               bool
	}{
		"unmoved": {1, 1, 1, true}, "hardly": {1 + 0.9*settled, 1 + 3.6*settled, 1 + 9*settled, true},
		"hardly less": {1 - 0.9*settled, 1 - 3.6*settled, 1 - 9*settled, true},
		"longer":      {1 + 1.1*settled, 1, 1, false}, "shorter": {1 - 1.1*settled, 1, 1, false},
		"steeper": {1, 1 + 4.4*settled, 1, false}, "flatter": {1, 1 - 4.4*settled, 1, false},
		"more lost": {1, 1, 1 + 11*settled, false}, "fewer lost": {1, 1, 1 - 11*settled, false},
	} {
		after := []risk{before[0], {Weibull{3 * c.shape, 80 * c.scale}, 2}}
		require.Equal(t, c.want, still(before, after, rate, Gamma{10 * c.rate, 20}), name)
	}
}

// A rate taken for certain is nearly normal about it; one of few events is a Gamma.
func TestTheChanceOfALowerRate(t *testing.T) {
	sure := Gamma{4e8, 8e8}
	require.InDelta(t, 0.5, sure.Below(0.5), 1e-6)
	require.InDelta(t, 0.8413447, sure.Below(0.5*(1+1.0/2e4)), 1e-5, "one standard deviation")
	require.InDelta(t, 0.1586553, sure.Below(0.5*(1-1.0/2e4)), 1e-5)
	few := Gamma{1, 2}
	require.InDelta(t, 1-math.Exp(-1), few.Below(0.5), 1e-9, "exponential")
	require.Zero(t, few.Below(0))
	require.Zero(t, few.Below(-1))
	require.InDelta(t, math.Ln2/2, few.Quantile(0.5), 1e-9)
	require.InDelta(t, 0.5, sure.Quantile(0.1), 0)
	for _, x := range []float64{1e-5, 0.0019, 0.0021, 3} {
		require.InDelta(t, math.Log1p(x/2), few.Hazard(x), 1e-12)
		require.InDelta(t, 1/(1+x/2), few.Survival(x), 1e-12)
	}
}
