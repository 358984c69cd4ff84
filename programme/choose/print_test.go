package choose

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

func TestAPrintCarriesItsShareOfTheSheet(t *testing.T) {
	in := programme.Inch
	a := &programme.Artwork{Width: 7 * in / 2, Height: 7 * in / 2, Inks: 2, Turn: true}
	screen := &programme.TransferKind{Process: programme.ScreenPrinted, Gutter: in / 4, Margin: in / 4, SetUp: 500,
		SetUpPerInk: 1500,
		Sheets:      []programme.SheetSize{{Width: 13 * in, Height: 19 * in}},
		Prices:      []programme.PriceBreak{{From: 1, Price: 600}, {From: 10, Price: 450}}}
	got, ok := printCost(screen, a, 150)
	require.True(t, ok)
	require.InDelta(t, 4.50/15+35.0/150, got, 1e-12,
		"10 sheets of 15 at the break, and a set-up of 5 and two inks of 15")
	roll := &programme.TransferKind{Process: programme.Digital, Gutter: in / 4, Margin: in / 4,
		Sheets: []programme.SheetSize{{Width: 22 * in, Roll: true}},
		Prices: []programme.PriceBreak{{From: 0, Price: 1000}}}
	got, ok = printCost(roll, a, 10)
	require.True(t, ok)
	require.InDelta(t, (2*3.5+0.25+0.5)*0.0254*10/10, got, 0.001,
		"five across, so two rows of 3.5 in, a gutter and two margins, to the cent")
	_, ok = printCost(screen, &programme.Artwork{Width: 20 * in, Height: 20 * in}, 1)
	require.False(t, ok)
}
