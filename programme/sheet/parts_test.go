package sheet_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/inspect"
)

// largeRequest needs screen-printed transfers of so many clients, three artworks each.
func largeRequest(clients int, perOrder bool) sheet.Request {
	rng := rand.New(rand.NewPCG(7, 8))
	shop := &programme.Shop{Currency: "USD", Kinds: []programme.TransferKind{{
		Code: "k", Process: programme.ScreenPrinted, Gutter: programme.Inch / 4, Margin: programme.Inch / 4,
		SetUp: 2500, SetUpPerInk: 1000, Spoilage: 0.02, OverWorth: 0.4, MaxOversMonths: 3, ShelfDays: 180,
		BreaksPerOrder: perOrder,
		Prices:         []programme.PriceBreak{{From: 1, Price: 900}, {From: 10, Price: 700}, {From: 500, Price: 420}},
		Sheets:         []programme.SheetSize{{Code: "13x19", Width: 13 * programme.Inch, Height: 19 * programme.Inch}},
	}}}
	req := sheet.Request{AsOf: programme.NewDate(2026, 3, 9), Shop: shop}
	for i := range 3 * clients {
		a := programme.Artwork{
			Code: fmt.Sprintf("art-%04d", i), Client: fmt.Sprintf("client-%03d", i/3), Kind: "k", Inks: 1 + rng.IntN(2),
			InkSet: "white",
			Width:  programme.Length(8+rng.IntN(24)) * programme.Inch / 8,
			Height: programme.Length(8+rng.IntN(24)) * programme.Inch / 8,
		}
		shop.Artworks = append(shop.Artworks, a)
		req.Needs = append(req.Needs, sheet.Need{Artwork: a.Code, Pieces: 5 + rng.IntN(60),
			PerMonth: float64(rng.IntN(20))})
	}
	return req
}

// A need of many clients is planned in parts: it must keep every rule, leave
// no client's artworks on layouts of different parts, and cost no more than
// each client by itself.
func TestALargeNeedIsPlannedInParts(t *testing.T) {
	for _, perOrder := range []bool{false, true}[:most(2)] {
		req := largeRequest(40, perOrder)
		plan, err := sheet.Arrange(req)
		require.NoError(t, err)
		require.Empty(t, inspect.Plan(req.Shop, &plan))
		require.LessOrEqual(t, largestPool(&plan), 16, "clients of 48 artworks")
		var alone, worth programme.Money
		for _, c := range apart(t, req) {
			alone, worth = alone+c.Total(), worth+c.OverWorth
		}
		require.LessOrEqual(t, plan.Cost.Total()-plan.Cost.OverWorth, alone-worth)
		again, err := sheet.Arrange(req)
		require.NoError(t, err)
		require.Equal(t, plan, again)
	}
}

// largestPool is the number of clients in the largest set that shares layouts,
// directly or through others.
func largestPool(plan *sheet.Plan) int {
	pool := map[string]string{}
	var root func(string) string
	root = func(c string) string {
		if pool[c] == "" || pool[c] == c {
			pool[c] = c
			return c
		}
		return root(pool[c])
	}
	for _, l := range plan.Orders[0].Layouts {
		for _, it := range l.Items {
			pool[root(it.Client)] = root(l.Items[0].Client)
		}
	}
	size, most := map[string]int{}, 0
	for c := range pool {
		size[root(c)]++
		most = max(most, size[root(c)])
	}
	return most
}

// BenchmarkLargePlan shows that ten times the artworks take about ten times the time.
func BenchmarkLargePlan(b *testing.B) {
	for _, clients := range []int{20, 200} {
		req := largeRequest(clients, false)
		b.Run(fmt.Sprint(3*clients), func(b *testing.B) {
			for b.Loop() {
				_, err := sheet.Arrange(req)
				require.NoError(b, err)
			}
		})
	}
}
