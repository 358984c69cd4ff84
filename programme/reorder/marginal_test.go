package reorder_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme/reorder"
)

// drawPMF draws a distribution of up to most pieces.
func drawPMF(t *rapid.T, most int, label string) []float64 {
	weights := rapid.SliceOfN(rapid.IntRange(0, 20), 1, most+1).Draw(t, label)
	weights[0]++
	sum := 0
	for _, w := range weights {
		sum += w
	}
	pmf := make([]float64, len(weights))
	for i, w := range weights {
		pmf[i] = float64(w) / float64(sum)
	}
	return pmf
}

func drawSpares(t *rapid.T, lines, most int) ([]reorder.Spare, [][]float64) {
	n := rapid.IntRange(1, lines).Draw(t, "lines")
	spares, pmfs := make([]reorder.Spare, n), make([][]float64, n)
	for i := range spares {
		pmfs[i] = drawPMF(t, most, "pmf")
		spares[i] = reorder.Spare{
			Shortage: reorder.NewShortage(pmfs[i]),
			Stock:    rapid.IntRange(-2, 3).Draw(t, "stock"),
			Cost:     float64(rapid.IntRange(1, 9).Draw(t, "cost")),
		}
	}
	return spares, pmfs
}

// shortByDefinition sums max(0, d - stock) over the distribution.
func shortByDefinition(pmf []float64, stock int) float64 {
	sum := 0.0
	for d, p := range pmf {
		sum += p * math.Max(0, float64(d-stock))
	}
	return sum
}

func TestExpectedShortageIsConvexAndAsDefined(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pmf := drawPMF(t, 12, "pmf")
		c := reorder.NewShortage(pmf)
		for s := -3; s < len(pmf)+3; s++ {
			require.InDelta(t, shortByDefinition(pmf, s), c.At(s), 1e-12)
			require.InDelta(t, c.At(s)-c.At(s+1), c.Gain(s), 1e-12)
			require.LessOrEqual(t, c.Gain(s+1), c.Gain(s)+1e-15,
				"one more piece never does more good than the one before")
		}
	})
}

// totals returns cost, expected shortage and demand of levels, by definition.
func totals(spares []reorder.Spare, pmfs [][]float64, levels []int) (cost, short, needed float64) {
	for i := range spares {
		owed := max(0, -spares[i].Stock)
		cost += spares[i].Cost * float64(levels[i]-max(0, spares[i].Stock))
		short += shortByDefinition(pmfs[i], levels[i])
		needed += shortByDefinition(pmfs[i], 0) + float64(owed)
	}
	return cost, short, needed
}

func TestTheTargetIsReachedAndStockNeverGivenBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spares, pmfs := drawSpares(t, 6, 10)
		target := rapid.Float64Range(0.5, 0.999).Draw(t, "target")
		levels := reorder.Levels(spares, target)
		_, short, needed := totals(spares, pmfs, levels)
		require.LessOrEqual(t, short, (1-target)*needed+1e-9)
		for i := range levels {
			require.GreaterOrEqual(t, levels[i], max(0, spares[i].Stock))
		}
	})
}

func TestMoreMoneyNeverFillsLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spares, pmfs := drawSpares(t, 5, 8)
		cost, short := -1.0, math.Inf(1)
		for target := 0.5; target <= 1; target += 0.01 {
			c, s, _ := totals(spares, pmfs, reorder.Levels(spares, target))
			require.GreaterOrEqual(t, c, cost, "a higher target costs no less: %g", target)
			require.LessOrEqual(t, s, short+1e-12, "and leaves no more short: %g", target)
			cost, short = c, s
		}
	})
}

// cheapest tries every combination of levels that reaches the target.
func cheapest(spares []reorder.Spare, pmfs [][]float64, target float64) float64 {
	best := math.Inf(1)
	levels := make([]int, len(spares))
	var try func(i int)
	try = func(i int) {
		if i == len(spares) {
			cost, short, needed := totals(spares, pmfs, levels)
			if short <= (1-target)*needed+1e-12 {
				best = math.Min(best, cost)
			}
			return
		}
		for l := max(0, spares[i].Stock); l <= max(spares[i].Stock, len(pmfs[i])); l++ {
			levels[i] = l
			try(i + 1)
		}
	}
	try(0)
	return best
}

func TestEqualCostsGiveWhatTryingEverythingGives(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spares, pmfs := drawSpares(t, 3, 5)
		for i := range spares {
			spares[i].Cost = 4
		}
		target := rapid.Float64Range(0.5, 0.99).Draw(t, "target")
		cost, _, _ := totals(spares, pmfs, reorder.Levels(spares, target))
		require.InDelta(t, cheapest(spares, pmfs, target), cost, 1e-9)
	})
}

func TestUnequalCostsAreLessThanOnePieceAboveTryingEverything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		spares, pmfs := drawSpares(t, 3, 5)
		target := rapid.Float64Range(0.5, 0.99).Draw(t, "target")
		cost, _, _ := totals(spares, pmfs, reorder.Levels(spares, target))
		dearest := 0.0
		for _, s := range spares {
			dearest = math.Max(dearest, s.Cost)
		}
		best := cheapest(spares, pmfs, target)
		require.GreaterOrEqual(t, cost, best-1e-9)
		require.Less(t, cost, best+dearest)
	})
}

// Lines of equal gain take turns from the first on, and a target that cannot be reached asks for
// every piece that may be needed.
func TestEqualLinesTakeTurns(t *testing.T) {
	curve := reorder.NewShortage([]float64{0.25, 0.25, 0.25, 0.25})
	three := []reorder.Spare{{Shortage: curve, Cost: 4}, {Shortage: curve, Cost: 4}, {Shortage: curve, Cost: 4},
		{Shortage: reorder.NewShortage([]float64{1}), Cost: 1}}
	// Each needs 1.5, and its three pieces take 0.75, 0.5 and 0.25 of it away.
	for target, want := range map[float64][]int{0: {0, 0, 0}, 0.3: {1, 1, 0}, 0.5: {1, 1, 1}, 0.6: {2, 1, 1},
		0.9: {3, 3, 2}, 1: {3, 3, 3}, 1.5: {3, 3, 3}} {
		require.Equal(t, append(want, 0), reorder.Levels(three, target), "%g, and nothing of what nobody needs", target)
	}
	three[1].Cost = 1
	require.Equal(t, []int{0, 3, 0, 0}, reorder.Levels(three, 0.3),
		"a piece of the cheap line for the money of a quarter, though it takes less away")
}
