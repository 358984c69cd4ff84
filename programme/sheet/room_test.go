package sheet_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/inspect"
)

// roomyShop prints on sheets of 10 by 10 in without margins: a chest print of
// 6 by 10 leaves a band of 4 by 10, which holds two caps of 4 by 5.
func roomyShop() *programme.Shop {
	in := programme.Inch
	return &programme.Shop{
		Currency: "USD",
		Kinds: []programme.TransferKind{{
			Code: "screen", Process: programme.ScreenPrinted, Cut: programme.Scissors, SetUp: 1000, SetUpPerInk: 500,
			ShelfDays: 365,
			Prices:    []programme.PriceBreak{{From: 1, Price: 500}},
			Sheets:    []programme.SheetSize{{Code: "10x10", Width: 10 * in, Height: 10 * in}},
		}},
		Artworks: []programme.Artwork{
			{Code: "chest", Client: "cafe", Kind: "screen", Width: 6 * in, Height: 10 * in, Inks: 1, InkSet: "white"},
			{Code: "cap", Client: "cafe", Kind: "screen", Width: 4 * in, Height: 5 * in, Inks: 1, InkSet: "white"},
			{Code: "sleeve", Client: "cafe", Kind: "screen", Width: in, Height: in, Inks: 2, InkSet: "team"},
			{Code: "other", Client: "bakery", Kind: "screen", Width: in, Height: in, Inks: 1, InkSet: "white"},
		},
	}
}

// TestPaidRoomIsOffered: ten chest prints leave room for twenty caps in the same
// ink; a sleeve mark in another ink would cost a set-up, and another client's
// art is not on the sheet.
func TestPaidRoomIsOffered(t *testing.T) {
	req := sheet.Request{AsOf: march, Shop: roomyShop(), Needs: []sheet.Need{{Artwork: "chest", Pieces: 10}}}
	without, err := sheet.Arrange(req)
	require.NoError(t, err)
	require.Empty(t, without.Orders[0].Room)
	req.Spares = []sheet.Spare{{Artwork: "cap", PerMonth: 4, From: march.Add(61)}, {Artwork: "sleeve"}}
	offered, err := sheet.Arrange(req)
	require.NoError(t, err)
	want := sheet.Room{Layout: "A", Artwork: "cap", Client: "cafe", Each: 2, Pieces: 20, From: march.Add(61),
		Until: march.Add(61 + 153)}
	require.Equal(t, []sheet.Room{want}, offered.Orders[0].Room)
	require.Equal(t, without.Orders[0].Layouts, offered.Orders[0].Layouts, "an offer moves nothing")

	req.Fill = true
	taken, err := sheet.Arrange(req)
	require.NoError(t, err)
	require.Empty(t, inspect.Plan(req.Shop, &taken))
	want.Taken = true
	require.Equal(t, []sheet.Room{want}, taken.Orders[0].Room)
	require.Equal(t, without.Cost, taken.Cost)
	require.Equal(t, []sheet.Line{
		{Artwork: "cap", Client: "cafe", Kind: "screen", Printed: 20},
		{Artwork: "chest", Client: "cafe", Kind: "screen", Asked: 10, Print: 10, Printed: 10},
	}, taken.Lines)
}

// TestOnlyWhatWillBeUsedIsOffered: a cap a month, used from the 300th day on by
// transfers that keep 365 days, is worth two transfers and not twenty.
func TestOnlyWhatWillBeUsedIsOffered(t *testing.T) {
	req := sheet.Request{AsOf: march, Shop: roomyShop(), Needs: []sheet.Need{{Artwork: "chest", Pieces: 1}}}
	for from, want := range map[int]int{300: 2, 340: 0, 400: 0} {
		req.Spares = []sheet.Spare{{Artwork: "cap", PerMonth: 1, From: march.Add(from)}}
		plan, err := sheet.Arrange(req)
		require.NoError(t, err)
		n := 0
		for _, r := range plan.Orders[0].Room {
			n += r.Pieces
		}
		require.Equal(t, want, n, "used from day %d on", from)
	}
}

// TestNoMoreIsOfferedThanWillBeUsed: the band beside a chest print holds twenty marks of 2 by 1 in; of
// a mark that is needed so often, and of one of which nobody knows, only what will be used is offered.
func TestNoMoreIsOfferedThanWillBeUsed(t *testing.T) {
	shop := roomyShop()
	shop.Artworks = append(shop.Artworks, programme.Artwork{Code: "mark", Client: "cafe", Kind: "screen",
		Width: 2 * programme.Inch, Height: programme.Inch, Inks: 1, InkSet: "white"})
	for sheets := range 4 {
		req := sheet.Request{AsOf: march, Shop: shop, Needs: []sheet.Need{{Artwork: "chest", Pieces: 1 + sheets}}}
		for perMonth, use := range map[float64]int{0: 1, 1: 2, 3: 6, 6: 12, 100: 200} {
			req.Spares = []sheet.Spare{{Artwork: "mark", PerMonth: perMonth, From: march.Add(300)}}
			plan, err := sheet.Arrange(req)
			require.NoError(t, err)
			copies, n := 1+sheets, 0
			for _, r := range plan.Orders[0].Room {
				n += r.Pieces
				require.Equal(t, perMonth == 0, r.Until.IsZero(), "%g a month", perMonth)
			}
			require.Equal(t, min(20, (use+copies-1)/copies)*copies, n, "%g a month on %d sheets", perMonth, copies)
		}
	}
}

func TestLikelyNamesTheNextNeedAndOtherArtOfTheSameClients(t *testing.T) {
	req := sheet.Request{AsOf: march, Shop: roomyShop(),
		Needs: []sheet.Need{{Artwork: "chest", Pieces: 10, PerMonth: 5}}}
	require.Equal(t, []sheet.Spare{{Artwork: "chest", PerMonth: 5, From: march.Add(61)}, {Artwork: "cap"},
		{Artwork: "sleeve"}}, sheet.Likely(req))
}

// TestSparesCostNothing lays spares onto random plans of every kind: nothing
// that is paid changes, nobody's part does, and every rule is kept.
func TestSparesCostNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(51, 52))
	found := 0
	for range 60 {
		req := randomRequest(rng)
		req.Budget.Iterations = 20
		plain, err := sheet.Arrange(req)
		require.NoError(t, err)
		for i := range req.Shop.Artworks {
			req.Spares = append(req.Spares, sheet.Spare{Artwork: req.Shop.Artworks[i].Code, PerMonth: 20,
				From: march.Add(30)})
		}
		req.Fill = true
		filled, err := sheet.Arrange(req)
		require.NoError(t, err)
		require.Empty(t, inspect.Plan(req.Shop, &filled))
		require.Equal(t, plain.Cost, filled.Cost)
		require.Len(t, filled.Shares, len(plain.Shares))
		for i, s := range plain.Shares {
			require.Equal(t, s.Cost, filled.Shares[i].Cost)
			require.InDelta(t, s.Area, filled.Shares[i].Area, 1e-9)
		}
		for _, o := range filled.Orders {
			found += len(o.Room)
		}
	}
	require.Greater(t, found, 20)
}
