package sheet_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/inspect"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
	"github.com/kitmuster/kitmuster/programme/sheet/sheettest"
)

// TestShopNeedsComeNearTheBound: rolls cut with scissors and with a trimmer
// against a bound that nothing is below. The long form has 30 needs; by the clock
// they are measured with kitlab needs.
func TestShopNeedsComeNearTheBound(t *testing.T) {
	needs, tries := 4, map[programme.CutStyle]int{programme.Scissors: 250, programme.Trimmer: 250}
	most := map[programme.CutStyle]float64{programme.Scissors: 0.02, programme.Trimmer: 0.04}
	if os.Getenv("KITMUSTER_FULL") == "1" {
		needs, tries = 30, map[programme.CutStyle]int{programme.Scissors: 6000, programme.Trimmer: 1500}
		most = map[programme.CutStyle]float64{programme.Scissors: 0.012, programme.Trimmer: 0.03}
	}
	for _, cut := range []programme.CutStyle{programme.Scissors, programme.Trimmer} {
		var gap float64
		var islands, both, artworks int
		for i := range needs {
			req := sheettest.ShopNeed(uint64(i), cut, sheettest.Roll)
			req.Budget.Iterations = tries[cut]
			plan, err := sheet.Arrange(req)
			require.NoError(t, err)
			require.Empty(t, inspect.Plan(req.Shop, &plan))
			gap += float64(plan.Orders[0].Used)/sheettest.LengthFloor(req) - 1
			n, m := islandsOf(&plan.Orders[0])
			islands, both, artworks = islands+n, both+m, artworks+len(req.Needs)
		}
		t.Logf("%v: %.2f %% above the bound, %.2f islands an artwork, %.0f %% of the artworks lie both ways",
			cut, 100*gap/float64(needs), float64(islands)/float64(artworks), 100*float64(both)/float64(artworks))
		require.LessOrEqual(t, gap/float64(needs), most[cut])
	}
}

// islandsOf counts the groups of equal images of an order, and its artworks that
// lie both ways on a layout.
func islandsOf(o *sheet.Order) (islands, both int) {
	for i := range o.Layouts {
		number := map[string]int{}
		var places []pack.Place
		for _, it := range o.Layouts[i].Items {
			if _, known := number[it.Artwork]; !known {
				number[it.Artwork] = len(number)
			}
			places = append(places, pack.Place{
				Piece: number[it.Artwork], X: int64(it.X), Y: int64(it.Y), W: int64(it.W + o.Gutter),
				H: int64(it.H + o.Gutter), Turned: it.Turned,
			})
		}
		n, m := pack.Islands(places)
		islands, both = islands+n, both+m
	}
	return islands, both
}
