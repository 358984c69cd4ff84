package sheet_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/inspect"
	"github.com/kitmuster/kitmuster/programme/sheet/sheettest"
)

// TestFixedSheetsBeatGeneralPackers compares needs on sheets of 330 by 483 mm with
// two packers for general use: never more sheets than the better of the two, and 4 %
// fewer in all in the long form.
func TestFixedSheetsBeatGeneralPackers(t *testing.T) {
	needs, tries, most := 4, 120, 0.97
	if os.Getenv("KITMUSTER_FULL") == "1" {
		needs, tries, most = 30, 1500, 0.96
	}
	var ours, theirs int
	for i := range needs {
		req := sheettest.PageNeed(uint64(i))
		req.Budget.Iterations = tries
		plan, err := sheet.Arrange(req)
		require.NoError(t, err)
		require.Empty(t, inspect.Plan(req.Shop, &plan))
		general := sheettest.GeneralSheets(req)
		require.LessOrEqual(t, plan.Orders[0].Sheets(), general, "need %d", i)
		ours, theirs = ours+plan.Orders[0].Sheets(), theirs+general
	}
	t.Logf("%d sheets against %d of general packers: %.1f %%", ours, theirs, 100*(float64(ours)/float64(theirs)-1))
	require.LessOrEqual(t, float64(ours), most*float64(theirs))
}
