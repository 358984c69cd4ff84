package demand

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/quadrature"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Where a person's pace is not known, replacements are expected for each time of leaving
// at each pace: weighed by their chances they come to the mean of the distribution, which
// is added up apart from them, and whoever wears harder needs more.
func TestReplacementsAreExpectedAtEachPaceAndTimeOfLeaving(t *testing.T) {
	lifetimes := []Lifetime{
		{Weight: 0.3, Wash: []wear.Weibull{wear.FromMedian(25, 2.2)}, Number: []float64{1}, Mishap: 0.01},
		{Weight: 0.7, Wash: []wear.Weibull{wear.FromMedian(50, 1.6)}, Number: []float64{1}, Mishap: 0.002},
	}
	stay := retention{[]quadrature.Node{{At: 12, Weight: 0.8}, {At: 3, Weight: 0.15}, {At: 9, Weight: 0.05}}}
	for name, paces := range map[string][]quadrature.Node{
		"known":         nil,
		"two":           {{At: 0.7, Weight: 0.5}, {At: 1.6, Weight: 0.5}},
		"three unequal": {{At: 0.5, Weight: 0.2}, {At: 1, Weight: 0.5}, {At: 1.8, Weight: 0.3}},
	} {
		h := &holder{rot: Rotation{Pace: 1.5}, paces: paces, ages: []float64{4, 20, 35}, pieces: []*programme.Piece{{}, {}, {}}, unseen: make([]unseen, 3)}
		c := newCounter(lifetimes, 1, nil, 12, coarse, &room{})
		for _, x := range append([]quadrature.Node{{At: 1}}, paces...) { // without what many lifetimes are set to
			c.renewals(Rotation{Pace: 1.5 * x.At}).exact = nil
		}
		sums := make([]sum, len(lifetimes))
		means := c.add(h, stay, span{to: 12}, sums)
		all := stay.times(paces).moments
		require.Len(t, means, len(all), name)
		want := 0.0
		for i, m := range all {
			want += m.Weight * means[i]
		}
		require.InDelta(t, want, mixed(lifetimes, sums).mean(), 1e-6, name)
		for i := range means {
			require.GreaterOrEqual(t, means[i/3*3], means[i], "%s: who stays longest needs most", name)
			if i >= 3 {
				require.Greater(t, means[i], means[i-3], "%s: who wears harder needs more", name)
			}
		}
	}
}
