package sheet_test

import (
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/inspect"
	"github.com/kitmuster/kitmuster/programme/sheet/sheettest"
)

// TestSmallNeedsArePrintedAtLeastCost compares with every way to print small
// needs of one client and of several with at most three layouts.
func TestSmallNeedsArePrintedAtLeastCost(t *testing.T) {
	single, pooled, effort := 10, 5, 2000
	if os.Getenv("KITMUSTER_FULL") == "1" {
		single, pooled, effort = 40, 20, 20_000
	}
	for i := range single + pooled {
		clients, artworks := 1, 2+i%2
		if i >= single {
			clients, artworks = 2+i%2, 3
		}
		req := sheettest.GangNeed(uint64(i), clients, artworks)
		req.Budget.Iterations = effort
		plan, err := sheet.Arrange(req)
		require.NoError(t, err)
		require.Empty(t, inspect.Plan(req.Shop, &plan))
		require.LessOrEqual(t, float64(plan.Cost.Total()), sheettest.LeastCost(req)+0.5, "case %d", i)
	}
}

// TestAtFortyClientsMoreSearchNeverCostsMore: ten times the budget is never worse.
func TestAtFortyClientsMoreSearchNeverCostsMore(t *testing.T) {
	budgets := []int{2, 20}
	if os.Getenv("KITMUSTER_FULL") == "1" {
		budgets = []int{20, 200, 2000, 20_000}
	}
	req := sheettest.GangNeed(4040, 40, 40)
	before := math.Inf(1)
	for _, n := range budgets {
		req.Budget.Iterations = n
		plan, err := sheet.Arrange(req)
		require.NoError(t, err)
		require.Empty(t, inspect.Plan(req.Shop, &plan))
		now := float64(plan.Cost.Total() - plan.Cost.OverWorth)
		t.Logf("%d tries: %.2f", n, now/100)
		require.LessOrEqual(t, now, before+0.5, "%d tries", n)
		before = now
	}
}
