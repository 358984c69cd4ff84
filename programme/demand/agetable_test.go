package demand

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/wear"
)

// What is read off tables of ages is what is worked out for each piece, whatever its age, its life and how far that is
// known.
func TestTablesOfAgesSayWhatIsWorkedOutForEachPiece(t *testing.T) {
	worst := map[string]float64{}
	for _, c := range []struct{ shape, scale, pace, mishap float64 }{
		{1.2, 60, 1.5, 0.002}, {2, 40, 1.2, 0.001}, {3.1, 55, 2.5, 0.004}, {4, 90, 0.7, 0.001}, {2.4, 25, 3, 0.01},
	} {
		rot := Rotation{Pace: c.pace}
		lifetimes := []Lifetime{
			{Weight: 0.6, Wash: []wear.Weibull{{Shape: c.shape, Scale: c.scale}}, Number: []float64{1},
				Mishap: c.mishap},
			{Weight: 0.4, Wash: []wear.Weibull{{Shape: 1.1 * c.shape, Scale: 0.7 * c.scale}}, Number: []float64{1},
				Mishap: 2 * c.mishap},
		}
		exact := func(age, t float64) float64 {
			return 1 - math.Exp(-math.Pow((age+rot.Pace*t)/c.scale, c.shape)+math.Pow(age/c.scale, c.shape))
		}
		direct, read := newRenewals(lifetimes, rot, 20, coarse, &room{}),
			newRenewals(lifetimes, rot, 20, coarse, &room{})
		direct.exact, read.exact, direct.again, read.again = exact, exact, 1, 1
		read.tables = map[float64]*ageTable{}
		p := newPredictor(certainLife(wear.Weibull{Shape: c.shape, Scale: c.scale},
			wear.Weibull{Shape: 1.8, Scale: 1.3 * c.scale}, c.mishap*weeksPerYear), 20, &room{})
		for age := 0.0; age < 2.5*c.scale; age += 0.173 * (1 + age/20) {
			for _, weeks := range []float64{2.3, 9, 20} {
				want, got := direct.Tails(age, weeks), read.Tails(age, weeks)
				for k := range want {
					worst["tails"] = max(worst["tails"], math.Abs(want[k]-got[k]))
				}
			}
			want := p.prospectOf(age, rot, unseen{}, nil).weekly
			p.tabulate(rot)
			got := p.tabulated(p.tables[rot], age)
			for w := range want {
				for k := range want[w] {
					worst["weekly"] = max(worst["weekly"], math.Abs(want[w][k]-got[w][k]))
				}
			}
			delete(p.tables, rot)
		}
	}
	for what, x := range worst {
		require.Less(t, x, 5e-6, what)
	}
}
