package replenish

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// Draws have the mean and the variance of what they are drawn from, to four standard errors.
func TestDrawsHaveTheirMomentsRight(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 1))
	const n = 40000
	moments := func(draw func() float64) (mean, variance float64) {
		for range n {
			x := draw()
			mean, variance = mean+x/n, variance+x*x/n
		}
		return mean, variance - mean*mean
	}
	for _, shape := range []float64{0.4, 1, 3.5} {
		mean, variance := moments(func() float64 { return gammaOf(rng, shape) })
		require.InDelta(t, shape, mean, 4*math.Sqrt(shape/n))
		require.InDelta(t, shape, variance, 0.12*shape)
	}
	for _, rate := range []float64{0.3, 4, 47} {
		mean, variance := moments(func() float64 { return float64(poissonOf(rng, rate)) })
		require.InDelta(t, rate, mean, 4*math.Sqrt(rate/n))
		require.InDelta(t, rate, variance, 0.05*rate)
	}
	for _, theta := range []float64{0.2, 0.5, 0.8} {
		count := map[int]float64{}
		for range n {
			count[logarithmic(rng, theta, math.Log1p(-theta))]++
		}
		for k := 1; k < 8; k++ { // theta^k / (k times minus the logarithm of 1 - theta)
			p := math.Pow(theta, float64(k)) / float64(k) / -math.Log(1-theta)
			require.InDelta(t, p, count[k]/n, 4*math.Sqrt(p/n), "theta %g, %d", theta, k)
		}
	}
	require.Equal(t, 1, logarithmic(rng, 0, 0))
}

// Futures use what the lines' demand says: means and variances of each, and of all together.
func TestFuturesUseWhatDemandSays(t *testing.T) {
	problem := Problem{Terms: Terms{Ordering: 30, Review: 1}, Lines: []Line{
		{Keeping: 0.1, Missing: 2, Demand: Steady{Rate: 0.5, Dispersion: 1}},
		{Keeping: 0.1, Missing: 2, Demand: Steady{Rate: 1.5, Dispersion: 2.2}},
	}}
	for _, common := range []float64{0, 0.04} {
		perPiece := 0.75 * 1.2
		problem.Together = &Excess{PerPiece: perPiece, Common: common}
		d := newDrawing(newCycle(&problem))
		means := make([]float64, 12)
		for i := range means {
			means[i] = 2
		}
		const n = 4000
		var sum, square [3]float64
		for range n {
			var used [3]float64
			for _, u := range d.draw(means, 1000).uses {
				used[u.line] += float64(u.pieces)
				used[2] += float64(u.pieces)
			}
			for i, x := range used {
				sum[i], square[i] = sum[i]+x/n, square[i]+x*x/n
			}
		}
		for i, want := range []struct{ mean, variance float64 }{{6, 6 + common*36}, {18, 18*2.2 + common*18*18},
			{24, 24*(1+perPiece) + common*24*24}} {
			require.InDelta(t, want.mean, sum[i], 4*math.Sqrt(want.variance/n), "line %d", i)
			require.InDelta(t, want.variance, square[i]-sum[i]*sum[i], 0.12*want.variance, "line %d", i)
		}
		few := d.draw(means, 5)
		pieces := int32(0)
		for i, u := range few.uses {
			if i < len(few.uses)-1 && few.uses[len(few.uses)-1].review != u.review {
				pieces += u.pieces
			}
		}
		require.Less(t, pieces, int32(5), "no further review than it takes")
	}
}

