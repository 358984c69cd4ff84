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
	prior := wear.Posterior{Unit: 45, Nodes: []wear.ShapeNode{{Shape: 1.8, Weight: 0.3, Rate: wear.Gamma{Count: 10, Exposure: 10}}, {Shape: 2.6, Weight: 0.7, Rate: wear.Gamma{Count: 10, Exposure: 10}}}}
	learnt := &wear.Learnt{Terms: &wear.Terms{Prints: []wear.PrintTerms{{Number: 1}}}, Cloth: prior, Prints: []wear.Posterior{prior}, Mishap: wear.Gamma{Count: 10, Exposure: 120}}
	rot, weeks := Rotation{Pace: 1.5}, 16.0
	var sample []sampled
	for age := 1.0; age < 50; age += 7 {
		sample = append(sample, sampled{age: age, Rotation: rot, logAge: math.Log(age), logThen: math.Log(age + rot.Pace*weeks)})
	}
	many := product(learnt, byCause{programme.CauseWorn: 10, programme.CausePrint: 10, programme.CauseMishap: 2})
	few, again := drawTogether(many, sample, weeks, commonNodes)
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
