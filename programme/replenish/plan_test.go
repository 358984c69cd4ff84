package replenish

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
)

// drawnProblem has one to three lines of different needs.
func drawnProblem(rng *rand.Rand) Problem {
	p := Problem{Terms: Terms{Ordering: 10 + 60*rng.Float64(), Lead: rng.IntN(4), Review: 1 + rng.IntN(2)}}
	for range 1 + rng.IntN(3) {
		p.Lines = append(p.Lines, Line{
			Keeping: 0.05 + 0.2*rng.Float64(), Missing: 0.5 + 4*rng.Float64(),
			Demand: Steady{Rate: 0.1 + 1.5*rng.Float64(), Dispersion: 1 + rng.Float64()},
		})
	}
	return p
}

// weekBySum is the cost of a line at the end of a week, need by need.
func weekBySum(l *Line, week, position int) (sum float64) {
	for need, chance := range l.Demand.Chances(week) {
		sum += chance * (l.Keeping*float64(max(0, position-need)) + l.Missing*float64(max(0, need-position)))
	}
	return sum
}

// Whoever has more waits longer, or as long: what lies above the level meets needs, too.
func TestMoreOnTheShelfNeverBringsTheNextOrderForward(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 2))
	longer := 0
	for range 40 {
		problem := drawnProblem(rng)
		p := Best(problem)
		positions := slices.Clone(p.UpTo)
		before, _ := p.Wait(positions, 60)
		for range 30 {
			for i := range positions {
				positions[i]++
			}
			reviews, _ := p.Wait(positions, 60)
			require.GreaterOrEqual(t, reviews, before, "%+v at %v", problem, positions)
			if reviews > before {
				longer++
			}
			before = reviews
		}
	}
	require.Greater(t, longer, 100)
}

// To wait is right for as many reviews as save most against ordering now: each puts all
// later orders off by its weeks, at the plan's cost a week, and costs what its weeks cost
// without an order. All of them are tried here. What lies above the level would lie there anyway.
func TestWaitingSavesMostOfAllWaits(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	due, waits := 0, 0
	for range 60 {
		problem := drawnProblem(rng)
		p := Best(problem)
		positions := make([]int, len(p.UpTo))
		for i, level := range p.UpTo {
			positions[i] = rng.IntN(level+5) - 2
		}
		best, saves, balance := 0, 0.0, 0.0
		for k := range 60 {
			for w := problem.Lead + k*problem.Review + 1; w <= problem.Lead+(k+1)*problem.Review; w++ {
				balance += p.CostWeek
				for i := range problem.Lines {
					l := &problem.Lines[i]
					for need, chance := range l.Demand.Chances(w) {
						surplus := max(0, positions[i]-max(need, p.UpTo[i]))
						balance -= chance * (l.Keeping*float64(max(0, positions[i]-need-surplus)) +
							l.Missing*float64(max(0, need-positions[i])))
					}
				}
			}
			if balance > saves+1e-7 {
				best, saves = k+1, balance
			}
		}
		reviews, saved := p.Wait(positions, 60)
		require.Equal(t, best, reviews, "%+v at %v", problem, positions)
		require.InDelta(t, saves, saved, 1e-6)
		require.Equal(t, best == 0, p.Due(positions))
		if best > 0 {
			waits++
			// Waiting costs besides: from the average saving of a week of the best wait on, that is now.
			dearest, sum := 0.0, 0.0
			for k := range 60 {
				sum += p.CostWeek*float64(problem.Review) - p.review(positions, k)
				dearest = max(dearest, sum/float64((k+1)*problem.Review))
			}
			require.True(t, p.DueWith(positions, dearest*1.0001))
			require.False(t, p.DueWith(positions, saves/float64(best*problem.Review)*0.999))
		} else {
			due++
		}

		late := 0.0
		for i := range problem.Lines {
			for need, chance := range problem.Lines[i].Demand.Chances(problem.Lead + 1) {
				late += chance * problem.Lines[i].Missing * float64(max(0, need-positions[i]))
			}
		}
		require.InDelta(t, late, p.LateWeek(positions), 1e-6)
	}
	require.Greater(t, due, 5)
	require.Greater(t, waits, 5)
}

// Within bounds on its weeks a plan costs the least of all lengths that lie between them.
func TestALengthWithinBoundsCostsLeast(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 2))
	found := 0
	for range 40 {
		problem := drawnProblem(rng)
		p := Best(problem)
		atLeast, atMost := p.Weeks*2*rng.Float64(), 0.0
		if rng.IntN(2) == 0 {
			atMost = atLeast + p.Weeks*rng.Float64()
		}
		within := p.Lasting(atLeast, atMost)
		least := math.Inf(1)
		for k := 0; ; k++ {
			at, ok := within.from.point(k)
			if !ok {
				break
			}
			if at.weeks >= atLeast && (atMost == 0 || at.weeks <= atMost) {
				least = min(least, at.week)
			}
		}
		if !math.IsInf(least, 1) {
			found++
			require.InDelta(t, least, within.CostWeek, 1e-3*least, "%g to %g weeks", atLeast, atMost)
			require.GreaterOrEqual(t, within.Weeks, atLeast)
			require.True(t, atMost == 0 || within.Weeks <= atMost)
		}
		require.Equal(t, [2]float64{atLeast, atMost}, [2]float64{within.AtLeast, within.AtMost})
	}
	require.Greater(t, found, 20)
}

// What a piece saves is what the cycle costs less with it: of one line, the difference of
// the costs of two levels over the reviews of the cycle, need by need. At the level that is
// best the last piece saves something and one more does not.
func TestAPieceSavesWhatTheCycleCostsLessWithIt(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	for range 20 {
		problem := drawnProblem(rng)
		problem.Lines = problem.Lines[:1]
		p := Best(problem)
		cost := func(level int) (sum float64) {
			for used, reviews := range p.stocks[0].reviews {
				for w := problem.Lead + 1; w <= problem.Lead+problem.Review; w++ {
					sum += reviews * weekBySum(&problem.Lines[0], w, level-used)
				}
			}
			return sum
		}
		for level := p.UpTo[0] - 4; level < p.UpTo[0]+4; level++ {
			require.InDelta(t, cost(level-1)-cost(level), p.Saves(0, level), 1e-5)
		}
		require.Greater(t, p.Saves(0, p.UpTo[0]), -1e-6)
		require.LessOrEqual(t, p.Saves(0, p.UpTo[0]+1), 1e-6)
		// A cycle's cost is its order and its weeks.
		require.InDelta(t, p.CostWeek*p.Weeks, problem.Ordering+cost(p.UpTo[0]), 1e-3*p.CostWeek*p.Weeks)
		reviews := 0.0
		for _, r := range p.stocks[0].reviews {
			reviews += r
		}
		require.InDelta(t, p.Weeks, reviews*float64(problem.Review), 1e-3*p.Weeks)
	}
}
