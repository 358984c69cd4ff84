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
			Process: programme.ScreenPrinted, Cut: programme.Trimmer, Gutter: in(0.25), Margin: in(0.25), Prices: []programme.PriceBreak{{From: 1, Price: 3000}},
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
		"by another, cheaper house": func(k *programme.TransferKind) {
			k.Offers = []programme.PrintOffer{{Printer: "others", Sheets: k.Sheets, Prices: []programme.PriceBreak{{From: 0, Price: 700}}}}
		},
	} {
		t.Run(name, func(t *testing.T) {
			shop := rollOf(change)
			shop.Suppliers = nil // freight is no part of a guess
			for _, pieces := range []int{5, 50, 245, 400} {
				guess, ok := sheet.Estimate(&shop.Kinds[0], &shop.Artworks[0], pieces)
				require.True(t, ok)
				plan, err := sheet.Arrange(sheet.Request{AsOf: march, Shop: shop, Needs: []sheet.Need{{Artwork: "a", Pieces: pieces}}})
				require.NoError(t, err)
				require.InDelta(t, float64(plan.Cost.Total()), guess.Each()*float64(pieces), 1, "%d pieces", pieces)
			}
		})
	}
}
