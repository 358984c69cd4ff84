package replenish

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// The cost of a week at each position, pieces owed and plenty among them, is that of every
// need it can have, added up; one piece more costs the difference of two positions.
func TestAWeekCostsWhatItsNeedsCost(t *testing.T) {
	for _, chances := range [][]float64{{1}, {0, 0, 1}, fit(1.7, 1.7), fit(3, 6), fit(4, 2)} {
		l := Line{Keeping: 0.3, Missing: 5}
		c := newWeekCost(&l, chances)
		cost := func(position int) (sum float64) {
			for d, p := range chances {
				sum += p * (l.Keeping*float64(max(0, position-d)) + l.Missing*float64(max(0, d-position)))
			}
			return sum
		}
		for position := -4; position < len(chances)+3; position++ {
			require.InDelta(t, cost(position), c.at(position), 1e-7, "at %d", position)
			require.InDelta(t, cost(position+1)-cost(position), c.more(position), 1e-7, "after %d", position)
		}
	}
}

// Of a cycle's pieces each line uses its share: over all ways in which the total comes
// about, its use has the mean and variance of its own demand.
func TestALineUsesItsShareOfTheWhole(t *testing.T) {
	p := Problem{
		Terms: Terms{Ordering: 40, Lead: 2, Review: 1},
		Lines: []Line{{Keeping: 1, Missing: 9, Demand: Steady{Rate: 1.5, Dispersion: 1.6}},
			{Keeping: 1, Missing: 9, Demand: Steady{Rate: 0.5, Dispersion: 1}}},
	}
	c := newCycle(&p)
	for i, share := range []float64{0.75, 0.25} {
		for _, n := range []int{8, 40} {
			mean, square := 0.0, 0.0
			for d, q := range c.used(i, n) {
				mean += q * float64(d)
				square += q * float64(d*d)
			}
			require.InDelta(t, share*float64(n), mean, 1e-6)
			own := share * float64(n) * p.Lines[i].Demand.(Steady).Dispersion
			whole := float64(n) * (0.75*1.6 + 0.25*1)
			// A binomial whose trials are not whole is wider by up to a quarter.
			require.InDelta(t, own-share*share*whole, square-mean*mean, 0.26, "line %d, %d pieces", i, n)
		}
	}
}
