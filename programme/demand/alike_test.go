package demand

import (
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
)

// counted returns the PMF of the endings of pieces that are given by their tails.
func counted(tails [][]float64, depth int) []float64 {
	c := counter{}
	return c.pieces(tails, 0, depth)
}

// Alike pieces with a chance of one ending each are binomial, as gonum's is.
func TestManyAlikePiecesAreBinomial(t *testing.T) {
	for _, n := range []int{2, manyAlike, 100, 5_000} {
		one := []float64{1, 0.03}
		tails := make([][]float64, n)
		for i := range tails {
			tails[i] = one
		}
		want := distuv.Binomial{N: float64(n), P: 0.03}
		got := counted(tails, 2)
		sum := 0.0
		for k, p := range got {
			require.InDelta(t, want.Prob(float64(k)), p, 1e-11, "%d of %d", k, n)
			sum += p
		}
		require.InDelta(t, 1, sum, 1e-9)
	}
}

// Counted together or one by one, pieces of several ages that end more than once
// have the same distribution.
func TestAlikePiecesAreCountedAsOneByOne(t *testing.T) {
	kinds := [][]float64{{1, 0.4, 0.1, 0.01}, {1, 0.7, 0.2, 0.05}, {1, 0.05, 0.001, 1e-15}}
	var together, apart [][]float64
	for i, n := range []int{40, 3, 100, 1, 17} {
		kind := kinds[i%3]
		for range n {
			together = append(together, kind)
			apart = append(apart, append([]float64(nil), kind...)) // equal, but not known to be
		}
	}
	_, alike := heapsOf(together, 0, 4)
	require.True(t, alike)
	_, alike = heapsOf(apart, 0, 4)
	require.False(t, alike)
	want, got := counted(apart, 4), counted(together, 4)
	for k := range max(len(want), len(got)) {
		at := func(f []float64) float64 {
			if k < len(f) {
				return f[k]
			}
			return 0
		}
		require.InDelta(t, at(want), at(got), 1e-12, "%d endings", k)
	}
}

// Noise that makes a sum wider keeps its mean and adds its variance, on both sides
// of the mean from which it is worked out another way.
func TestWideningKeepsTheMean(t *testing.T) {
	for _, variance := range []float64{50, 2*largeMean - 1, 2*largeMean + 1, 1e6} {
		f := certainly(100_000).widened(variance)
		d := f.describe()
		require.InDelta(t, 100_000, d.Mean, 1e-6*variance)
		require.InEpsilon(t, variance, d.SD*d.SD, 1e-6)
	}
	p := poisson(1e4)
	for _, n := range []int{9_700, 10_000, 10_321} {
		require.InEpsilon(t, distuv.Poisson{Lambda: 1e4}.Prob(float64(n)), p.p[n-p.lo], 1e-8)
	}
}
