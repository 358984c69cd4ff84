package demand

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/quadrature"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// The hazards of two lifetimes, each with cloth and two prints, by their definition.
func TestHazardsOfManyLifetimesAreEachTheirOwn(t *testing.T) {
	lifetimes := []Lifetime{
		{Weight: 0.3, Wash: []wear.Weibull{{Shape: 2, Scale: 60}, {Shape: 3, Scale: 80}}, Number: []float64{1, 2},
			Mishap: 0.01},
		{Weight: 0.7, Wash: []wear.Weibull{{Shape: 2, Scale: 45}, {Shape: 2.5, Scale: 70}}, Number: []float64{1, 2},
			Mishap: 0.02},
	}
	const pace = 3.0
	h := newHazards(lifetimes, Rotation{Pace: pace})
	cumulative := func(q int, x float64) (sum float64) {
		for i, w := range lifetimes[q].Wash {
			sum += lifetimes[q].Number[i] * math.Pow(x/w.Scale, w.Shape)
		}
		return sum
	}
	for _, from := range []float64{0, 12, 30} {
		for _, to := range []float64{35, 60} {
			h.since(from)
			h.raise(to, h.now)
			weeks := (to - from) / pace
			for q := range lifetimes {
				want := cumulative(q, to) - cumulative(q, from) + lifetimes[q].Mishap*weeks
				require.InDelta(t, want, h.hazard(q, weeks), 1e-9)
				const d = 1e-4
				rate := pace*(cumulative(q, to+d)-cumulative(q, to-d))/(2*d) + lifetimes[q].Mishap
				require.InDelta(t, rate*math.Exp(-want), h.endingAt(q, weeks, to), 1e-6)
			}
		}
	}
	for q, f := range h.before(11) {
		require.InDelta(t, 1-math.Exp(-cumulative(q, 33)-11*lifetimes[q].Mishap), f, 1e-9)
	}
	require.Equal(t, []float64{0, 0}, h.before(0))
	heavy := lifetimes[1]
	rate := heavy.Mishap + pace/45 + pace/70*math.Pow(2, 1/2.5)
	require.InDelta(t, 1/rate, h.typicalLife(), 1e-9, "of the heavier")
	require.True(t, math.IsInf((&hazards{lifetimes: []Lifetime{{Weight: 1}}}).typicalLife(), 1))
	require.InDelta(t, 4, Rotation{Pace: 2.5, Limit: 30}.limitAfter(20), 1e-12)
	require.Zero(t, Rotation{Pace: 2.5, Limit: 30}.limitAfter(31))
	require.True(t, math.IsInf(Rotation{Pace: 2.5}.limitAfter(20), 1))
}

// How many points a rule gets goes by its share of what matters: cloth, prints and mishaps by
// the square of what they end over what is known of them.
func TestWhatMattersMoreGetsMorePoints(t *testing.T) {
	for share, want := range map[float64]int{0: 7, 0.0099: 7, 0.01: 2, 0.0999: 2, 0.1: 3, 0.799: 3, 0.8: 4, 1: 4} {
		require.Equal(t, want, points(share, 7, 2, 3, 4), "%g", share)
	}
	post := func(count float64) wear.Posterior {
		return wear.Posterior{Unit: 50, Nodes: []wear.ShapeNode{{Shape: 2, Weight: 0.25,
			Rate: wear.Gamma{Count: count - 3, Exposure: 1}}, {Shape: 3, Weight: 0.75,
			Rate: wear.Gamma{Count: count + 1, Exposure: 1}}}}
	}
	k := &wear.Learnt{Cloth: post(10), Prints: []wear.Posterior{post(20), post(5)},
		Mishap: wear.Gamma{Count: 8, Exposure: 20}}
	require.InDelta(t, 10, count(k.Cloth), 1e-12)
	got := influence(k, byCause{programme.CauseWorn: 4, programme.CausePrint: 6, programme.CauseMishap: 2})
	parts := []float64{16.0 / 10, 9.0 / 20, 9.0 / 5, 4.0 / 8}
	sum := parts[0] + parts[1] + parts[2] + parts[3]
	for i, p := range parts {
		require.InDelta(t, p/sum, got[i], 1e-12)
	}
}

// Who stays, and when the others leave: the chances sum to 1, and so does the mean of the time there.
func TestHowLongPeopleStay(t *testing.T) {
	s := &Staffing{Leaving: wear.Certain(2)}
	const weeks, rate = 26.0, 2 / (365.2425 / 7)
	stay := s.stays(weeks)[false]
	require.Len(t, stay.moments, 3)
	require.Equal(t, quadrature.Node{At: weeks, Weight: stay.moments[0].Weight}, stay.moments[0])
	require.InDelta(t, math.Exp(-rate*weeks), stay.moments[0].Weight, 1e-9)
	sum, mean := 0.0, 0.0
	for _, m := range stay.moments {
		sum, mean = sum+m.Weight, mean+m.Weight*m.At
	}
	require.InDelta(t, 1, sum, 1e-9)
	require.InDelta(t, (1-math.Exp(-rate*weeks))/rate, mean, 0.02)
	require.Len(t, (&Staffing{Leaving: wear.Certain(0.05)}).stays(weeks)[false].moments, 2,
		"one moment where hardly anybody leaves")
	require.Equal(t, []quadrature.Node{{At: weeks, Weight: 1}},
		(&Staffing{Leaving: wear.Certain(1e-9)}).stays(weeks)[true].moments)
	require.Equal(t, [2]int{1, 2}, [2]int{leaveNodes(0.0499), leaveNodes(0.05)})
	s.Resizing = wear.Certain(1)
	both := s.stays(weeks)
	require.Equal(t, stay, both[false])
	require.InDelta(t, math.Exp(-1.5*rate*weeks), both[true].moments[0].Weight, 1e-9)
	// A sum of rates: means and variances add up.
	sum2 := (&Staffing{Leaving: wear.Gamma{Count: 6, Exposure: 10},
		Resizing: wear.Gamma{Count: 1, Exposure: 8}}).stopping()
	require.InDelta(t, 0.6+0.125, sum2.Mean(), 1e-12)
	require.InDelta(t, 6./100+1./64, sum2.Count/sum2.Exposure/sum2.Exposure, 1e-12)
}
