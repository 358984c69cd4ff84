package exponent_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme/exponent"
)

// Package math is the other road.
func TestTheyAreThoseOfPackageMath(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(-709, 709).Draw(t, "x")
		require.InEpsilon(t, math.Exp(x), exponent.Of(x), 5e-16)
		y := math.Exp(rapid.Float64Range(-600, 600).Draw(t, "log"))
		want := math.Log(y)
		require.InDelta(t, want, exponent.Log(y), 5e-16*max(1, math.Abs(want)))
		small := math.Exp(rapid.Float64Range(-40, 6).Draw(t, "small"))
		require.InEpsilon(t, math.Log1p(small), exponent.Log1p(small), 5e-14)
		require.InEpsilon(t, math.Expm1(small), exponent.Expm1(small), 5e-14)
		require.InEpsilon(t, math.Expm1(-small), exponent.Expm1(-small), 5e-14)
		near := 1 + rapid.Float64Range(-0.02, 0.02).Draw(t, "near")
		require.InDelta(t, math.Log(near), exponent.Log(near), 5e-16)
	})
	for i := -40_000; i < 40_000; i++ {
		x := float64(i) / 977
		if !(math.Abs(exponent.Of(x)/math.Exp(x)-1) < 5e-16) {
			t.Fatal(x, exponent.Of(x), math.Exp(x))
		}
	}
}

func TestEndsOfTheirRange(t *testing.T) {
	require.InDelta(t, 1, exponent.Of(0), 0)
	require.Zero(t, exponent.Log(1))
	require.Zero(t, exponent.Of(math.Inf(-1)))
	require.Zero(t, exponent.Expm1(0))
	require.InDelta(t, -1, exponent.Expm1(math.Inf(-1)), 0)
	require.True(t, math.IsInf(exponent.Expm1(1000), 1))
	require.True(t, math.IsNaN(exponent.Expm1(math.NaN())))
	require.Zero(t, exponent.Log1p(0))
	require.True(t, math.IsInf(exponent.Log1p(math.Inf(1)), 1))
	require.True(t, math.IsNaN(exponent.Log1p(math.NaN())))
	require.True(t, math.IsInf(exponent.Of(1000), 1))
	require.InDelta(t, math.Exp(-740), exponent.Of(-740), 0)
	require.True(t, math.IsInf(exponent.Log(0), -1))
	require.True(t, math.IsInf(exponent.Log(math.Inf(1)), 1))
	require.True(t, math.IsNaN(exponent.Log(-1)))
	require.True(t, math.IsNaN(exponent.Of(math.NaN())))
	require.True(t, math.IsNaN(exponent.Log(math.NaN())))
	require.InDelta(t, math.Log(5e-320), exponent.Log(5e-320), 0)
	require.InEpsilon(t, 32, exponent.Raise(2, 5), 1e-15)
}

var sink float64

func BenchmarkOf(b *testing.B) {
	for i := range b.N {
		sink += exponent.Of(-0.3 + float64(i&1023)/700)
	}
}

func BenchmarkLog(b *testing.B) {
	for i := range b.N {
		sink += exponent.Log(0.3 + float64(i&1023)/700)
	}
}

func BenchmarkMathExp(b *testing.B) {
	for i := range b.N {
		sink += math.Exp(-0.3 + float64(i&1023)/700)
	}
}

func BenchmarkMathLog(b *testing.B) {
	for i := range b.N {
		sink += math.Log(0.3 + float64(i&1023)/700)
	}
}

func BenchmarkExpm1(b *testing.B) {
	for i := range b.N {
		sink += exponent.Expm1(-0.3 + float64(i&1023)/700)
	}
}

func BenchmarkMathExpm1(b *testing.B) {
	for i := range b.N {
		sink += math.Expm1(-0.3 + float64(i&1023)/700)
	}
}

func BenchmarkLog1p(b *testing.B) {
	for i := range b.N {
		sink += exponent.Log1p(float64(i&1023) / 700)
	}
}

func BenchmarkMathLog1p(b *testing.B) {
	for i := range b.N {
		sink += math.Log1p(float64(i&1023) / 700)
	}
}
