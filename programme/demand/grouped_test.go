package demand

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
)

// Pieces of hires who come in groups, by adding up all numbers of groups, all sizes of each and
// all numbers of pieces that so many people take.
func TestPiecesOfGroupsAreAddedUp(t *testing.T) {
	for _, c := range []struct {
		expected, m float64
		one         []float64
	}{
		{0.8, 1.5, []float64{0.3, 0.5, 0.2}}, {1.7, 4, []float64{0.9, 0, 0.1}}, {2.4, 1, []float64{0, 1}},
		{0.3, 7, []float64{0, 0.25, 0.25, 0.5}},
	} {
		group, of := map[int]float64{}, certainly(0)
		for people, chance := 1, 1/c.m; chance > 1e-13; people, chance = people+1, chance*(1-1/c.m) {
			of = of.plus(pmf{0, c.one})
			of.each(func(n int, p float64) { group[n] += chance * p })
		}
		most := 0
		for n := range group {
			most = max(most, n)
		}
		sizes := make([]float64, most+1)
		for n, p := range group {
			sizes[n] = p
		}
		groups, sum := distuv.Poisson{Lambda: c.expected / c.m}, map[int]float64{}
		all := certainly(0)
		for n := range 30 {
			all.each(func(k int, p float64) { sum[k] += groups.Prob(float64(n)) * p })
			all = all.plus(pmf{0, sizes})
		}
		got := grouped(c.expected, c.m, c.one)
		total := 0.0
		got.each(func(n int, p float64) {
			require.InDelta(t, sum[n], p, 1e-7, "%+v: %d pieces", c, n)
			total += p
		})
		require.InDelta(t, 1, total, 1e-7)
	}
	require.Equal(t, certainly(0), grouped(3, 2, []float64{1}), "nobody takes any")
}

// The chances of jumps are in proportion, whatever they add up to, and so many numbers are
// reckoned that hardly a chance lies beyond.
func TestJumpsAreInProportion(t *testing.T) {
	sizes := []float64{0.5, 0.2, 0, 0.2, 0, 0, 0, 0, 0, 0.1}
	for _, lambda := range []float64{0.02, 1, 30} {
		for _, times := range []float64{0.01, 1, 50} {
			scaled := make([]float64, len(sizes))
			for i, p := range sizes {
				scaled[i] = p * times
			}
			d := compound(lambda, scaled).describe()
			require.InEpsilon(t, lambda*2.7, d.Mean, 1e-9, "%g, times %g", lambda, times)
			require.InEpsilon(t, math.Sqrt(lambda*14.5), d.SD, 1e-8, "%g, times %g", lambda, times)
		}
	}
	require.Equal(t, certainly(0), compound(1, []float64{0, 0}))
	require.Equal(t, certainly(0), compound(0, sizes))
}

// Of new pieces each ends, and is replaced, with one chance: binomial, as gonum's is.
func TestNewPiecesThatEnd(t *testing.T) {
	for _, chance := range []float64{0.001, 0.2, 0.7} {
		f := pmf{2, []float64{0.25, 0, 0.45, 0.3}}
		got := f.withEndings(chance)
		want := map[int]float64{}
		f.each(func(n int, p float64) {
			for k := range n + 1 {
				want[n+k] += p * distuv.Binomial{N: float64(n), P: chance}.Prob(float64(k))
			}
		})
		requireSame(t, want, got)
	}
	large := certainly(2000).withEndings(0.3).describe()
	require.InEpsilon(t, 2600, large.Mean, 1e-9)
	require.InEpsilon(t, math.Sqrt(2000*0.3*0.7), large.SD, 1e-9)
	require.InDelta(t, math.Pow(0.7, 9), binomial(9, 0, 0.3), 1e-14)
	require.InDelta(t, 84*0.027*math.Pow(0.7, 6), binomial(9, 3, 0.3), 1e-13)

	require.Equal(t, pmf{6, []float64{0.5, 0, 0, 0.25, 0, 0, 0.25}}, pmf{2, []float64{0.5, 0.25, 0.25}}.stretched(3))
}
