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
		h := &holder{rot: Rotation{Pace: 1.5}, paces: paces, ages: []float64{4, 20, 35},
			pieces: []*programme.Piece{{}, {}, {}}, unseen: make([]unseen, 3)}
		c := newCounter(lifetimes, 1, nil, 12, coarse, &room{})
		for _, x := range append([]quadrature.Node{{At: 1}}, paces...) { // without what many lifetimes are set to
			c.renewals(Rotation{Pace: 1.5 * x.At}).exact = nil
		}
		sums := make([]sum, len(lifetimes))
		means := c.add(h, stay, span{to: 12}, sums, true)
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

// Pieces beyond the kit end first: within a later span of the weeks what ends is needed, but
// where all are beyond it. Whoever is away all the time asks for nothing, even for what may
// have gone already.
func TestWhatIsBeyondTheKitEndsInTheFirstSpan(t *testing.T) {
	lifetimes := []Lifetime{{Weight: 1, Mishap: 0.1}}
	count := func(surplus int, in span, at float64, with *presence) pmf {
		h := &holder{rot: Rotation{Pace: 1}, ages: make([]float64, 3), pieces: make([]*programme.Piece, 3),
			unseen: make([]unseen, 3), surplus: surplus, present: with}
		for i := range h.unseen {
			h.unseen[i] = unseen{weeks: 5, hidden: 0.5}
		}
		if with == nil {
			clear(h.unseen)
		}
		c, sums := newCounter(lifetimes, 1, nil, 12, effort{points: 16, smooth: true, span: 0.4, cells: 200,
			ignore: 1e-12}, &room{}), make([]sum, 1)
		c.renewals(h.rot).exact = nil
		c.add(h, until(at), in, sums, true)
		return sums[0].pmf()
	}
	poisson := func(mean float64) map[int]float64 {
		out := map[int]float64{}
		for n, p := range CompoundPoisson(mean, []float64{1}, 30) {
			out[n] = p
		}
		return out
	}
	less := func(of map[int]float64, n int) map[int]float64 {
		out := map[int]float64{}
		for k, p := range of {
			out[max(0, k-n)] += p
		}
		return out
	}
	requireCounts := func(want map[int]float64, got pmf) {
		t.Helper()
		for n, p := range got.p {
			require.InDelta(t, want[got.lo+n], p, 1e-6, "P(%d)", n)
		}
	}
	requireCounts(poisson(3*0.1*9), count(0, span{to: 12}, 9, nil))
	for beyond := range 5 {
		requireCounts(less(poisson(3*0.1*9), beyond), count(beyond, span{to: 9}, 12, nil))
	}
	// Later each piece ends once at most, with the mean of all its endings.
	later := map[int]float64{0: 1}
	for range 3 {
		next := map[int]float64{}
		for n, p := range later {
			next[n] += 0.6 * p
			next[n+1] += 0.4 * p
		}
		later = next
	}
	for beyond := range 3 {
		requireCounts(later, count(beyond, span{from: 4, to: 8}, 12, nil))
	}
	requireCounts(less(later, 3), count(3, span{from: 4, to: 8}, 12, nil))
	requireSame(t, map[int]float64{0: 1}, count(0, span{from: 4, to: 8}, 3, nil))

	away := presenceOf(wear.Absence{{From: 1000, Until: 0}}, 1000)
	require.NotNil(t, away)
	requireSame(t, map[int]float64{0: 1}, count(0, span{to: 12}, 0, away))
	require.Less(t, count(0, span{to: 12}, 6, &presence{}).p[0], 0.5, "whoever is there asks")
}
