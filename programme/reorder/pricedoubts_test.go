package reorder_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func TestPricesThatAreMissingOrBelowCostAreNamed(t *testing.T) {
	shop := &programme.Shop{
		Press: programme.Press{PiecesPerHour: 60, CostPerHour: 3000}, // 0.50 a press
		Kinds: []programme.TransferKind{{Code: "screen", Sheets: []programme.SheetSize{{Width: 100, Height: 100}},
			Prices: []programme.PriceBreak{{From: 1, Price: 400}}}},
		// A quarter of the sheet: 1.00 each.
		Artworks: []programme.Artwork{{Code: "logo", Kind: "screen", Width: 50, Height: 50}},
		Garments: []programme.Garment{
			{Code: "tee", Sizes: []programme.GarmentSize{{Code: "M", Cost: 400}, {Code: "2XL", Cost: 700}}},
			{Code: "cap", Sizes: []programme.GarmentSize{{Code: "one", Cost: 300}}},
			{Code: "apron", Sizes: []programme.GarmentSize{{Code: "one", Cost: 300}}},
			{Code: "polo", Sizes: []programme.GarmentSize{{Code: "M", Cost: 900}}},
		},
	}
	on := []programme.Decoration{{Artwork: "logo", Place: "left-chest"}}
	c := &programme.Client{Roles: []programme.Role{{Code: "staff", Kit: []programme.KitLine{
		{Garment: "tee", Colour: "black", Decorations: on}, {Garment: "cap", Colour: "black"},
		{Garment: "apron", Colour: "black", Decorations: on},
	}}}}
	c.Prices = []programme.Price{{Garment: "tee", Price: 600}, {Garment: "apron", Price: 450}}
	require.Equal(t, []reorder.PriceDoubt{
		{Garment: "tee", Sizes: []string{"2XL"}, Price: 600, Cost: 850},
		{Garment: "cap"},
	}, reorder.PriceDoubts(shop, c, 0), "an apron sells at what it costs; a polo is in no kit")
	c.Prices = []programme.Price{{Garment: "tee", Size: "M", Price: 600}, {Garment: "cap", Price: 299},
		{Garment: "apron", Price: 450}}
	require.Equal(t, []reorder.PriceDoubt{
		{Garment: "tee", Sizes: []string{"2XL"}},
		{Garment: "cap", Price: 299, Cost: 300},
	}, reorder.PriceDoubts(shop, c, 0))
}
