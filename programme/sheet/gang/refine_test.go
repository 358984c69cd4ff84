package gang_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme/sheet/gang"
)

// paid is what two layouts with these runs cost where each is priced by its own run:
// the runs as they are, nothing more ordered.
func paid(breaks []gang.Break, setUp float64, runs ...int) (sum float64) {
	for _, n := range runs {
		if n == 0 {
			continue
		}
		each := 0.0
		for _, b := range breaks {
			if b.From <= n {
				each = b.Price
			}
		}
		sum += setUp + float64(n)*each
	}
	return sum
}

// Of two layouts the cheapest runs are found: no other pair of runs that covers the need
// costs less, whether or not a solution is known already.
func TestTwoLayoutsGetTheirCheapestRuns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		price := float64(rapid.IntRange(10, 40).Draw(t, "price"))
		breaks := []gang.Break{{From: 1, Price: price},
			{From: rapid.IntRange(5, 20).Draw(t, "break"),
				Price: price * rapid.Float64Range(0.3, 0.9).Draw(t, "of it")}}
		setUp := float64(rapid.IntRange(0, 30).Draw(t, "set-up"))
		p := &gang.Problem{
			Need:  []int{rapid.IntRange(1, 30).Draw(t, "a"), rapid.IntRange(1, 30).Draw(t, "b")},
			Size:  []float64{0.25, 0.25},
			Slots: 4, Breaks: breaks, SetUp: func([]int) float64 { return setUp },
		}
		c := rapid.IntRange(0, 4).Draw(t, "on the first")
		d := rapid.IntRange(0, 4).Draw(t, "on the second")
		layouts := []gang.Layout{{Copies: []int{c, 4 - c}, Run: 30}, {Copies: []int{d, 4 - d}, Run: 30}}
		if !covers(p, layouts) {
			t.Skip("an artwork is on neither")
		}
		least := math.Inf(1)
		for a := range 41 {
			for b := range 41 {
				if covers(p, []gang.Layout{{Copies: layouts[0].Copies, Run: a}, {Copies: layouts[1].Copies, Run: b}}) {
					least = min(least, paid(breaks, setUp, a, b))
				}
			}
		}
		for _, known := range []bool{false, true} {
			net, best := gang.Refine(p, layouts, known)
			require.InDelta(t, least, net, 1e-6)
			require.InDelta(t, least, best.Net(), 1e-6, "and it is offered")
			require.True(t, covers(p, best.Layouts))
		}
	})
}
