package sheet_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/inspect"
	"github.com/kitmuster/kitmuster/programme/sheet/sheettest"
)

// TestATrimmersRollIsLittleWorkToCut: among rolls that cost within 0.3 % of the
// cheapest found the one with fewer islands, artworks both ways and settings of the
// fence is taken. A plan that nobody will cut shows what the cheapest is.
func TestATrimmersRollIsLittleWorkToCut(t *testing.T) {
	saved := 0
	for _, i := range []uint64{41, 21}[:most(2)] {
		req := sheettest.ShopNeed(i, programme.Trimmer, sheettest.Roll)
		var last programme.Money
		for _, tries := range []int{300, 1500} {
			req.Budget = sheet.Budget{Iterations: tries, Trial: true}
			cheapest, err := sheet.Arrange(req)
			require.NoError(t, err)
			req.Budget.Trial = false
			plan, err := sheet.Arrange(req)
			require.NoError(t, err)
			require.Empty(t, inspect.Plan(req.Shop, &plan))
			require.LessOrEqual(t, plan.Cost.Total().Float(), cheapest.Cost.Total().Float()*1.003+0.5)
			less := workOf(&cheapest.Orders[0]) - workOf(&plan.Orders[0])
			require.GreaterOrEqual(t, less, 0)
			saved += less
			if last > 0 {
				require.LessOrEqual(t, plan.Cost.Total(), last, "need %d: a longer search costs more", i)
			}
			last = plan.Cost.Total()
		}
	}
	require.Positive(t, saved)
}

func workOf(o *sheet.Order) int {
	islands, both := islandsOf(o)
	work := islands + both
	for i := range o.Layouts {
		hands, _ := sheet.HandsOf(&o.Layouts[i])
		work += hands.Settings
	}
	return work
}
