package demand

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// A few lifetimes stand for many: with the factor that goes with them, pieces of all
// ages are expected to be replaced a second time as often as under the many.
func TestFewLifetimesExpectAsManySecondEndingsAsTheMany(t *testing.T) {
	prior := wear.Posterior{Unit: 45, Nodes: []wear.ShapeNode{{Shape: 1.8, Weight: 0.3,
		Rate: wear.Gamma{Count: 10, Exposure: 10}}, {Shape: 2.6, Weight: 0.7,
		Rate: wear.Gamma{Count: 10, Exposure: 10}}}}
	learnt := &wear.Learnt{Terms: &wear.Terms{Prints: []wear.PrintTerms{{Number: 1}}}, Cloth: prior,
		Prints: []wear.Posterior{prior}, Mishap: wear.Gamma{Count: 10, Exposure: 120}}
	rot, weeks := Rotation{Pace: 1.5}, 16.0
	var sample []sampled
	for age := 1.0; age < 50; age += 7 {
		sample = append(sample, sampled{age: age, Rotation: rot, logAge: math.Log(age),
			logThen: math.Log(age + rot.Pace*weeks)})
	}
	many := product(learnt, byCause{programme.CauseWorn: 10, programme.CausePrint: 10, programme.CauseMishap: 2})
	few, again := drawTogether(many, sample, weeks)
	require.Len(t, few, commonNodes)
	seconds := func(lifetimes []Lifetime, again float64) (sum float64) {
		r := newRenewals(lifetimes, rot, weeks, coarse, &room{})
		for _, p := range sample {
			tails := r.Tails(p.age, weeks)
			for q, l := range lifetimes {
				for _, x := range tails[q*(r.Depth()+1)+2 : (q+1)*(r.Depth()+1)] {
					sum += again * l.Weight * x
				}
			}
		}
		return sum
	}
	all := seconds(many, 1)
	require.InEpsilon(t, all, seconds(few, again), 0.01)
	require.Less(t, seconds(few, 1), 0.98*all, "without the factor")
}

// expectedEndings is the first endings of a sample within some weeks, and the second ones,
// from the formula of Weibull's distribution, piece by piece; what follows an ending is the
// mean of a replacement that begins early and one that begins late in these weeks.
func expectedEndings(l *Lifetime, sample []sampled, weeks float64) (firsts, again float64) {
	ends := func(r Rotation, age, t float64) float64 {
		if r.Limit > 0 && age+r.Pace*t >= r.Limit {
			return 1
		}
		h := l.Mishap * t
		for i, w := range l.Wash {
			h += l.Number[i] * (math.Pow((age+r.Pace*t)/w.Scale, w.Shape) - math.Pow(age/w.Scale, w.Shape))
		}
		return -math.Expm1(-h)
	}
	for _, p := range sample {
		first := ends(p.Rotation, p.age, weeks)
		firsts += first
		again += first * (ends(p.Rotation, 0, 0.211324865*weeks) + ends(p.Rotation, 0, 0.788675135*weeks)) / 2
	}
	return firsts, again
}

// sampleOf is pieces of several ages in rotations of which one has a limit that some of them
// have reached in the end, one to the wash, and one a limit that a replacement reaches late.
func sampleOf(weeks float64) (sample []sampled) {
	for _, r := range []Rotation{{Pace: 1.5}, {Pace: 0.5, Limit: 30}, {Pace: 2, Limit: 2 * 0.788675135 * weeks}} {
		for _, age := range []float64{0, 4, 13, 30 - 0.5*weeks, 29} {
			sample = append(sample, sampled{age: age, Rotation: r, logAge: math.Log(age),
				logThen: math.Log(age + r.Pace*weeks)})
		}
	}
	return sample
}

// many are lifetimes of cloth, two prints and mishaps, each of several parameters.
func many() (out []Lifetime) {
	for i, shape := range []float64{1.4, 2, 3.1} {
		for j, scale := range []float64{22, 31, 40, 65} {
			for k, mishap := range []float64{0.001, 0.02} {
				out = append(out, Lifetime{
					Weight: float64((1+i)*(2+j)*(3-k)) / (6 * 14 * 5), Mishap: mishap, Number: []float64{1, 2},
					Wash: []wear.Weibull{{Shape: shape, Scale: scale}, {Shape: 1.2 + shape/3, Scale: 90 - scale/2}},
				})
			}
		}
	}
	return out
}

