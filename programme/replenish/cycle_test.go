package replenish

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// Lines that do not know of each other need together what each needs: the variances of
// their shares add up to that of the whole, at every length of a cycle.
func TestVariancesOfSharesAddUp(t *testing.T) {
	p := Problem{Terms: Terms{Ordering: 40, Lead: 2, Review: 1}, Lines: []Line{
		{Keeping: 1, Missing: 9, Demand: swelling{first: 1.5, perPiece: 0.4, common: 0.05}},
		{Keeping: 1, Missing: 9, Demand: swelling{first: 0.5, more: 0.02, common: 0.3}},
		{Keeping: 1, Missing: 9, Demand: Steady{Rate: 0.7, Dispersion: 1.9}},
	}}
	c := newCycle(&p)
	// beyond the weeks that an order of now answers for
	year := func(d Demand) float64 { return d.Mean(3+52) - d.Mean(3) }
	whole := year(p.Lines[0].Demand) + year(p.Lines[1].Demand) + year(p.Lines[2].Demand)
	for _, pieces := range []float64{1, 7, 60} {
		sum := 0.0
		for i := range p.Lines {
			require.InEpsilon(t, year(p.Lines[i].Demand)/whole, c.share[i], 1e-12)
			mean := c.share[i] * pieces
			perPiece, common := p.Lines[i].Demand.Excess()
			sum += mean + perPiece*mean + common*mean*mean
		}
		require.InEpsilon(t, sum, c.total.variance(pieces), 1e-12)
	}
	for _, weeks := range []int{1, 4, 30} {
		sum := 0.0
		for i := range p.Lines {
			sum += p.Lines[i].Demand.Mean(3+weeks) - p.Lines[i].Demand.Mean(3)
		}
		require.InEpsilon(t, sum, c.mean(weeks), 1e-12)
	}
	p.Together = &Excess{PerPiece: 0.3, Common: 0.02}
	require.InDelta(t, 5+0.3*5+0.02*25, newCycle(&p).total.variance(5), 1e-12)
	p.Lines = p.Lines[:1]
	p.Lines[0].Demand = Steady{}
	require.Zero(t, newCycle(&p).share[0], "nothing is needed")
}

// How many reviews pass with so many pieces used: the chances of so many at each review,
// added up by Poisson's formula.
func TestReviewsThatPassWithSoManyPiecesUsed(t *testing.T) {
	for _, review := range []int{1, 3} {
		p := Problem{Terms: Terms{Ordering: 40, Review: review},
			Lines: []Line{{Keeping: 1, Missing: 9, Demand: Steady{Rate: 0.3, Dispersion: 1}}}}
		got := newCycle(&p).spend(12)
		require.Len(t, got, 13)
		for n := range got {
			want := 0.0
			for k := range 400 {
				mean := 0.3 * float64(k*review)
				if k == 0 {
					if n == 0 {
						want++
					}
					continue
				}
				gamma, _ := math.Lgamma(float64(n + 1))
				want += math.Exp(float64(n)*math.Log(mean) - mean - gamma)
			}
			require.InDelta(t, want, got[n], 1e-6, "%d pieces, every %d weeks", n, review)
		}
	}
	never := Problem{Lines: []Line{{Demand: Steady{Rate: 1e-9, Dispersion: 1}}}}
	require.InDelta(t, mostReviews, newCycle(&never).spend(3)[0], 0.01, "a cycle has an end")
}

// The cycles looked at first hold thrice the pieces, and some, of the one that costs least
// where demand is even and what is missing is waited for: by trying all orders and back-orders.
func TestTheFirstGuessIsThriceTheEvenOrder(t *testing.T) {
	for _, c := range []struct{ ordering, keeping, missing, rate float64 }{{60, 0.1, 2, 3}, {20, 0.4, 0.9, 8},
		{5, 0.2, 30, 0.5}} {
		least, best := math.Inf(1), 0.0
		for q := 0.25; q < 200; q += 0.25 {
			for short := 0.0; short < q; short += 0.25 {
				cost := c.ordering*c.rate/q + c.keeping*(q-short)*(q-short)/(2*q) + c.missing*short*short/(2*q)
				if cost < least {
					least, best = cost, q
				}
			}
		}
		for _, review := range []int{1, 4} {
			p := Problem{Terms: Terms{Ordering: c.ordering, Review: review}, Lines: []Line{
				{Keeping: c.keeping, Missing: c.missing, Demand: Steady{Rate: c.rate / 4, Dispersion: 1}},
				{Keeping: c.keeping, Missing: c.missing, Demand: Steady{Rate: 3 * c.rate / 4, Dispersion: 1}},
			}}
			require.InDelta(t, 32+3*best, newCycle(&p).firstGuess(), 3, "%+v every %d weeks", c, review)
		}
	}
	for name, l := range map[string]Line{
		"keeping is free":   {Missing: 1, Demand: Steady{Rate: 1, Dispersion: 1}},
		"missing is free":   {Keeping: 1, Demand: Steady{Rate: 1, Dispersion: 1}},
		"nothing is needed": {Keeping: 1, Missing: 1, Demand: Steady{}},
	} {
		p := Problem{Terms: Terms{Ordering: 9, Review: 1}, Lines: []Line{l}}
		require.Equal(t, 32, newCycle(&p).firstGuess(), name)
	}
}

// A cycle of many pieces grows several at a time: it then lasts as long, and costs hardly
// otherwise, than when it grows one by one; the last point holds all that are looked at.
func TestCyclesOfManyPiecesGrowSeveralAtATime(t *testing.T) {
	p := Problem{Terms: Terms{Ordering: 900, Lead: 2, Review: 1}, Lines: []Line{
		{Keeping: 0.2, Missing: 4, Demand: Steady{Rate: 9, Dispersion: 1.5}},
		{Keeping: 0.1, Missing: 2, Demand: Steady{Rate: 4, Dispersion: 1}},
	}}
	c := newCycle(&p)
	const most = 1000
	several, one := newCourse(c, most), newCourse(c, most)
	require.Equal(t, 7, several.stride)
	one.stride = 1
	last := 0
	for k := 0; ; k++ {
		got, ok := several.point(k)
		if !ok {
			break
		}
		last = got.pieces
		want, ok := one.point(got.pieces - 1)
		if !ok {
			continue
		}
		require.InEpsilon(t, want.weeks, got.weeks, 1e-9, "%d pieces", got.pieces)
		if got.weeks > 3 {
			require.InEpsilon(t, want.week, got.week, 2e-3, "%d pieces", got.pieces)
		}
	}
	require.True(t, last >= most+1 && last < most+1+7, "%d pieces", last)
	require.Equal(t, 1, newCourse(c, 200).stride)

	// The lines at a point are those that a cycle of so many pieces leads to.
	at := several.stocksAt(40)
	reviews, pieces := 0.0, 0.0
	for n, r := range several.reviews[:41*7] {
		reviews, pieces = reviews+r, pieces+float64(n)*r
	}
	for i := range at {
		require.Equal(t, several.points[40].levels[i], at[i].level)
		passed, used := 0.0, 0.0
		for n, r := range at[i].reviews {
			passed, used = passed+r, used+float64(n)*r
		}
		require.InEpsilon(t, reviews, passed, 1e-9)
		require.InEpsilon(t, c.share[i]*pieces/reviews, used/passed, 2e-3)
	}
}
