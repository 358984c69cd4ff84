package reorder_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Poisson demand thinned or prolonged is Poisson again, which gives the answer
// by another road.
func TestOtherHorizonsOfPoissonDemandArePoisson(t *testing.T) {
	s := reorder.NewSpread(poissonLine(sku("tee", "M"), 0.8, 10), 10)
	for _, w := range []int{0, 1, 3, 9, 10, 13, 40} {
		got, want := s.At(w), poissonPMF(0.8*float64(w))
		for j := range min(len(got), len(want)) {
			require.InDelta(t, want[j], got[j], 1e-9, "week %d, %d pieces", w, j)
		}
		require.InDelta(t, 0.8*float64(w), s.Mean(w), 1e-9)
	}
}

// A negative binomial is a Poisson of unknown common rate; thinning it gives
// the one of the smaller rate.
func TestThinningKeepsWhatAllPiecesHaveInCommon(t *testing.T) {
	nb := func(mean, r float64) []float64 {
		out := make([]float64, 300)
		for j := range out {
			a, _ := math.Lgamma(r + float64(j))
			b, _ := math.Lgamma(r)
			c, _ := math.Lgamma(float64(j) + 1)
			out[j] = math.Exp(a - b - c + r*math.Log(r/(r+mean)) + float64(j)*math.Log(mean/(r+mean)))
		}
		return out
	}
	line := demand.Line{Distribution: demand.Distribution{Mean: 12, SD: math.Sqrt(12 + 144/3.0), PMF: nb(12, 3)}}
	got := reorder.NewSpread(line, 8).At(2)
	for j, want := range nb(3, 3)[:40] {
		require.InDelta(t, want, got[j], 1e-9)
	}
}

func TestProlongingKeepsMeanAndExcess(t *testing.T) {
	line := demand.Line{Distribution: demand.Distribution{Mean: 4, SD: 3, PMF: poissonPMF(4)}}
	pmf := reorder.NewSpread(line, 4).At(8)
	mean, square := 0.0, 0.0
	for j, p := range pmf {
		mean += p * float64(j)
		square += p * float64(j*j)
	}
	require.InDelta(t, 8, mean, 1e-6)
	require.InDelta(t, 8+2*(9-4), square-mean*mean, 1e-5)
}

func TestThinningNeverLosesAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pmf := drawPMF(t, 60, "pmf")
		mean := reorder.NewShortage(pmf).Mean()
		line := demand.Line{Distribution: demand.Distribution{Mean: mean, PMF: pmf}}
		if mean == 0 {
			return
		}
		got := reorder.NewSpread(line, 1000).At(rapid.IntRange(0, 1000).Draw(t, "week"))
		sum := 0.0
		for _, p := range got {
			require.GreaterOrEqual(t, p, 0.0)
			sum += p
		}
		require.InDelta(t, 1, sum, 1e-9)
	})
}

// The more there is, the later the next order, never past a lapse of the
// forecast.
func TestMoreStockIsNeverDueSooner(t *testing.T) {
	last := programme.Date(0)
	for stock := range 12 {
		_, d := reorder.Propose(anInput(stocked(sku("tee", "M"), 0.5, stock)))
		require.GreaterOrEqual(t, d.NextDue, last)
		last = d.NextDue
	}
	require.Greater(t, last, monday.Add(70))
}

// The clothing on order that comes too late does not put off the trigger.
func TestPiecesThatComeTooLateDoNotCount(t *testing.T) {
	l := stocked(sku("tee", "M"), 1, 2)
	l.OnOrderLater = 20
	p, d := reorder.Propose(anInput(l))
	require.False(t, d.Due, "the order on its way fills the need, only late")
	require.Nil(t, p)
	require.Less(t, d.Fill, 0.95, "and the owner is told how short it will be")
	require.Equal(t, reorder.ShortestLine, d.Reasons[len(d.Reasons)-1].Kind)
}

// A trigger derived from the long horizon agrees with the one computed for it.
func TestOneMusterIsEnoughForBothHorizons(t *testing.T) {
	for _, onHand := range []int{0, 1, 2, 3, 5, 8} {
		l := stocked(sku("tee", "M"), 0.6, onHand)
		_, both := reorder.Propose(anInput(l))
		l.Trigger = demand.Line{}
		_, one := reorder.Propose(anInput(l))
		require.InDelta(t, both.Fill, one.Fill, 1e-9)
		require.Equal(t, both.Due, one.Due)
	}
}

// A quantile within the horizon is found without the whole distribution, and is the
// one that the distribution has.
func TestQuantilesAreThoseOfTheDistribution(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pmf := demand.CompoundPoisson(rapid.Float64Range(0.01, 300).Draw(t, "needs"), []float64{0.7, 0.2, 0.1}, 900)
		line := demand.Line{Distribution: demand.Describe(pmf)}
		for range 13 {
			line.Weekly = append(line.Weekly, rapid.Float64Range(0, 9).Draw(t, "week"))
		}
		s := reorder.NewSpread(line, 13)
		w := rapid.IntRange(0, 15).Draw(t, "weeks")
		for _, p := range []float64{0.1, 0.5, 0.9} {
			require.Equal(t, demand.Quantile(s.At(w), p), s.Quantile(w, p), "%g", p)
		}
	})
}
