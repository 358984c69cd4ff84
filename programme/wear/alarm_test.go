package wear_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// The likelihood ratio in closed form against the integral over the common factor.
func TestTheWeightOfASuspicionIsTheRatioOfIntegratedLikelihoods(t *testing.T) {
	const e, x, others, expected, s = 9, 3.5, 20, 24.0, 10
	prior := distuv.Gamma{Alpha: s, Beta: s}
	likelihood := func(f float64) float64 {
		return quad.Fixed(func(r float64) float64 {
			return prior.Prob(r) * distuv.Poisson{Lambda: r * expected}.Prob(others) * distuv.Poisson{Lambda: f * r * x}.Prob(e)
		}, 0, 6, 400, nil, 0)
	}
	sum := 0.0
	for _, f := range []float64{1.7, 3, 5} {
		sum += likelihood(f) / 3
	}
	require.InDelta(t, math.Log(sum/likelihood(1)), wear.WeightOf(e, x, e+others, x+expected, s), 1e-9)
}

// Where nothing is wrong the ratio is 1 on average, so that it reaches c with a
// chance of 1/c at most; from this the weight of an alarm follows.
func TestTheRatioIsOneOnAverageWhereNothingIsWrong(t *testing.T) {
	const x, expected, s = 3, 24, 10
	log := func(n float64) float64 { v, _ := math.Lgamma(n); return v }
	sum, high := 0.0, 0.0
	for e := range 400 {
		for others := range 400 {
			e, o := float64(e), float64(others)
			chance := math.Exp(e*math.Log(x) + o*math.Log(expected) - log(e+1) - log(o+1) +
				s*math.Log(s) + log(s+e+o) - log(s) - (s+e+o)*math.Log(s+x+expected))
			w := wear.WeightOf(e, x, e+o, x+expected, s)
			if sum += chance * math.Exp(w); w > math.Log(20) {
				high += chance
			}
		}
	}
	require.InDelta(t, 1, sum, 1e-6)
	require.Less(t, high, 1.0/20)
	require.InDelta(t, math.Log(13.0), wear.AlarmAt(1), 0.01, "13 steps a year, one alarm")
}

func TestABadDeliveryAndAHarsherLaundryAreToldApart(t *testing.T) {
	shop, client := smallShop()
	client.Roles[0].Kit[0].Each = 1
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	const asOf = 400
	// Everybody wears a tee at a time; lives are as the prior says, but for those that
	// factor shortens. The logarithms of people's paces have a standard deviation.
	lived := func(seed uint64, sd float64, factor func(issued, day int) float64) []wear.Suspicion {
		rng := rand.New(rand.NewPCG(seed, 9))
		prior := book.Classes()[0].Cloth.Weibull
		var moves []programme.Movement
		for person := range 80 {
			pace := 1.0
			if sd > 0 {
				pace = math.Exp(sd * rng.NormFloat64())
			}
			for day := rng.IntN(60); day < asOf; day++ {
				in := issue(day, "M", 1)
				in.StaffID = fmt.Sprintf("p%02d", person)
				moves = append(moves, in)
				life, worn, issued := prior.Scale*math.Pow(rng.ExpFloat64(), 1/prior.Shape), 0.0, day
				for ; worn < life && day < asOf; day++ {
					worn += pace * factor(issued, day)
				}
				if worn >= life {
					out := in
					out.Date, out.Kind, out.Reason = monday.Add(day), programme.Ended, programme.Worn
					moves = append(moves, out)
				}
			}
		}
		h := book.Trace(nil, moves, monday.Add(asOf))
		return wear.Alarms(book.Suspicions(&h, book.Learn(h, monday.Add(asOf)), monday.Add(asOf)), 1, 2)
	}
	told := func(factor func(issued, day int) float64) []wear.Suspicion { return lived(1, 0, factor) }
	none := func(int, int) float64 { return 1 }
	require.Empty(t, told(none))
	delivery := func(issued, _ int) float64 {
		if issued >= 330 && issued < 370 {
			return 2
		}
		return 1
	}
	differing := lived(1, 0.4, delivery)
	require.Len(t, differing, 1, "it is found among people who differ, too")
	require.True(t, differing[0].Delivery)
	bad := told(delivery)
	require.Len(t, bad, 1)
	require.True(t, bad[0].Delivery)
	require.Greater(t, bad[0].To, monday.Add(340))
	require.Less(t, bad[0].From, monday.Add(370))
	require.Greater(t, bad[0].Ended, 1.5*bad[0].Expected)
	require.Positive(t, bad[0].InUse)

	harsh := told(func(_, day int) float64 {
		if day >= 330 {
			return 2
		}
		return 1
	})
	require.Len(t, harsh, 1)
	require.False(t, harsh[0].Delivery)
	require.InDelta(t, float64(monday.Add(330)), float64(harsh[0].From), 40)
}
