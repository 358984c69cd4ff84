package sheet_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/inspect"
)

const metre = 1000 * programme.Millimetre

// rollOf is a shop with one roll of 500 mm without margins and one square
// artwork of which five lie across, so that n need n/5 times 100 mm.
func rollOf(change func(*programme.TransferKind)) *programme.Shop {
	kind := programme.TransferKind{
		Code: "film", Process: programme.Digital, Printer: "films", Cut: programme.Scissors,
		Prices: []programme.PriceBreak{{From: 0, Price: 1600}, {From: 5, Price: 1350}, {From: 15, Price: 1100}},
		Sheets: []programme.SheetSize{{Code: "roll", Width: metre / 2, Height: 20 * metre, Roll: true}},
	}
	change(&kind)
	return &programme.Shop{
		Currency: "USD", Kinds: []programme.TransferKind{kind},
		Suppliers: []programme.Supplier{{Code: "films"}, {Code: "others", Freight: 500}},
		Artworks: []programme.Artwork{{Code: "a", Client: "c", Kind: "film", Width: metre / 10, Height: metre / 10,
			Turn: true}},
	}
}

// TestPriceForms works out by hand what each way to charge comes to for pieces
// of 100 by 100 mm, five across a roll of 500 mm.
func TestPriceForms(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*programme.TransferKind)
		pieces int
		length programme.Length
		cost   programme.Money
	}{
		"4.9 m are paid as 5 m where that costs less": {func(*programme.TransferKind) {}, 245, 5 * metre, 5 * 1350},
		"14.1 m are paid as 15 m":                     {func(*programme.TransferKind) {}, 705, 15 * metre, 15 * 1100},
		"3 m are paid as they are":                    {func(*programme.TransferKind) {}, 150, 3 * metre, 3 * 1600},
		"a length is rounded up to a metre": {func(k *programme.TransferKind) { k.Sheets[0].Step = metre },
			110, 3 * metre, 3 * 1600},
		"by the foot, rounded up to feet": {func(k *programme.TransferKind) {
			k.Sheets[0].Step, k.PricedBy = 12*inch, programme.PerFoot
		}, 15, 12 * inch, 1600},
		"by the square metre": {func(k *programme.TransferKind) {
			k.PricedBy = programme.PerSquareMetre
		}, 100, 2 * metre, 1600},
		"of the size's own price list": {func(k *programme.TransferKind) {
			k.Sheets[0].Prices = []programme.PriceBreak{{From: 0, Price: 1000}}
		}, 50, metre, 1000},
		"in fixed lengths at set prices": {func(k *programme.TransferKind) {
			k.Sheets[0].Lengths = fixedLengths()
		}, 60, 2 * metre, 2500},
		"in several fixed lengths, the last one short": {func(k *programme.TransferKind) {
			k.Sheets[0].Lengths = fixedLengths()
		}, 130, 3 * metre, 4000},
		"by another printer who is cheaper": {func(k *programme.TransferKind) {
			k.Offers = []programme.PrintOffer{{Printer: "others", Sheets: k.Sheets,
				Prices: []programme.PriceBreak{{From: 0, Price: 1000}}}}
		}, 100, 2 * metre, 2000},
		"by the first printer where freight makes the other dearer": {func(k *programme.TransferKind) {
			k.Offers = []programme.PrintOffer{{Printer: "others", Sheets: k.Sheets,
				Prices: []programme.PriceBreak{{From: 0, Price: 1400}}}}
		}, 50, metre, 1600},
	} {
		t.Run(name, func(t *testing.T) {
			shop := rollOf(c.change)
			plan, err := sheet.Arrange(sheet.Request{AsOf: march, Shop: shop,
				Needs: []sheet.Need{{Artwork: "a", Pieces: c.pieces}}})
			require.NoError(t, err)
			require.Empty(t, inspect.Plan(shop, &plan))
			require.Equal(t, c.cost, plan.Cost.Total())
			require.Equal(t, c.length, plan.Orders[0].Length)
		})
	}
}

