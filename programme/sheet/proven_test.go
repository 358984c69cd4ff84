package sheet_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// TestWhatIsProvenIsSaid: four squares of half the width of a roll take two rows and
// nothing takes less, by their area; five leave half a row empty, which no bound of
// ours rules out, and a dearer printer changes nothing of either.
func TestWhatIsProvenIsSaid(t *testing.T) {
	const words = "No way to print it costs less: this was proven."
	for pieces, want := range map[int]bool{4: true, 5: false} {
		for _, process := range []bool{true, false} {
			size := programme.SheetSize{Code: "s", Width: 20 * inch, Height: 20 * inch, Roll: process}
			if process {
				size.Height = 500 * inch
			}
			shop := &programme.Shop{Currency: "USD", Kinds: []programme.TransferKind{{
				Code: "k", Process: programme.Digital, Prices: []programme.PriceBreak{{From: 0, Price: 1000}},
				Sheets: []programme.SheetSize{size},
			}}, Artworks: []programme.Artwork{{Code: "a", Client: "c", Kind: "k", Width: 10 * inch, Height: 10 * inch,
				Turn: true}}}
			plan, err := sheet.Arrange(sheet.Request{AsOf: march, Shop: shop,
				Needs: []sheet.Need{{Artwork: "a", Pieces: pieces}}})
			require.NoError(t, err)
			o := &plan.Orders[0]
			if !process || pieces == 4 { // two sheets for five, by their area
				require.True(t, o.Proven)
				require.Contains(t, o.Why, words)
				continue
			}
			require.Equal(t, want, o.Proven)
			require.NotContains(t, o.Why, words)
		}
	}
}
