package simulate

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Half of Weibull lives outlast their median, whatever the shape (definition of the median).
func TestHalfOfTheLivesOutlastTheMedian(t *testing.T) {
	rng := Seed(5)
	for _, l := range []wear.Weibull{wear.FromMedian(45, 2.5), wear.FromMedian(25, 4), wear.FromMedian(80, 2)} {
		longer, n := 0, 40000
		for range n {
			if Draw(l, rng) > l.Median() {
				longer++
			}
		}
		require.InDelta(t, 0.5, float64(longer)/float64(n), 0.01)
	}
}

// A rack of n pieces that never end is washed n times its share: all pieces
// together take wears_a_week / wears_per_wash washes a week.
func TestRotationSharesTheWashes(t *testing.T) {
	for _, n := range []int{1, 3, 5} {
		r := rack{line: &programme.KitLine{WearsAWeek: 5}, wearsPerWash: 2}
		for range n {
			r.pieces = append(r.pieces, piece{life: math.Inf(1), mishap: 1 << 20})
		}
		require.Empty(t, r.wear(100, 170, nil))
		sum := 0.0
		for _, p := range r.pieces {
			sum += p.washes
		}
		require.InDelta(t, 10*5.0/2, sum, 1e-9)
	}
}

// Jumping from ending to ending must give what going day by day gives.
func TestJumpsAgreeWithDays(t *testing.T) {
	rng := Seed(9)
	for range 200 {
		build := func() rack {
			r := rack{line: &programme.KitLine{WearsAWeek: 4.5}, wearsPerWash: 1}
			return r
		}
		a, b := build(), build()
		for range 5 {
			p := piece{life: Draw(wear.FromMedian(40, 2.5), rng), cause: programme.Worn,
				mishap: programme.Date(1 + rng.IntN(400))}
			a.pieces, b.pieces = append(a.pieces, p), append(b.pieces, p)
		}
		jumps := a.wear(0, 500, nil)
		var days []ending
		for d := range programme.Date(500) {
			days = b.wear(d, d+1, days)
		}
		require.Len(t, days, len(jumps))
		for i := range jumps {
			require.Equal(t, days[i].on, jumps[i].on)
			require.Equal(t, days[i].reason, jumps[i].reason)
		}
	}
}

// The label's limit is never exceeded, however long the cloth would last.
func TestNoPieceOutlivesItsLabel(t *testing.T) {
	tr := landscaping()
	shop := catalogue(tr)
	rng := Seed(2)
	truth := drawTruth(&shop, &tr.client, tr.roleShare, newShopRates(AroundPrior, rng), AroundPrior, rng)
	c := newCourse(&shop, &tr.client, truth, 1, programme.NewDate(2024, 1, 1), rng)
	for range 2000 {
		require.LessOrEqual(t, c.newPiece(&tr.client.Roles[0].Kit[3], c.today).life, 25.0)
	}
}

// Truths scatter around the shipped figures as priors of ten pseudo-endings do:
// the rate scale^-shape has mean 1 and variance (1+1/20)^2-1 in units of the prior's.
func TestTruthsScatterAroundThePrior(t *testing.T) {
	tr := schoolKitchen()
	shop := catalogue(tr)
	rng := Seed(4)
	g, _ := shop.Garment("tee")
	book, err := wear.NewBook(&shop, &tr.client, nil)
	require.NoError(t, err)
	use, _ := book.Use(tr.client.Roles[0].Code, g.Code, tr.client.Roles[0].Kit[0].Colour)
	prior := use.Class.Cloth.Baseline
	sum, square, n := 0.0, 0.0, 20000
	for range n {
		truth := drawTruth(&shop, &tr.client, tr.roleShare, newShopRates(AroundPrior, rng), AroundPrior, rng)
		x := math.Pow(truth.Fabric["tee"].Scale/prior.Scale, -prior.Shape)
		sum, square = sum+x, square+x*x
	}
	mean := sum / float64(n)
	require.InDelta(t, 1, mean, 0.01)
	require.InDelta(t, 1.05*1.05-1, square/float64(n)-mean*mean, 0.006)
}