func fixedLengths() []programme.LengthPrice {
	return []programme.LengthPrice{{Length: metre, Price: 1500}, {Length: 2 * metre, Price: 2500}}
}

// TestDigitalKindsMayBePrintedOnSheets: six pieces of 100 by 100 mm on sheets of
// 200 by 200 mm take two sheets, and ten cost less than nine.
func TestDigitalKindsMayBePrintedOnSheets(t *testing.T) {
	shop := rollOf(func(k *programme.TransferKind) {
		k.Sheets = []programme.SheetSize{{Code: "page", Width: metre / 5, Height: metre / 5}}
		k.Prices = []programme.PriceBreak{{From: 1, Price: 300}, {From: 10, Price: 200}}
	})
	for pieces, want := range map[int]programme.Money{6: 600, 36: 2000} {
		plan, err := sheet.Arrange(sheet.Request{AsOf: march, Shop: shop,
			Needs: []sheet.Need{{Artwork: "a", Pieces: pieces}}})
		require.NoError(t, err)
		require.Empty(t, inspect.Plan(shop, &plan))
		require.Equal(t, want, plan.Cost.Total())
	}
}

// TestALongerSearchNeverCostsMore: a longer search goes through all that a
// shorter one does, with kinds of every sort sharing the effort.
func TestALongerSearchNeverCostsMore(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 32))
	for range most(8) {
		req := randomRequest(rng)
		last := programme.Money(1 << 60)
		for _, n := range []int{1, 10, 60, 200, 700, 2500} {
			req.Budget.Iterations = n
			plan, err := sheet.Arrange(req)
			require.NoError(t, err)
			net := plan.Cost.Total() - plan.Cost.OverWorth
			require.LessOrEqual(t, net, last, "%d tries", n)
			last = net
		}
	}
}

// TestItMakesNoDifferenceWhichSideOfAnArtworkIsItsWidth turns artworks that may be turned.
func TestItMakesNoDifferenceWhichSideOfAnArtworkIsItsWidth(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 42))
	for range most(40) {
		req := randomRequest(rng)
		req.Budget.Iterations = 30
		a, err := sheet.Arrange(req)
		require.NoError(t, err)
		for i := range req.Shop.Artworks {
			if art := &req.Shop.Artworks[i]; art.Turn {
				art.Width, art.Height = art.Height, art.Width
			}
		}
		b, err := sheet.Arrange(req)
		require.NoError(t, err)
		require.Equal(t, a.Cost, b.Cost)
	}
}

// TestALengthThatOnlyThePriceAsksForIsUsed: 4.9 m are paid as 5 m, which leaves a
// row of five for the next need of the artwork that is used soonest.
func TestALengthThatOnlyThePriceAsksForIsUsed(t *testing.T) {
	shop := rollOf(func(*programme.TransferKind) {})
	later := shop.Artworks[0]
	later.Code = "b"
	shop.Artworks = append(shop.Artworks, later)
	req := sheet.Request{AsOf: march, Shop: shop, Needs: []sheet.Need{{Artwork: "a", Pieces: 240, PerMonth: 40},
		{Artwork: "b", Pieces: 5, PerMonth: 5}}}
	plan, err := sheet.Arrange(req)
	require.NoError(t, err)
	require.Empty(t, inspect.Plan(shop, &plan))
	o := &plan.Orders[0]
	require.Equal(t, programme.Money(5*1350), plan.Cost.Total())
	require.Equal(t, []sheet.Room{{Layout: "A", Artwork: "b", Client: "c", Each: 5, Pieces: 5, From: march.Add(31),
		Until: march.Add(62), Taken: true}}, o.Room)
	require.Equal(t, []string{
		"196.85 in of roll cost $67.50, less than the $78.40 that only the length in use would cost.",
		"No way to print it costs less: this was proven.",
	}, o.Why)
}