// Cycles over given futures, review by review: each pays for its weeks, until the next costs
// more than the average and will not cost less.
func TestCyclesPassReviewByReview(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2))
	for i := range 30 {
		problem := drawnProblem(rng)
		for len(problem.Lines) < 2 {
			problem = drawnProblem(rng)
		}
		if i%7 == 0 { // nothing is worth keeping of it
			problem.Lines[0].Keeping, problem.Lines[0].Missing = 3, 0.2
		}
		p := Best(problem)
		r := newRefining(p.cycle, p)
		r.futures = r.futures[:40]
		levels := make([]int, len(p.UpTo))
		for i, n := range p.UpTo {
			levels[i] = max(0, n+rng.IntN(5)-2)
		}
		if i%5 == 0 { // it would be too dear to wait at once
			clear(levels)
		}
		average := p.CostWeek * (0.7 + 0.6*rng.Float64())
		step := func(used []int) (cost, slope float64) {
			for i := range levels {
				for w := problem.Lead + 1; w <= problem.Lead+problem.Review; w++ {
					now := weekBySum(&problem.Lines[i], w, levels[i]-used[i])
					cost += now
					slope += p.cycle.share[i] * (weekBySum(&problem.Lines[i], w, levels[i]-used[i]-1) - now)
				}
			}
			return cost, slope
		}
		cost, reviews, pieces := 0.0, 0.0, 0.0
		stop := average * float64(problem.Review)
		for _, f := range r.futures {
			used := make([]int, len(levels))
			last := int32(-1)
			if n := len(f.uses); n > 0 {
				last = f.uses[n-1].review
			}
			at := 0
			for review := int32(0); review <= last; review++ {
				now, slope := step(used)
				if review > 0 && now >= stop && slope >= 0 {
					break
				}
				cost, reviews = cost+now, reviews+1
				for ; at < len(f.uses) && f.uses[at].review == review; at++ {
					used[f.uses[at].line] += int(f.uses[at].pieces)
					pieces += float64(f.uses[at].pieces)
				}
			}
		}
		weeks := reviews * float64(problem.Review)
		got := r.run(levels, average)
		require.InEpsilon(t, (problem.Ordering*40+cost)/weeks, got.cost, 1e-6)
		require.InEpsilon(t, weeks/40, got.weeks, 1e-9)
		require.Equal(t, int(pieces/40+0.5), got.pieces)
		passed := 0.0
		for _, n := range got.stocks[0].reviews {
			passed += n
		}
		require.InDelta(t, reviews, passed, 1e-9, "each review had some use of the line")
		for i, level := range got.better() { // where one more piece costs what it saves
			gain := func(level int) (sum float64) {
				for used, n := range got.stocks[i].reviews {
					for w := problem.Lead + 1; w <= problem.Lead+problem.Review; w++ {
						sum += n * (weekBySum(&problem.Lines[i], w, level-used) - weekBySum(&problem.Lines[i], w,
							level-used+1))
					}
				}
				return sum
			}
			require.GreaterOrEqual(t, gain(level-1), -1e-6)
			require.LessOrEqual(t, gain(level), 1e-6)
		}
	}
	require.ElementsMatch(t, [][]int{{4, 8}, {4, 6}, {5, 7}, {5, 8}, {5, 6}, {3, 7}, {3, 8}, {3, 6}},
		neighbours([]int{4, 7}))
}

// Other levels cost about what living by them costs: more than the best, whichever way they are off.
func TestOtherLevelsCostMore(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 3))
	for range 10 {
		problem := drawnProblem(rng)
		p := Best(problem)
		least, weeks := p.CostOf(p.UpTo)
		require.InEpsilon(t, p.CostWeek, least, 0.1)
		require.InEpsilon(t, p.Weeks, weeks, 0.5)
		for _, off := range []float64{0.4, 2.5} {
			levels := make([]int, len(p.UpTo))
			for i, n := range p.UpTo {
				levels[i] = int(off * float64(n+2))
			}
			cost, _ := p.CostOf(levels)
			require.Greater(t, cost, least*0.999)
		}
	}
}

// swelling is demand whose rate rises from week to week, and is not known.
type swelling struct{ first, more, perPiece, common float64 }

func (s swelling) Mean(w int) float64 { return float64(w)*s.first + s.more*float64(w*(w-1))/2 }

func (s swelling) Excess() (perPiece, common float64) { return s.perPiece, s.common }

func (s swelling) Chances(w int) []float64 {
	m := s.Mean(w)
	return fit(m, Excess{s.perPiece, s.common}.variance(m))
}

// The futures that a plan is tried on use as much from review to review as is expected beyond
// the weeks that an order of now answers for, and fewer are drawn where there are many lines.
func TestAPlanIsTriedOnWhatIsExpected(t *testing.T) {
	for lines, pieces := range map[int]int{few: 24_000, few + 1: 8_000} {
		p := Problem{Terms: Terms{Ordering: 60, Lead: 3, Review: 2}}
		for i := range lines {
			p.Lines = append(p.Lines, Line{Keeping: 0.1, Missing: 3,
				Demand: swelling{first: 0.1 + 0.1*float64(i), more: 0.03, perPiece: 0.2}})
		}
		c := newCycle(&p)
		plan := c.best(0, 0)
		r := newRefining(c, plan)
		require.Len(t, r.futures, max(50, pieces/(2*plan.Pieces+8)))
		n := float64(len(r.futures))
		for review := range 3 {
			used := 0.0
			for _, f := range r.futures {
				for _, u := range f.uses {
					if int(u.review) == review {
						used += float64(u.pieces)
					}
				}
			}
			want := 0.0
			for i := range p.Lines {
				want += p.Lines[i].Demand.Mean(5+2*(review+1)) - p.Lines[i].Demand.Mean(5+2*review)
			}
			require.InDelta(t, want, used/n, 4*math.Sqrt(1.2*want/n), "%d lines, review %d", lines, review)
		}
	}
}

// Where few lines share an order, no level beside the plan's costs less in the same futures.
func TestNoNeighbouringLevelCostsLess(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	seen := map[int]int{}
	for seen[2] < 4 || seen[3] < 4 {
		problem := drawnProblem(rng)
		seen[len(problem.Lines)]++
		if len(problem.Lines) == 1 {
			continue
		}
		c := newCycle(&problem)
		p := c.best(0, 0)
		r := newRefining(c, p)
		c.refine(p)
		for _, levels := range neighbours(p.UpTo) {
			next := r.run(levels, p.CostWeek)
			require.False(t, next.beats(&outcome{cost: p.CostWeek}), "%v instead of %v", levels, p.UpTo)
		}
	}
}
