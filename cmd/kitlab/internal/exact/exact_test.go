package exact_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/exact"
	"github.com/kitmuster/kitmuster/programme/replenish"
)

// The optima of Zheng and Federgruen's table: lead time 0, ordering 64, keeping
// 1, missing 9, Poisson demand (Operations Research 39(4), 1991, 654-665; the
// numbers from memory).
func TestOptimumGivesThePublishedRules(t *testing.T) {
	for _, c := range []struct {
		mean float64
		upTo int
		cost float64
	}{{10, 40, 35.022}, {15, 49, 42.698}, {20, 62, 49.173}, {25, 56, 54.262}} {
		p := exact.Problem{Ordering: 64, Lines: []exact.Line{{Steady: replenish.Steady{Rate: c.mean, Dispersion: 1},
			Keeping: 1, Missing: 9}}}
		cost, upTo := p.Optimum([]int{120})
		require.InDelta(t, c.cost, cost, 0.0006, c.mean)
		require.Equal(t, []int{c.upTo}, upTo, c.mean)
	}
}

// A policy's exact cost is what it costs when the weeks are lived one by one.
func TestCostIsWhatLivingCosts(t *testing.T) {
	p := exact.Problem{Ordering: 20, Lead: 2, Lines: []exact.Line{
		{Steady: replenish.Steady{Rate: 0.7, Dispersion: 1}, Keeping: 0.1, Missing: 1.5},
		{Steady: replenish.Steady{Rate: 0.3, Dispersion: 2.5}, Keeping: 0.06, Missing: 0.8},
	}}
	upTo := []int{14, 8}
	due := func(x []int) bool { return x[0] <= 3 || x[1] <= 0 || x[0]+x[1] <= 7 }
	require.InEpsilon(t, live(&p, upTo, due, 400_000), p.Cost(upTo, due), 0.01)
}

// live is the average cost of many weeks of the model as its words say: look,
// order, receive, demand, pay.
func live(p *exact.Problem, upTo []int, due func([]int) bool, weeks int) float64 {
	rng := rand.New(rand.NewPCG(4, 2))
	position, onHand := append([]int(nil), upTo...), append([]int(nil), upTo...)
	coming := make([][]int, p.Lead+1) // by weeks until it is there
	for i := range coming {
		coming[i] = make([]int, len(upTo))
	}
	paid := 0.0
	for range weeks {
		order := make([]int, len(upTo))
		if due(position) {
			paid += p.Ordering
			for i := range order {
				order[i] = max(0, upTo[i]-position[i])
				position[i] += order[i]
			}
		}
		coming[p.Lead] = order
		for i := range p.Lines {
			l := &p.Lines[i]
			d := draw(rng, l.Steady)
			onHand[i] += coming[0][i] - d
			position[i] -= d
			paid += l.Keeping*float64(max(0, onHand[i])) + l.Missing*float64(max(0, -onHand[i]))
		}
		coming = append(coming[1:], nil)
	}
	return paid / float64(weeks)
}

// draw is a Poisson demand whose mean is, above a dispersion of 1, itself drawn
// from a gamma distribution.
func draw(rng *rand.Rand, s replenish.Steady) int {
	mean := s.Rate
	if s.Dispersion > 1 {
		mean = distuv.Gamma{Alpha: s.Rate / (s.Dispersion - 1), Beta: 1 / (s.Dispersion - 1), Src: rng}.Rand()
	}
	if mean <= 0 {
		return 0
	}
	return int(distuv.Poisson{Lambda: mean, Src: rng}.Rand())
}

// No policy costs less than the optimum, and ordering at the optimum's levels
// by any other rule costs no less either.
func TestNothingCostsLessThanTheOptimum(t *testing.T) {
	p := exact.Problem{Ordering: 12, Lead: 1, Lines: []exact.Line{
		{Steady: replenish.Steady{Rate: 0.4, Dispersion: 1.5}, Keeping: 0.08, Missing: 0.9},
		{Steady: replenish.Steady{Rate: 0.2, Dispersion: 1}, Keeping: 0.05, Missing: 2},
	}}
	least, upTo := p.Optimum([]int{25, 18})
	for a := -3; a <= 3; a++ {
		for b := -3; b <= 3; b++ {
			for s := -2; s <= 4; s++ {
				due := func(x []int) bool { return x[0] <= s || x[1] <= s/2 }
				require.GreaterOrEqual(t, p.Cost([]int{upTo[0] + a, upTo[1] + b}, due), least-1e-9)
			}
		}
	}
}
