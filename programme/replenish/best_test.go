package replenish

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// leastByTrying returns the least cost a week of ordering one line up to a level once so many
// pieces of it are used, over all levels and numbers: by the expected reviews at which 0, 1, ...
// pieces are used (renewal theory, as in Zheng and Federgruen, Operations Research 39, 1991; from memory).
func leastByTrying(p *Problem, most int) (cost float64, level, used int) {
	line := &p.Lines[0]
	need := line.Demand.Chances(p.Review)
	week := map[int]float64{}
	for position := -2 * most; position <= most; position++ {
		for w := p.Lead + 1; w <= p.Lead+p.Review; w++ {
			week[position] += weekBySum(line, w, position)
		}
	}
	reviews := make([]float64, most)
	for j := range reviews {
		if j == 0 {
			reviews[j] = 1
		}
		for i := 1; i <= j && i < len(need); i++ {
			reviews[j] += need[i] * reviews[j-i]
		}
		reviews[j] /= 1 - need[0]
	}
	cost = math.Inf(1)
	for up := -most; up <= most; up++ {
		sum, passed := p.Ordering, 0.0
		for n, r := range reviews {
			sum, passed = sum+r*week[up-n], passed+r
			if c := sum / passed / float64(p.Review); c < cost*(1-1e-9) {
				cost, level, used = c, up, n+1
			}
		}
	}
	return cost, level, used
}

// One line by itself costs the least that any level and any time to order can: all are tried.
// It is due once so many pieces are used, and not before.
func TestOneLineCostsTheLeastOfAllLevels(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 5))
	for range 25 {
		problem := drawnProblem(rng)
		problem.Lines = problem.Lines[:1]
		cost, level, used := leastByTrying(&problem, 60)
		p := Best(problem)
		require.InEpsilon(t, cost, p.CostWeek, 1e-6, "%+v", problem)
		require.Equal(t, [2]int{level, used}, [2]int{p.UpTo[0], p.Pieces}, "%+v", problem)
		require.False(t, p.Due([]int{level}))
		require.False(t, p.Due([]int{level - used + 1}))
		require.True(t, p.Due([]int{level - used}))
	}
}

// Where an order costs nothing each need is ordered at once, up to the newsvendor's level: the
// fewest pieces that are enough with the chance missing / (missing + keeping) (common textbook
// result; Arrow, Harris and Marschak, Econometrica 19, 1951, from memory).
func TestWithoutACostOfOrderingTheLevelIsTheNewsvendors(t *testing.T) {
	for _, c := range []struct{ keeping, missing, rate float64 }{{0.1, 0.9, 2}, {0.1, 0.1, 2}, {0.3, 0.1, 0.4},
		{1, 30, 0.2}} {
		p := Best(Problem{Terms: Terms{Lead: 1, Review: 1},
			Lines: []Line{{Keeping: c.keeping, Missing: c.missing, Demand: Steady{Rate: c.rate, Dispersion: 1}}}})
		level, enough, chance := 0, 0.0, math.Exp(-2*c.rate) // of no need in the two weeks that an order answers for
		for ; enough+chance < c.missing/(c.missing+c.keeping); level++ {
			enough += chance
			chance *= 2 * c.rate / float64(level+1)
		}
		require.Equal(t, level, p.UpTo[0], "%+v", c)
		require.Equal(t, 1, p.Pieces, "%+v", c)
	}
}

// Orders that are to last many times as long as the best do, however many pieces that takes.
func TestOrdersThatLastFarLonger(t *testing.T) {
	problem := Problem{Terms: Terms{Ordering: 20, Lead: 2, Review: 1},
		Lines: []Line{{Keeping: 0.1, Missing: 2, Demand: Steady{Rate: 1.5, Dispersion: 1.3}}}}
	p := Best(problem)
	last := p.CostWeek
	for _, times := range []float64{5, 20, 60} {
		longer := p.Lasting(times*p.Weeks, 0)
		require.InEpsilon(t, times*p.Weeks, longer.Weeks, 0.1)
		require.InEpsilon(t, 1.5*longer.Weeks, longer.Pieces, 0.1)
		require.Greater(t, longer.CostWeek, last)
		last = longer.CostWeek
	}
}

// A cycle that may last less than any is the shortest: an order at each review.
func TestACycleThatMayNotLastIsTheShortest(t *testing.T) {
	problem := Problem{Terms: Terms{Ordering: 90, Lead: 1, Review: 1},
		Lines: []Line{{Keeping: 0.1, Missing: 4, Demand: Steady{Rate: 2, Dispersion: 1}}}}
	p := Best(problem).Lasting(0, 0.01)
	require.Equal(t, 1, p.Pieces)
	first, _ := p.from.point(0)
	require.InEpsilon(t, first.weeks, p.Weeks, 1e-12)
}
