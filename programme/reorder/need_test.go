package reorder

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/demand"
)

// Within the trigger horizon each of its pieces falls by itself into the first weeks, with
// the part of the expectation that does (binomials, worked out here); beyond it speaks the
// longer horizon.
func TestWhatALineNeedsByWeeks(t *testing.T) {
	near := demand.Line{Distribution: demand.Distribution{Mean: 1.7, PMF: []float64{0.2, 0.1, 0.5, 0.2}},
		Weekly: []float64{0.3, 0.5, 0.9}}
	far := demand.Line{Distribution: demand.Distribution{Mean: 4, PMF: []float64{0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1,
		0.2}}, Weekly: []float64{0.2, 0.5, 0.8, 0.5, 1, 1}}
	l := &Stocked{Trigger: near, Quantity: far}
	n := newNeed(l, Horizon{Trigger: 3, Quantity: 6})
	require.Equal(t, near.PMF, n.Chances(3))
	require.Equal(t, NewSpread(far, 6).At(4), n.Chances(4))
	require.Equal(t, NewSpread(far, 6).At(6), n.Chances(6))
	for weeks, part := range map[int]float64{1: 0.2 / 1.5, 2: 0.7 / 1.5} {
		require.InDelta(t, part*1.5, n.Mean(weeks), 1e-12)
		got := n.Chances(weeks)
		require.Len(t, got, 4)
		for d := range got {
			want := 0.0
			for all, p := range near.PMF {
				want += p * math.Exp(lchoose(all, d)) * math.Pow(part, float64(d)) * math.Pow(1-part, float64(all-d))
			}
			require.InDelta(t, want, got[d], 1e-12, "%d pieces in %d weeks", d, weeks)
		}
	}
	perPiece, common := n.Excess()
	a, b := excess(near.PMF, far.PMF)
	require.Equal(t, [2]float64{a, b}, [2]float64{perPiece, common})
	// Where nothing is expected within the horizon, what is forecast of it counts whole.
	l.Quantity.Weekly = []float64{0, 0, 0, 1, 1, 2}
	require.Equal(t, near.PMF, newNeed(l, Horizon{Trigger: 3, Quantity: 6}).Chances(1))
	// A first week of more than the whole, as of what comes late, counts as the whole.
	l.Quantity.Weekly = []float64{2, 0, -1, 1, 1, 1}
	require.Equal(t, near.PMF, newNeed(l, Horizon{Trigger: 3, Quantity: 6}).Chances(1))
}

// lchoose is the logarithm of n over k; that of an impossible choice is -Inf.
func lchoose(n, k int) float64 {
	if k > n {
		return math.Inf(-1)
	}
	lg := func(x int) float64 { v, _ := math.Lgamma(float64(x) + 1); return v }
	return lg(n) - lg(k) - lg(n-k)
}

// Pieces for nobody are taken away, of any line above its floor: while that costs nothing
// they all go; where it costs too much only until few enough are left. By hand: of 16
// pieces to order 7 are for somebody and one is kept for starters.
func TestPiecesForNobodyAreTakenAway(t *testing.T) {
	c := &situation{ordinary: []Stocked{{OnHand: 3, Owed: 1}, {Owed: 1, OnOrder: 2}}}
	c.policy = &policy{situation: c, index: map[int]int{}, pool: []int{1, 0}}
	p := &plan{levels: []int{12, 7}, named: []int{4, 3}} // 10 and 6 to order
	for _, c2 := range []struct {
		limit, most float64
		floor       []int
		want        []int
	}{
		{0, math.Inf(1), []int{0, 0}, []int{7, 4}},
		{0, math.Inf(1), []int{9, 5}, []int{9, 5}},
		{-1, math.Inf(1), []int{0, 0}, []int{12, 7}},
		{-1, 0.5, []int{0, 0}, []int{12, 7}},  // 8 of 16
		{-1, 0.49, []int{0, 0}, []int{11, 7}}, // 7 of 15
		{-1, 0.4, []int{0, 0}, []int{9, 7}},   // 5 of 13, not 6 of 14
		{-1, 0.25, []int{0, 0}, []int{7, 6}},  // 2 of 10, not 3 of 11
		{-1, 0.2, []int{0, 0}, []int{7, 6}},
		{-1, 0, []int{0, 0}, []int{7, 4}},
		{-1, 0, []int{10, 6}, []int{10, 6}},
	} {
		cost := 0.0
		before := slices.Clone(p.levels)
		levels, fewer := c.without(p, c2.floor, &cost, c2.limit, c2.most)
		require.Equal(t, c2.want, levels, "%+v", c2)
		require.Equal(t, !slices.Equal(c2.want, before), fewer, "%+v", c2)
		require.Equal(t, before, p.levels)
		require.Zero(t, cost)
	}
}

// People take turns by what is still expected to end of theirs; of equal ones the first.
func TestNamesGoToThoseWithMostToEnd(t *testing.T) {
	list := []end{{staff: "b", pEnd: 0.9}, {staff: "a", pEnd: 0.8}, {staff: "b", pEnd: 0.7}, {staff: "a", pEnd: 0.7},
		{staff: "c", pEnd: 0.5}, {staff: "a", pEnd: 0.2}}
	// a has 1.7, b 1.6, c 0.5: a, b, then a 0.7, b 0.6, c 0.5, and a 0.2 is left with nothing of b's or c's.
	want := []string{"a", "b", "a", "b", "c", "a"}
	for n := range len(want) + 1 {
		count := map[string]int{}
		for _, who := range want[:n] {
			count[who]++
		}
		got := map[string]int{}
		for _, o := range evenly(list, n) {
			got[o.staff]++
		}
		require.Equal(t, count, got, "%d pieces", n)
	}
	first := evenly(list, 3)
	require.Equal(t, []float64{0.9, 0.8, 0.7}, []float64{first[0].pEnd, first[1].pEnd, first[2].pEnd},
		"the likeliest piece of each, people in the order of the list")
	require.Equal(t, "b", first[0].staff)
	equal := []end{{staff: "x", pEnd: 0.5}, {staff: "y", pEnd: 0.5}}
	require.Equal(t, "x", evenly(equal, 1)[0].staff)
	equal[1].pEnd += 1e-12
	require.Equal(t, "x", evenly(equal, 1)[0].staff, "nor does rounding decide")
}
