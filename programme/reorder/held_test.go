package reorder_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// What was answered is not asked again for the cover, but for what has grown by
// four pieces and two fifths.
func TestHeldClothingIsNotAskedAboutTwice(t *testing.T) {
	for name, c := range map[string]struct {
		said  reorder.HoldAnswer
		later int // days
		now   int // pieces that wait then
		asked bool
	}{
		"nothing was said": {reorder.HoldAnswer{SKU: sku("vest", "L"), Pieces: 20, On: monday},
			0, 20, true},
		"a no holds":                          {reorder.HoldAnswer{Pieces: 20, On: monday}, 7, 20, false},
		"a few more are due":                  {reorder.HoldAnswer{Pieces: 20, On: monday}, 28, 24, false},
		"many more are due":                   {reorder.HoldAnswer{Pieces: 20, On: monday}, 28, 36, true},
		"a no is over with the cover":         {reorder.HoldAnswer{Pieces: 20, On: monday}, 91, 20, true},
		"after a yes a few more become due":   {reorder.HoldAnswer{Yes: true, Pieces: 20, On: monday}, 7, 3, false},
		"after a yes many more become due":    {reorder.HoldAnswer{Yes: true, Pieces: 20, On: monday}, 7, 15, true},
		"of a day to come nothing is held by": {reorder.HoldAnswer{Pieces: 20, On: monday + 1}, 0, 20, true},
	} {
		t.Run(name, func(t *testing.T) {
			if c.said.Garment == "" {
				c.said.SKU = sku("vest", "M")
			}
			holds := []reorder.Hold{{SKU: sku("vest", "M"), Pieces: c.now}}
			left := reorder.Unanswered(holds, []reorder.HoldAnswer{c.said}, monday.Add(c.later), 91)
			require.Equal(t, c.asked, len(left) == 1)
		})
	}
}

// Who wears protective clothing beyond its label is named once, and nobody where no label is known
// or who is merely short of a piece.
func TestWhoHasUsedUpALabel(t *testing.T) {
	h := reorder.Hold{LabelWashes: 50, Named: []reorder.Named{
		{StaffID: "7", Why: programme.CauseOwed},
		{StaffID: "7", Washes: 105},
		{StaffID: "8", Washes: 49.9},
		{StaffID: "9", Washes: 50},
		{StaffID: "9", Washes: 60},
	}}
	require.Equal(t, []string{"7", "8", "9"}, h.Wearers())
	require.Equal(t, []string{"7", "9"}, h.LabelSpent())
	h.LabelWashes = 0
	require.Empty(t, h.LabelSpent())
}
