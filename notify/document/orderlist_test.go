package document_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// What a printer reads: each layout with its copies, and on it each artwork with
// its client by the names people know, its measures, and how often it lies there, is printed, is needed
// and is over. Sheets and lengths of a roll are laid out by hand, so that no search
// changes the list.
func TestTheListOfTransfersIsAsItWas(t *testing.T) {
	shop := proofShop()
	shop.Artworks[0].Name = "Loaf on the chest"
	items := func(codes ...string) (out []sheet.Item) {
		for _, c := range codes {
			out = append(out, sheet.Item{Artwork: c})
		}
		return out
	}
	plan := sheet.Plan{
		Lines: []sheet.Line{
			{Artwork: "bakery-chest", Print: 41, Printed: 44}, {Artwork: "garage-chest", Print: 22, Printed: 22},
			{Artwork: "school-cap", Print: 30, Printed: 30},
		},
		Orders: []sheet.Order{
			{Kind: "plastisol", Sheet: programme.SheetSize{Code: "13x19"}, Layouts: []sheet.Layout{
				{Name: "A", Copies: 11, Width: 13 * inch, Height: 19 * inch,
					Items: items("bakery-chest", "garage-chest", "bakery-chest", "garage-chest", "bakery-chest")},
				{Name: "B", Copies: 11, Width: 13 * inch, Height: 19 * inch, Items: items("bakery-chest")},
			}},
			{Printer: "Reel & Sons", Kind: "film", Sheet: programme.SheetSize{Code: "22 in roll", Roll: true},
				Layouts: []sheet.Layout{
					{Name: "A", Copies: 15, Width: 22 * inch, Height: 61 * inch / 2,
						Items: items("school-cap", "school-cap")},
				}},
		},
	}
	for units, name := range map[programme.Units]string{programme.Inches: "transfers-inches.csv",
		programme.Millimetres: "transfers-millimetres.csv"} {
		shop.Units = units
		list, err := document.OrderList(shop, &plan, map[string]string{"garage": "Quay Garage"})
		require.NoError(t, err)
		goldentest.Equal(t, name, list)
	}
}
