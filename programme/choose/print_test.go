package choose

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// Capacities of sheets with 0.25 in margin and gutter, worked out by hand: on
// 13 by 19 in, (13 - 0.5 + 0.25) / 3.75 = 3 across and 5 down.
func TestSheetsHoldWhatRowsAllow(t *testing.T) {
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
		require.Equal(t, c.want, onSheet(in(c.w), in(c.h), in(c.width), in(c.height), in(0.25), in(0.25), c.turn), "%v", c)
	}
}

func TestAPrintCarriesItsShareOfTheSheet(t *testing.T) {
	in := programme.Inch
	a := &programme.Artwork{Width: 7 * in / 2, Height: 7 * in / 2, Inks: 2, Turn: true}
	screen := &programme.TransferKind{Process: programme.ScreenPrinted, Gutter: in / 4, Margin: in / 4, SetUp: 500, SetUpPerInk: 1500,
		Sheets: []programme.SheetSize{{Width: 13 * in, Height: 19 * in}}, Prices: []programme.PriceBreak{{From: 1, Price: 600}, {From: 10, Price: 450}}}
	got, ok := printCost(screen, a, 150)
	require.True(t, ok)
	require.InDelta(t, 4.50/15+35.0/150, got, 1e-12, "10 sheets of 15 at the break, and a set-up of 5 and two inks of 15")
	roll := &programme.TransferKind{Process: programme.Digital, Gutter: in / 4, Margin: in / 4,
		Sheets: []programme.SheetSize{{Width: 22 * in, Roll: true}}, Prices: []programme.PriceBreak{{From: 0, Price: 1000}}}
	got, ok = printCost(roll, a, 10)
	require.True(t, ok)
	require.InDelta(t, (2*3.75+0.5)*0.0254*10/10, got, 1e-12, "five across, so two rows of 3.75 in and two margins")
	_, ok = printCost(screen, &programme.Artwork{Width: 20 * in, Height: 20 * in}, 1)
	require.False(t, ok)
}
