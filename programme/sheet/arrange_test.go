package sheet_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/inspect"
)

// randomShop invents a shop with one transfer kind and artworks of some clients.
func randomShop(rng *rand.Rand) *programme.Shop {
	kind := programme.TransferKind{
		Code: "k", Process: programme.Digital, Cut: programme.Scissors,
		Gutter: programme.Length(rng.IntN(3)) * programme.Inch / 8,
		Margin: programme.Length(rng.IntN(3)) * programme.Inch / 8,
		SetUp:  programme.Money(rng.IntN(4000)), ShelfDays: 180, Spoilage: float64(rng.IntN(5)) / 100,
		OverWorth: float64(rng.IntN(3)) * 0.4, MaxOversMonths: float64(rng.IntN(4)), BreaksPerOrder: rng.IntN(2) == 0,
		MinimumOrder: programme.Money(rng.IntN(3)) * 2500,
		Prices:       []programme.PriceBreak{{From: 1, Price: 900}, {From: 10, Price: 700}, {From: 50, Price: 420}},
		Sheets: []programme.SheetSize{{Code: "roll", Width: 22 * programme.Inch,
			Height: programme.Length(rng.IntN(2)) * 60 * programme.Inch, Roll: true}},
	}
	if rng.IntN(2) == 0 {
		kind.Cut = programme.Trimmer
	}
	switch rng.IntN(3) {
	case 0:
		kind.Process = programme.ScreenPrinted
		kind.SetUpPerInk = programme.Money(rng.IntN(2000))
		kind.Sheets = []programme.SheetSize{{Code: "13x19", Width: 13 * programme.Inch, Height: 19 * programme.Inch}}
	case 1:
		kind.Sheets = []programme.SheetSize{{Code: "12x18", Width: 12 * programme.Inch, Height: 18 * programme.Inch}}
	}
	shop := &programme.Shop{Currency: "USD", Kinds: []programme.TransferKind{kind}}
	for i := range 1 + rng.IntN(6) {
		shop.Artworks = append(shop.Artworks, programme.Artwork{
			Code: fmt.Sprint("art", i), Client: fmt.Sprint("client", rng.IntN(3)), Kind: "k",
			Width:  programme.Inch + programme.Length(rng.IntN(80))*programme.Inch/8,
			Height: programme.Inch + programme.Length(rng.IntN(80))*programme.Inch/8,
			Turn:   rng.IntN(2) == 0, Inks: 1 + rng.IntN(4), InkSet: []string{"", "white", "team"}[rng.IntN(3)],
		})
	}
	return shop
}

func randomRequest(rng *rand.Rand) sheet.Request {
	req := sheet.Request{AsOf: programme.NewDate(2026, 3, 9), Shop: randomShop(rng)}
	for _, a := range req.Shop.Artworks {
		req.Needs = append(req.Needs, sheet.Need{Artwork: a.Code, Pieces: rng.IntN(40),
			PerMonth: float64(rng.IntN(10))})
		if rng.IntN(2) == 0 {
			req.Shelf = append(req.Shelf, programme.StockLine{AsOf: req.AsOf,
				Goods: programme.Goods{Kind: programme.Transfer, Code: a.Code}, Pieces: rng.IntN(10),
				Made: req.AsOf.Add(-rng.IntN(400))})
		}
	}
	return req
}

// most is how many needs a quick run (-short) tries of so many: under the race detector,
// and again for every change that mutation testing makes, one search shows as much as three.
func most(n int) int {
	if testing.Short() {
		return (n + 2) / 3
	}
	return n
}

// TestNoRandomNeedBreaksARule is the check of the plans by an independent
// inspector; KITMUSTER_FULL=1 makes it ten thousand needs.
func TestNoRandomNeedBreaksARule(t *testing.T) {
	n := most(400)
	if os.Getenv("KITMUSTER_FULL") == "1" {
		n = 10_000
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range n {
		req := randomRequest(rng)
		req.Budget = sheet.Budget{Seed: uint64(i), Iterations: 1 + rng.IntN(60)}
		plan, err := sheet.Arrange(req)
		require.NoError(t, err, "need %d", i)
		require.Empty(t, inspect.Plan(req.Shop, &plan), "need %d", i)
		for j := range plan.Orders {
			requireSharesByArea(t, &plan.Orders[j])
		}
	}
}

// TestNoCutIsLongerThanTheTrimmer: rolls are cut across first, into parts no longer than
// the trimmer cuts, unless an artwork is longer itself.
func TestNoCutIsLongerThanTheTrimmer(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range most(75) {
		req := randomRequest(rng)
		kind := &req.Shop.Kinds[0]
		if !kind.Sheets[0].Roll {
			continue
		}
		kind.Cut, kind.LongestCut = programme.Trimmer, 22*programme.Inch
		req.Budget = sheet.Budget{Seed: uint64(i), Iterations: 200 + rng.IntN(600)}
		plan, err := sheet.Arrange(req)
		require.NoError(t, err)
		require.Empty(t, inspect.Plan(req.Shop, &plan), "need %d", i)
	}
}

// requireSharesByArea adds up the printed images of each client, spares left out.
func requireSharesByArea(t *testing.T, o *sheet.Order) {
	t.Helper()
	area, all := map[string]float64{}, 0.0
	for _, l := range o.Layouts {
		for _, it := range l.Items {
			if it.Spare {
				continue
			}
			a := it.W.Inches() * it.H.Inches() * float64(l.Copies)
			area[it.Client] += a
			all += a
		}
	}
	require.Len(t, o.Shares, len(area))
	for _, s := range o.Shares {
		require.InDelta(t, area[s.Client]/all, s.Area, 1e-9, s.Client)
	}
}

func TestTheSameRequestGivesTheSamePlan(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range most(30) {
		req := randomRequest(rng)
		a, err := sheet.Arrange(req)
		require.NoError(t, err)
		b, err := sheet.Arrange(req)
		require.NoError(t, err)
		require.Equal(t, a, b)
	}
}

func BenchmarkQuickPlan(b *testing.B) {
	rng := rand.New(rand.NewPCG(5, 6))
	var reqs []sheet.Request
	for range 50 {
		reqs = append(reqs, randomRequest(rng))
	}
	for i := 0; b.Loop(); i++ {
		_, err := sheet.Arrange(reqs[i%len(reqs)])
		require.NoError(b, err)
	}
}
