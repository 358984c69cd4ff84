package wear_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme/wear"
)

// bruteForce is the posterior on a dense grid in (log shape, log scale),
// written down from the model and nothing else.
type bruteForce struct{ shape, scale, weight []float64 }

func newBruteForce(p wear.Prior, obs []wear.Observation) bruteForce {
	var b bruteForce
	top := math.Inf(-1)
	spread := math.Sqrt(6) / math.Pi / math.Sqrt(p.Strength)
	for i := -150; i <= 150; i++ {
		z := float64(i) / 25
		k := p.Shape * math.Exp(z*spread)
		for j := -300; j <= 300; j++ {
			scale := p.Scale * math.Exp(float64(j)*0.006)
			rate := math.Pow(scale/p.Scale, -k)
			// Gamma(s, s) in the rate; the grid is even in log scale, so d log rate = k d log scale.
			v := -z*z/2 + p.Strength*math.Log(rate) - p.Strength*rate + math.Log(k)
			for _, o := range obs {
				v += o.Count * averageOver(o.Blur,
					func(factor float64) float64 { return logLikelihood(o, k, scale/factor) })
			}
			b.shape, b.scale, b.weight = append(b.shape, k), append(b.scale, scale), append(b.weight, v)
			top = max(top, v)
		}
	}
	sum := 0.0
	for i := range b.weight {
		b.weight[i] = math.Exp(b.weight[i] - top)
		sum += b.weight[i]
	}
	for i := range b.weight {
		b.weight[i] /= sum
	}
	return b
}

func logLikelihood(o wear.Observation, k, scale float64) float64 {
	h := func(x float64) float64 { return math.Pow(x/scale, k) }
	l := h(o.Entry) - h(o.Exit)
	switch o.Kind {
	case wear.Exact:
		l += math.Log(k/o.Exit*h(o.Exit) + o.Other)
	case wear.Interval:
		l += math.Log(-math.Expm1(h(o.Exit) - h(o.Upper) - o.Other))
	case wear.Right:
	}
	return l
}

// averageOver sums f over a log-normal factor on ages, of which half the variance of the logarithm is blur.
func averageOver(blur float64, f func(factor float64) float64) float64 {
	if blur == 0 {
		return f(1)
	}
	sum, all := 0.0, 0.0
	for z := -4.5; z <= 4.5; z += 0.75 {
		w := math.Exp(-z * z / 2)
		sum, all = sum+w*f(math.Exp(z*math.Sqrt(2*blur))), all+w
	}
	return sum / all
}

// survival is the predictive chance of a piece alive at entry washes to last until x.
func survival(p wear.Posterior, x, entry float64) float64 {
	e := p.Entered()
	e.Enter(entry)
	return math.Exp(-e.HazardOf(1, x))
}

func (b bruteForce) survival(x, entry float64) float64 {
	s := 0.0
	for i, w := range b.weight {
		s += w * math.Exp(math.Pow(entry/b.scale[i], b.shape[i])-math.Pow(x/b.scale[i], b.shape[i]))
	}
	return s
}