// Few lifetimes expect endings that are spread as the many's: in their mean and in its powers as far as
// so few can, by one factor on all rates of each; second endings as many, by the factor told.
func TestFewLifetimesKeepTheSpreadOfEndings(t *testing.T) {
	const weeks = 12.0
	sample, all := sampleOf(weeks), many()
	few, again := drawTogether(many(), sample, weeks)
	require.Len(t, few, commonNodes)
	moments := func(of []Lifetime) (m [8]float64, seconds float64) {
		for i := range of {
			firsts, second := expectedEndings(&of[i], sample, weeks)
			for k := range m {
				m[k] += of[i].Weight * math.Pow(firsts+second, float64(k))
			}
			seconds += of[i].Weight * second
		}
		return m, seconds
	}
	want, seconds := moments(all)
	got, kept := moments(few)
	for k := range want {
		require.InEpsilon(t, want[k], got[k], 1e-6, "power %d", k)
	}
	require.InEpsilon(t, seconds, again*kept, 1e-6)
	before := 0.0
	for i := range few { // each is of those around it
		firsts, second := expectedEndings(&few[i], sample, weeks)
		require.Greater(t, firsts+second, before)
		before = firsts + second
		require.Equal(t, []float64{1, 2}, few[i].Number)
		require.True(t, few[i].Wash[0].Shape > 1.4 && few[i].Wash[0].Shape < 3.1 && few[i].Wash[0].Scale > 15 &&
			few[i].Wash[0].Scale < 90, "%+v", few[i])
	}

	same, again := drawTogether(all[:commonNodes+2], sample, weeks)
	require.Equal(t, all[:commonNodes+2], same, "hardly more than are asked for")
	require.InDelta(t, 1, again, 0)
	seven, _ := drawTogether(all[:commonNodes+3], sample, weeks)
	require.Len(t, seven, commonNodes)
	same, _ = drawTogether(all, nil, weeks)
	require.Equal(t, all, same, "no pieces to go by")
	one, again := drawTogether(make([]Lifetime, 9), sample[:5], weeks)
	require.Len(t, one, 1, "nothing ends")
	require.InDelta(t, 1, again, 0)
}

// One factor on all rates brings the endings to a number, however far away.
func TestRatesAreScaledToANumberOfEndings(t *testing.T) {
	const weeks = 12.0
	sample := sampleOf(weeks)[:4] // without a limit all can last
	for _, wanted := range []float64{1e-4, 0.3, 2, 7.5} {
		l, was := many()[5], many()[5]
		ahead := make(prospects, len(sample))
		l.prospects(ahead, sample, weeks)
		factor := l.scale(ahead, wanted)
		firsts, again := expectedEndings(&l, sample, weeks)
		require.InEpsilon(t, wanted, firsts+again, 1e-7)
		require.InEpsilon(t, factor, l.Mishap/was.Mishap, 1e-12)
		for i, w := range l.Wash {
			require.InEpsilon(t, factor, math.Pow(was.Wash[i].Scale/w.Scale, w.Shape), 1e-12)
		}
	}
	over := []sampled{{age: 20, Rotation: Rotation{Pace: 1, Limit: 1}, logAge: math.Log(20), logThen: math.Log(32)}}
	l, ahead := many()[5], make(prospects, 1)
	l.prospects(ahead, over, weeks)
	require.InDelta(t, 1, l.scale(ahead, 0.5), 0, "what ends for certain is not scaled")
}

// The lifetime in the middle of several has the weighted means of their logarithms, and their
// weight is taken in order.
func TestTheMiddleOfLifetimes(t *testing.T) {
	of := []Lifetime{
		{Mishap: 0.01, Number: []float64{3}, Wash: []wear.Weibull{{Shape: 2, Scale: 10}}},
		{Mishap: 0.03, Number: []float64{3}, Wash: []wear.Weibull{{Shape: 4, Scale: 40}}},
		{Mishap: 9, Number: []float64{3}, Wash: []wear.Weibull{{Shape: 9, Scale: 90}}},
	}
	l := average(of, []int{1, 0, 2}, []float64{0.3, 0.1, 0})
	require.InDelta(t, 0.015, l.Mishap, 1e-12)
	require.InDelta(t, math.Pow(2*2*2*4, 0.25), l.Wash[0].Shape, 1e-12)
	require.InDelta(t, math.Pow(10*10*10*40, 0.25), l.Wash[0].Scale, 1e-12)
	require.Equal(t, []float64{3}, l.Number)

	left := []float64{0.2, 0.5, 0.3}
	require.InDeltaSlice(t, []float64{0.05, 0, 0.3}, take(left, []int{2, 0, 1}, 0.35), 1e-12)
	require.InDeltaSlice(t, []float64{0.15, 0.5, 0}, left, 1e-12)
	require.InDeltaSlice(t, []float64{0.15, 0.1, 0}, take(left, []int{2, 0, 1}, 0.25), 1e-12)
}
