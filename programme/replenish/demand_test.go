package replenish

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// A variance just below the mean asks for a binomial of millions of trials, which
// is Poisson to all digits that matter, and as short.
func TestAVarianceJustBelowTheMeanIsAlmostPoisson(t *testing.T) {
	for _, less := range []float64{1e-8, 3e-7, 1e-5} {
		got, want := fit(33, 33*(1-less)), fit(33, 33)
		require.Less(t, len(got), 1000, "%g", less)
		for n, p := range want {
			require.InDelta(t, p, got[n], 40*less, "%d", n)
		}
	}
}

// The chances have the mean and variance asked for; numbers by hand where trials are whole:
// 6 pieces of variance 3 are 12 trials of a half, and none of them is 2^-12.
func TestFitHasMeanAndVariance(t *testing.T) {
	require.InDelta(t, 1.0/4096, fit(6, 3)[0], 1e-15)
	require.InDelta(t, 924.0/4096, fit(6, 3)[6], 1e-12)
	require.Equal(t, []float64{1}, fit(0, 0))
	require.Equal(t, []float64{0, 0, 0, 1}, fit(3, 0)[:4])
	for _, c := range [][2]float64{{0.3, 0.25}, {2.4, 1.1}, {7, 7}, {7, 20}, {900, 500}, {900, 900}, {900, 2500},
		{2000, 2500}} {
		sum, mean, square := 0.0, 0.0, 0.0
		for n, p := range fit(c[0], c[1]) {
			require.GreaterOrEqual(t, p, 0.0)
			sum, mean, square = sum+p, mean+p*float64(n), square+p*float64(n)*float64(n)
		}
		require.InDelta(t, 1, sum, 1e-8)
		require.InDelta(t, c[0], mean, 1e-6*c[0])
		// A number of trials that is not whole is one of its neighbours by chance: somewhat wider.
		require.InDelta(t, c[1], square-mean*mean, math.Max(0.25, 1e-3*c[1]), "%v", c)
	}
}

// Steady demand has its rate a week, its dispersion times that as variance, and their sums over some weeks.
func TestSteadyDemandHasItsRateAndDispersion(t *testing.T) {
	s := Steady{Rate: 1.5, Dispersion: 2.2}
	for _, weeks := range []int{1, 4, 11} {
		mean, square := 0.0, 0.0
		for n, p := range s.Chances(weeks) {
			mean, square = mean+p*float64(n), square+p*float64(n*n)
		}
		require.InEpsilon(t, 1.5*float64(weeks), mean, 1e-6)
		require.InEpsilon(t, mean, s.Mean(weeks), 1e-6)
		require.InEpsilon(t, 2.2*1.5*float64(weeks), square-mean*mean, 1e-6)
		perPiece, common := s.Excess()
		require.InEpsilon(t, square-mean*mean, Excess{perPiece, common}.variance(mean), 1e-6)
	}
}

// However much is expected, a distribution has no more than so many numbers.
func TestADistributionHasItsBound(t *testing.T) {
	for _, mean := range []float64{mostPieces - 10, 50 * mostPieces} {
		require.Len(t, fit(mean, mean), mostPieces)
		require.Len(t, fit(mean, 1.5*mean), mostPieces)
	}
}