func TestThePosteriorEqualsADenseGrid(t *testing.T) {
	prior := wear.Prior{Weibull: wear.FromMedian(45, 2.5), Strength: 10}
	plain := []wear.Observation{
		{Kind: wear.Exact, Exit: 31, Count: 2}, {Kind: wear.Exact, Exit: 44, Count: 1},
		{Kind: wear.Exact, Entry: 12, Exit: 27, Count: 3},
		{Exit: 20, Count: 12}, {Entry: 5, Exit: 38, Count: 6}, {Exit: 52, Count: 2},
	}
	mixed := append([]wear.Observation{
		{Kind: wear.Interval, Exit: 10, Upper: 36, Count: 4}, {Kind: wear.Interval, Entry: 3, Exit: 22, Upper: 40,
			Count: 2, Other: 0.3},
		{Kind: wear.Exact, Exit: 33, Count: 3, Other: 0.01}, {Kind: wear.Interval, Exit: 0, Upper: 25, Count: 1,
			Other: 0.1},
	}, plain...)
	unsure := slices.Clone(plain)
	for i := range unsure[1:] {
		unsure[1+i].Blur = 0.01 * float64(1+i)
	}
	for name, c := range map[string]struct {
		obs   []wear.Observation
		delta float64
	}{"of people who may wear harder": {unsure, 1e-4}, "exact and censored": {plain, 1e-4},
		"intervals and shared endings": {mixed, 2e-4}, "nothing yet": {nil, 1e-4}} {
		t.Run(name, func(t *testing.T) {
			post, err := wear.Learn(prior, c.obs)
			require.NoError(t, err)
			want := newBruteForce(prior, c.obs)
			for _, x := range [][2]float64{{20, 0}, {45, 0}, {70, 0}, {30, 20}, {50, 40}, {90, 60}} {
				require.InDelta(t, want.survival(x[0], x[1]), survival(post, x[0], x[1]), c.delta, "%v", x)
			}
			below := 0.0
			for i, w := range want.weight {
				if want.scale[i]*math.Pow(math.Ln2, 1/want.shape[i]) <= 43 {
					below += w
				}
			}
			require.InDelta(t, below, post.MedianBelow(43), 6e-3, "the dense grid itself is stepped here")
			require.InDelta(t, 0.5, post.MedianBelow(post.MedianQuantile(0.5)), 1e-9)
			for _, x := range []float64{20, 45, 60} {
				s := 0.0
				for _, n := range post.Parameters(3, 5) {
					s += n.Weight * math.Exp(-n.Hazard(x))
				}
				require.InDelta(t, survival(post, x, 0), s, 1e-3)
			}
		})
	}
}

func TestAMillionPiecesOverflowNothing(t *testing.T) {
	prior := wear.Prior{Weibull: wear.FromMedian(45, 2.5), Strength: 10}
	truth := wear.Weibull{Shape: 2.2, Scale: 62}
	rng := rand.New(rand.NewPCG(7, 7))
	var obs []wear.Observation
	for range 2000 {
		x := truth.Scale * math.Pow(rng.ExpFloat64(), 1/truth.Shape)
		o := wear.Observation{Kind: wear.Exact, Exit: x, Count: 500}
		if x > 70 {
			o.Kind, o.Exit = wear.Right, 70
		}
		obs = append(obs, o)
	}
	fit, err := wear.FitWeibull(obs)
	require.NoError(t, err)
	post, err := wear.Learn(prior, obs)
	require.NoError(t, err)
	typical := post.Typical()
	require.InEpsilon(t, fit.Shape, typical.Shape, 1e-4)
	require.InEpsilon(t, fit.Scale, typical.Scale, 1e-4)
	spread := math.Log(post.MedianQuantile(0.9) / post.MedianQuantile(0.1))
	require.Greater(t, spread, 0.0)
	require.Less(t, spread, 0.01)
	sum := 0.0
	for _, n := range post.Parameters(3, 8) {
		require.False(t, math.IsNaN(n.Weight+n.Scale+n.Shape))
		sum += n.Weight
	}
	require.InDelta(t, 1, sum, 1e-9)
}

func TestANarrowIntervalIsAnExactEnding(t *testing.T) {
	prior := wear.Prior{Weibull: wear.FromMedian(45, 2.5), Strength: 10}
	exact, err := wear.Learn(prior, []wear.Observation{{Kind: wear.Exact, Exit: 30, Count: 8}, {Exit: 25, Count: 10}})
	require.NoError(t, err)
	narrow, err := wear.Learn(prior, []wear.Observation{{Kind: wear.Interval, Exit: 29.99, Upper: 30.01, Count: 8},
		{Exit: 25, Count: 10}})
	require.NoError(t, err)
	for _, x := range []float64{15, 30, 45, 60} {
		require.InDelta(t, survival(exact, x, 0), survival(narrow, x, 0), 1e-4)
	}
}

