package choose

import (
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme/wear"
)

func cotton() lifetime {
	return lifetime{
		parts:  []part{newPart(wear.FromMedian(45, 2.5), 1, true), newPart(wear.FromMedian(50, 3), 2, false)},
		mishap: 0.004, limit: math.Inf(1),
	}
}

func TestTheMeanOfOneWeibullIsItsGammaFunction(t *testing.T) {
	for _, shape := range []float64{0.7, 1, 2.2, 4} {
		w := wear.Weibull{Shape: shape, Scale: 60}
		l := lifetime{parts: []part{newPart(w, 1, true)}, limit: math.Inf(1)}
		e := l.integrate()
		require.InEpsilon(t, distuv.Weibull{K: w.Shape, Lambda: w.Scale}.Mean(), e.mean, 1e-4, "shape %v", shape)
		require.InDelta(t, 1, e.cloth, 1e-9)
	}
}

// Of Weibull lives with one shape k, cause i is first with chance
// scale_i^-k / sum(scale_j^-k): their hazards stay in that ratio for ever.
func TestCausesOfEqualShapeShareByTheirRates(t *testing.T) {
	l := lifetime{parts: []part{newPart(wear.Weibull{Shape: 2, Scale: 30}, 1, true),
		newPart(wear.Weibull{Shape: 2, Scale: 60}, 3, false)}, limit: math.Inf(1)}
	e := l.integrate()
	require.InDelta(t, 4.0/7, e.cloth, 1e-9)
	require.InDelta(t, 3.0/7, e.print, 1e-9)
	require.InEpsilon(t, math.Gamma(1.5)/math.Sqrt(1.0/900+3.0/3600), e.mean, 1e-6)
}

func TestALabelsLimitIsNeverPassed(t *testing.T) {
	l := cotton()
	l.limit = 25
	e := l.integrate()
	require.Less(t, e.mean, 25.0)
	require.InDelta(t, math.Exp(-l.hazard(25)), e.label, 1e-12)
	require.InDelta(t, 1, e.cloth+e.print+e.mishap+e.label, 1e-9)
	b := belief{lifetimes: []weighted{{l, 1}}, pace: 1}
	require.LessOrEqual(t, b.outcome(0).quantiles[2], 25.0+1e-9)
}

// Two hundred thousand lives drawn one by one agree with the integrals.
func TestIntegralsAgreeWithDrawnLives(t *testing.T) {
	l := cotton()
	l.limit = 60
	src := rand.NewPCG(1, 2)
	const n = 200_000
	lives := make([]float64, n)
	var got ends
	for i := range lives {
		x, cause := draw(&l, src)
		lives[i] = x
		got.mean += x / n
		*map[string]*float64{"cloth": &got.cloth, "print": &got.print, "mishap": &got.mishap,
			"label": &got.label}[cause] += 1.0 / n
	}
	want := l.integrate()
	require.InEpsilon(t, want.mean, got.mean, 0.005)
	for _, p := range [][2]float64{{want.cloth, got.cloth}, {want.print, got.print}, {want.mishap, got.mishap},
		{want.label, got.label}} {
		require.InDelta(t, p[0], p[1], 0.005)
	}
	sort.Float64s(lives)
	b := belief{lifetimes: []weighted{{l, 1}}, pace: 1}
	for i, p := range []float64{0.1, 0.5, 0.9} {
		require.InDelta(t, lives[int(p*n)], b.outcome(0).quantiles[i], 0.4)
	}
}

func draw(l *lifetime, src rand.Source) (float64, string) {
	x, cause := l.limit, "label"
	first := func(y float64, c string) {
		if y < x {
			x, cause = y, c
		}
	}
	for _, p := range l.parts {
		for range int(p.number) {
			y := distuv.Weibull{K: p.Shape, Lambda: p.Scale, Src: src}.Rand()
			if p.cloth {
				first(y, "cloth")
			} else {
				first(y, "print")
			}
		}
	}
	first(distuv.Exponential{Rate: l.mishap, Src: src}.Rand(), "mishap")
	return x, cause
}

// A place in a programme is filled for a thousand years: holders come and go,
// each bringing new pieces, and what ends is replaced.
func TestTheLongRunRateAgreesWithALongRun(t *testing.T) {
	l := cotton()
	const pace, leaving, years = 1.25, 0.6, 20_000.0
	b := belief{lifetimes: []weighted{{l, 1}}, pace: pace}
	src := rand.NewPCG(3, 4)
	week, issued := 0.0, 0
	leaves := distuv.Exponential{Rate: leaving / weeksPerYear, Src: src}
	until := leaves.Rand()
	for week < years*weeksPerYear {
		issued++
		x, _ := draw(&l, src)
		if end := week + x/pace; end < until {
			week = end
			continue
		}
		week = until
		until += leaves.Rand()
	}
	require.InEpsilon(t, float64(issued)/years, b.outcome(leaving).perYear, 0.01)
}
