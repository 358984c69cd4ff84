package quadrature_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/quadrature"
)

func moment(rule []quadrature.Node, k float64) float64 {
	s := 0.0
	for _, n := range rule {
		s += n.Weight * math.Pow(n.At, k)
	}
	return s
}

func TestRulesKeepTheMomentsOfTheirDistributions(t *testing.T) {
	for k := 0.0; k <= 7; k++ {
		// Rising factorials: E[x^k] of Gamma(a, 1), and their ratio for Beta(a, b).
		rising := func(a float64) float64 {
			p := 1.0
			for i := 0.0; i < k; i++ {
				p *= a + i
			}
			return p
		}
		require.InEpsilon(t, rising(0.7), moment(quadrature.Gamma(0.7, 1, 4), k), 1e-12)
		require.InEpsilon(t, rising(12), moment(quadrature.Gamma(12, 1, 4), k), 1e-12)
		require.InEpsilon(t, rising(2)/rising(5), moment(quadrature.Beta(2, 3, 4), k), 1e-12)
		require.InEpsilon(t, rising(0.5)/rising(1), moment(quadrature.Beta(0.5, 0.5, 4), k), 1e-12)
		require.InEpsilon(t, 1/(k+1), moment(quadrature.Legendre(4), k), 1e-12)
	}
	require.InDelta(t, 3, moment(quadrature.Normal(5), 4), 1e-12)
	require.InDelta(t, 105, moment(quadrature.Normal(5), 8), 1e-10)
}

func TestRulesStayFiniteForAMillionEndings(t *testing.T) {
	rule := quadrature.Gamma(1e6, 1e6, 24)
	require.InDelta(t, 1, moment(rule, 0), 1e-12)
	require.InDelta(t, 1, moment(rule, 1), 1e-10)
	require.InDelta(t, 1e-6, moment(rule, 2)-math.Pow(moment(rule, 1), 2), 1e-9)
}

func TestCompressKeepsMoments(t *testing.T) {
	dist := []quadrature.Node{{At: -1, Weight: 0.1}, {At: -0.2, Weight: 0.3}, {At: 0.1, Weight: 0.25},
		{At: 0.6, Weight: 0.2}, {At: 1.4, Weight: 0.15}}
	few := quadrature.Compress(dist, 2)
	require.Len(t, few, 2)
	for k := range 4 {
		var want, got float64
		for _, n := range dist {
			want += n.Weight * math.Pow(n.At, float64(k))
		}
		for _, n := range few {
			got += n.Weight * math.Pow(n.At, float64(k))
		}
		require.InDelta(t, want, got, 1e-12)
	}
}
