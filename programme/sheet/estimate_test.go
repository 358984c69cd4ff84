package sheet_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// Capacities in straight rows of sheets with 0.25 in margin and gutter, worked out
// by hand: on 13 by 19 in, (13 - 0.5 + 0.25) / 3.75 = 3 across and 5 down. Rows
// that lie both ways may hold more.
func TestAGuessKnowsWhatASheetHolds(t *testing.T) {
	in := func(x float64) programme.Length { return programme.Length(x * float64(programme.Inch)) }
	for _, c := range []struct {
		w, h, width, height float64
		turn                bool
		want                int
	}{
		{3.5, 3.5, 13, 19, true, 15},
		{4.5, 2.25, 13, 19, true, 15},
		{3.5, 3.5, 22, 24, true, 30},
		{4.5, 2.25, 22, 24, true, 40},
		{3, 3, 22, 24, true, 42},
		{11, 12, 22, 24, true, 2},
		{11, 12, 22, 24, false, 1},
		{14, 14, 13, 19, true, 0},
	} {
		kind := &programme.TransferKind{
			Process: programme.ScreenPrinted, Cut: programme.Trimmer, Gutter: in(0.25), Margin: in(0.25),
			Prices: []programme.PriceBreak{{From: 1, Price: 3000}},
			Sheets: []programme.SheetSize{{Width: in(c.width), Height: in(c.height)}},
		}
		guess, ok := sheet.Estimate(kind, &programme.Artwork{Width: in(c.w), Height: in(c.h), Turn: c.turn}, 1)
		require.Equal(t, c.want > 0, ok)
		if ok {
			require.LessOrEqual(t, guess.Print, 3000/float64(c.want)+1e-9, "%v", c)
		}
	}
}

// TestAGuessIsWhatAPlanCosts: one artwork alone on film costs by plan what was
// guessed, under every way to charge.
func TestAGuessIsWhatAPlanCosts(t *testing.T) {
	for name, change := range map[string]func(*programme.TransferKind){
		"by the metre":        func(*programme.TransferKind) {},
		"up to a metre":       func(k *programme.TransferKind) { k.Sheets[0].Step = metre },
		"in fixed lengths":    func(k *programme.TransferKind) { k.Sheets[0].Lengths = fixedLengths() },
		"by the square metre": func(k *programme.TransferKind) { k.PricedBy = programme.PerSquareMetre },
		"with a set-up":       func(k *programme.TransferKind) { k.SetUp = 1200 },
		"by another, cheaper house": func(k *programme.TransferKind) {
			k.Offers = []programme.PrintOffer{{Printer: "others", Sheets: k.Sheets,
				Prices: []programme.PriceBreak{{From: 0, Price: 700}}}}
		},
	} {
		t.Run(name, func(t *testing.T) {
			shop := rollOf(change)
			shop.Suppliers = nil // freight is no part of a guess
			for _, pieces := range []int{5, 50, 245, 400} {
				guess, ok := sheet.Estimate(&shop.Kinds[0], &shop.Artworks[0], pieces)
				require.True(t, ok)
				plan, err := sheet.Arrange(sheet.Request{AsOf: march, Shop: shop,
					Needs: []sheet.Need{{Artwork: "a", Pieces: pieces}}})
				require.NoError(t, err)
				require.InDelta(t, float64(plan.Cost.Total()), guess.Each()*float64(pieces), 1, "%d pieces", pieces)
			}
		})
	}
}

// Artworks too small for their sheet to be looked at any closer lie in straight rows, all
// the same way: 190 by 230 of 2.1 by 1.3 mm on 400 by 300, and 307 by 142 turned (own arithmetic).
func TestAGuessOfManySmallOnes(t *testing.T) {
	tenth := programme.Millimetre / 10
	for _, c := range []struct {
		w, h  programme.Length
		turn  bool
		least int // on a sheet of 400 by 300 mm
	}{{21, 13, false, 190 * 230}, {21, 13, true, 190 * 230}, {13, 21, false, 307 * 142}, {13, 21, true, 190 * 230},
		{19, 11, false, 210 * 272}, {11, 19, true, 210 * 272}} {
		kind := &programme.TransferKind{
			Process: programme.ScreenPrinted, Prices: []programme.PriceBreak{{From: 1, Price: 1_000_000}},
			Sheets: []programme.SheetSize{{Width: 4000 * tenth, Height: 3000 * tenth}},
		}
		guess, ok := sheet.Estimate(kind, &programme.Artwork{Width: c.w * tenth, Height: c.h * tenth, Turn: c.turn}, 1)
		require.True(t, ok)
		require.InDelta(t, 1_000_000/float64(c.least), guess.Print, 1e-6, "%v", c)
	}
}

// A pinwheel of four 3 by 2 is cut apart with scissors; a trimmer gets three from a sheet of 5 by 5.
func TestAGuessHeedsHowSheetsAreCut(t *testing.T) {
	for cut, n := range map[programme.CutStyle]float64{programme.Scissors: 4, programme.Trimmer: 3} {
		kind := &programme.TransferKind{
			Process: programme.ScreenPrinted, Cut: cut, Prices: []programme.PriceBreak{{From: 1, Price: 1200}},
			Sheets: []programme.SheetSize{{Width: 5 * programme.Inch, Height: 5 * programme.Inch}},
		}
		guess, ok := sheet.Estimate(kind, &programme.Artwork{Width: 3 * programme.Inch, Height: 2 * programme.Inch,
			Turn: true}, 1)
		require.True(t, ok)
		require.InDelta(t, 1200/n, guess.Print, 1e-9)
	}
}

// Without any price nothing can be guessed; fixed lengths at set prices need no other.
func TestAGuessNeedsAPrice(t *testing.T) {
	art := &programme.Artwork{Width: metre / 10, Height: metre / 10}
	kind := &programme.TransferKind{Process: programme.Digital,
		Sheets: []programme.SheetSize{{Width: metre / 2, Roll: true}}}
	_, ok := sheet.Estimate(kind, art, 5)
	require.False(t, ok)
	kind.Sheets[0].Lengths = fixedLengths()
	guess, ok := sheet.Estimate(kind, art, 5)
	require.True(t, ok)
	require.InDelta(t, 1500.0/5, guess.Each(), 1e-9, "five of the shorter length")
}

// Every piece of a roll has margins: ten rows of 100 mm fill one of 1.1 m, so that 50 images
// five across take one such piece, 51 a second of 0.2 m, and 100 two.
func TestAGuessCountsTheMarginsOfEachPiece(t *testing.T) {
	kind := &programme.TransferKind{
		Process: programme.Digital, Margin: metre / 20, PricedBy: programme.PerMetre,
		Prices: []programme.PriceBreak{{Price: 1000}},
		Sheets: []programme.SheetSize{{Width: 6 * metre / 10, Height: 11 * metre / 10, Roll: true}},
	}
	for pieces, want := range map[int]float64{5: 200, 49: 1100, 50: 1100, 51: 1300, 100: 2200, 101: 2400} {
		guess, ok := sheet.Estimate(kind, &programme.Artwork{Width: metre / 10, Height: metre / 10}, pieces)
		require.True(t, ok)
		require.InDelta(t, want, guess.Each()*float64(pieces), 1e-6, "%d pieces", pieces)
	}
	for height, fits := range map[programme.Length]bool{metre: true, metre + 1: false} {
		_, ok := sheet.Estimate(kind, &programme.Artwork{Width: metre / 10, Height: height}, 1)
		require.Equal(t, fits, ok, "a metre between the margins")
	}
}