func drawObservations(t *rapid.T) []wear.Observation {
	return rapid.SliceOfN(rapid.Custom(func(t *rapid.T) wear.Observation {
		o := wear.Observation{Kind: wear.Kind(rapid.IntRange(0, 2).Draw(t, "kind")),
			Count: float64(rapid.IntRange(1, 50).Draw(t, "count"))}
		o.Entry = rapid.Float64Range(0, 60).Draw(t, "entry")
		o.Exit = o.Entry + rapid.Float64Range(0.01, 90).Draw(t, "life")
		o.Upper = o.Exit + rapid.Float64Range(0.01, 60).Draw(t, "gap")
		if rapid.Bool().Draw(t, "shared") {
			o.Other = rapid.Float64Range(0, 3).Draw(t, "other")
		}
		return o
	}), 0, 25).Draw(t, "observations")
}

func TestSurvivalNeverRisesAndStaysAChance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		prior := wear.Prior{
			Weibull: wear.FromMedian(rapid.Float64Range(10, 120).Draw(t, "median"),
				rapid.Float64Range(1, 5).Draw(t, "shape")),
			Strength: rapid.Float64Range(1, 40).Draw(t, "strength"),
		}
		post, err := wear.Learn(prior, drawObservations(t))
		require.NoError(t, err)
		entry := rapid.Float64Range(0, 80).Draw(t, "age")
		last := 1.0
		for x := entry; x < entry+150; x += 3 {
			s := survival(post, x, entry)
			require.False(t, s > last+1e-12 || s < 0 || math.IsNaN(s), "survival %g after %g at %g", s, last, x)
			last = s
		}
		require.LessOrEqual(t, post.MedianQuantile(0.1), post.MedianQuantile(0.9))
	})
}

// More of the same evidence makes what is known narrower.
func TestTheSameEvidenceTwiceNarrowsThePosterior(t *testing.T) {
	prior := wear.Prior{Weibull: wear.FromMedian(45, 2.5), Strength: 10}
	rng := rand.New(rand.NewPCG(3, 1))
	spread := func(n int) float64 {
		total := 0.0
		for range 40 {
			truth := wear.Weibull{Shape: 2.5, Scale: prior.Scale * math.Pow(rng.ExpFloat64()*0.3+0.8, 1)}
			var obs []wear.Observation
			for range n {
				obs = append(obs, wear.Observation{Kind: wear.Exact,
					Exit: truth.Scale*math.Pow(rng.ExpFloat64(), 1/truth.Shape) + 0.01, Count: 1})
			}
			post, err := wear.Learn(prior, obs)
			require.NoError(t, err)
			total += math.Log(post.MedianQuantile(0.9) / post.MedianQuantile(0.1))
		}
		return total / 40
	}
	last := math.Inf(1)
	for _, n := range []int{0, 5, 20, 80, 320} {
		s := spread(n)
		require.Less(t, s, last, "%d endings", n)
		last = s
	}
}

// Records that hardly can be, such as a print that lasts ten times as long as any
// should, drive the search to shapes where an age to the power of the shape is no
// number any more.
func TestRecordsThatHardlyCanBeAreLearntFrom(t *testing.T) {
	first := []wear.Observation{
		{Kind: wear.Interval, Exit: 0, Upper: 0.01}, {Kind: wear.Interval, Exit: 0.01, Upper: 0.02},
		{Kind: wear.Interval, Exit: 60, Upper: 60.01}, {Kind: wear.Interval, Exit: 149, Upper: 149.01},
		{Kind: wear.Exact, Exit: 0.01}, {Kind: wear.Exact, Exit: 0.01, Other: 1e-3},
	}
	second := []wear.Observation{
		{Kind: wear.Exact, Exit: 100, Count: 50}, {Kind: wear.Exact, Exit: 0.02, Count: 50},
		{Kind: wear.Interval, Entry: 60, Exit: 60.01, Upper: 60.03, Count: 50},
	}
	for _, median := range []float64{10, 120} {
		for _, shape := range []float64{1, 5} {
			for _, strength := range []float64{1, 40} {
				for _, a := range first {
					for _, b := range second {
						for _, a.Count = range []float64{1, 50} {
							post, err := wear.Learn(wear.Prior{Weibull: wear.FromMedian(median, shape),
								Strength: strength}, []wear.Observation{a, b})
							require.NoError(t, err)
							m := post.MedianQuantile(0.5)
							require.True(t, m > 0 && !math.IsInf(m, 1), "a median of %g by %+v and %+v", m, a, b)
						}
					}
				}
			}
		}
	}
}
