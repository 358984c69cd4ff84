package reorder_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func TestTransfersFollowTheHoldersRole(t *testing.T) {
	c := aClient()
	c.Roles = append(c.Roles, programme.Role{Code: "driver", Kit: []programme.KitLine{
		{Garment: "tee", Colour: "black", Decorations: []programme.Decoration{{Artwork: "logo", Place: "left-chest"},
			{Artwork: "back", Place: "full-back"}}},
	}})
	p := reorder.Proposal{
		Named: []reorder.Named{
			{StaffID: "1", SKU: sku("tee", "M"), Pieces: 2},
			{StaffID: "2", SKU: sku("tee", "L"), Pieces: 3},
			{StaffID: "3", SKU: sku("vest", "L"), Pieces: 1},
		},
		Pool: []reorder.Pool{{SKU: sku("apron", "one"), ForStarters: 1, Spare: 4}},
	}
	got := p.TransfersOn(&programme.Shop{}, c, programme.Roster{{StaffID: "1", Role: "counter"},
		{StaffID: "2", Role: "driver"}, {StaffID: "3", Role: "counter"}})
	require.Equal(t, map[string]int{"logo": 2 + 3 + 5, "back": 3}, got)
}

// Of an artwork that is larger on large sizes, each size takes its own transfer.
func TestTransfersFollowTheSizeOfTheGarment(t *testing.T) {
	shop := &programme.Shop{Artworks: []programme.Artwork{{Code: "logo", Width: 100, Height: 50,
		Sizes: []programme.ArtworkSize{{On: "XS-S", Scale: 0.8}, {On: "2XL-5XL", Width: 115}}}}}
	p := reorder.Proposal{
		Named: []reorder.Named{{StaffID: "1", SKU: sku("tee", "S"), Pieces: 2},
			{StaffID: "2", SKU: sku("tee", "3XL"), Pieces: 3}},
		Pool: []reorder.Pool{{SKU: sku("tee", "L"), Spare: 4}},
	}
	require.Equal(t, map[string]int{"logo_XS-S": 2, "logo_2XL-5XL": 3, "logo": 4}, p.TransfersOn(shop, aClient(), nil))
}

// A name is printed once for each piece of its wearer, for nobody else, and for no spare
// piece; a new name takes the place of the former.
func TestNamesAreForTheirWearersAlone(t *testing.T) {
	shop := &programme.Shop{Artworks: []programme.Artwork{{Code: "logo", Width: 100, Height: 50},
		{Code: "names", Width: 90 * programme.Millimetre, Height: 10 * programme.Millimetre,
			Text: programme.FirstName}}}
	c := aClient()
	for i := range c.Roles[0].Kit {
		if k := &c.Roles[0].Kit[i]; k.Garment == "tee" {
			k.Decorations = append(k.Decorations, programme.Decoration{Artwork: "names", Place: "right-chest"})
		}
	}
	arrives := programme.NewDate(2026, 6, 1)
	p := reorder.Proposal{
		Arrives: arrives,
		Named: []reorder.Named{
			{StaffID: "1", SKU: sku("tee", "M"), Pieces: 2}, {StaffID: "2", SKU: sku("tee", "L"), Pieces: 3},
			{StaffID: "3", SKU: sku("tee", "L"), Pieces: 1}, {StaffID: "4", SKU: sku("tee", "S"), Pieces: 1},
			{StaffID: "5", SKU: sku("tee", "S"), Pieces: 1},
			{StaffID: "6", SKU: sku("tee", "S"), Pieces: 1},
		},
		Pool: []reorder.Pool{{SKU: sku("tee", "M"), ForStarters: 1, Spare: 1}},
	}
	people := programme.Roster{
		{StaffID: "1", Role: "counter", Name: "Ana Lopez"},
		{StaffID: "2", Role: "counter", Name: "Bo Park", PrintName: "Bobby"},
		{StaffID: "3", Role: "counter", Name: "Cleo Hart", End: arrives - 1},
		{StaffID: "4", Role: "counter", Name: "Ana Novak"},
		{StaffID: "5", Role: "counter", Name: "D. Marsh"},
		{StaffID: "6", Role: "counter", Name: "Eve Orr", End: arrives},
	}
	require.Equal(t, map[string]int{"logo": 11, "names=Ana": 3, "names=Bobby": 3, "names=Eve": 1},
		p.TransfersOn(shop, c, people))
	people[1].PrintName = programme.NothingPrinted
	people[0].Name = "Anna Lopez"
	require.Equal(t, map[string]int{"logo": 11, "names=Anna": 2, "names=Ana": 1, "names=Eve": 1},
		p.TransfersOn(shop, c, people))
}

// A job ticket lists for whom the pieces are that are still to come: the greatest need first, nobody for more
// than waits for, the rest for the shelf; of pieces to be made again only those.
func TestATicketListsWhoStillWaits(t *testing.T) {
	tee, apron := sku("tee", "M"), sku("apron", "one")
	p := reorder.Proposal{
		Lines: []reorder.Line{{SKU: tee, Order: 9}, {SKU: apron, Order: 1}},
		Named: []reorder.Named{
			{StaffID: "likely", SKU: tee, Pieces: 3, PEnd: 0.6}, {StaffID: "apron", SKU: apron, Pieces: 1, PEnd: 0.4},
			{StaffID: "short", SKU: tee, Pieces: 2, PEnd: 1, Why: programme.CauseOwed},
		},
		Pool: []reorder.Pool{{SKU: tee, Spare: 4}},
	}
	type row = reorder.Handed
	require.Equal(t, []row{
		{SKU: tee, StaffID: "short", Index: 2, Pieces: 2}, {SKU: tee, StaffID: "likely", Index: 0, Pieces: 3},
		{SKU: tee, Index: -1, Pieces: 4}, {SKU: apron, StaffID: "apron", Index: 1, Pieces: 1},
	}, p.ToPress(false))
	for _, c := range []struct {
		came int
		who  []row
		left []row
	}{
		{3, []row{{SKU: tee, StaffID: "short", Index: 2, Pieces: 2},
			{SKU: tee, StaffID: "likely", Index: 0, Pieces: 1}}, []row{{SKU: tee, StaffID: "likely", Index: 0,
			Pieces: 2}, {SKU: tee, Index: -1, Pieces: 4}}},
		{3, []row{{SKU: tee, StaffID: "likely", Index: 0, Pieces: 2}, {SKU: tee, Index: -1, Pieces: 1}},
			[]row{{SKU: tee, Index: -1, Pieces: 3}}},
	} {
		got, err := p.Deliver([]reorder.Delivery{{SKU: tee, Came: c.came}})
		require.NoError(t, err)
		require.Equal(t, c.who, got)
		require.Equal(t, c.left, p.ToPress(false)[:len(c.left)])
	}
	require.NoError(t, p.Again(apron, 1, false))
	require.Equal(t, []row{{SKU: apron, StaffID: "apron", Index: 1, Pieces: 1}}, p.ToPress(true))
}

// No more can be said to have happened to a line than is still to come, whatever it is.
func TestNoMoreHappensThanIsToCome(t *testing.T) {
	tee := sku("tee", "M")
	for name, d := range map[string]reorder.Delivery{
		"back-order": {Back: 4, BackOn: monday}, "wrong": {Wrong: 4}, "spoilt": {Spoilt: 4}, "given up": {GivenUp: 4},
	} {
		p := reorder.Proposal{Lines: []reorder.Line{{SKU: tee, Order: 6}}}
		d.SKU, d.Came = tee, 3
		_, err := p.Deliver([]reorder.Delivery{d})
		require.ErrorContains(t, err, "7 pieces, but only 6 of 6 ordered are still to come", name)
		require.Zero(t, p.Lines[0].Progress, name)
		d.Came = 2
		_, err = p.Deliver([]reorder.Delivery{d})
		require.NoError(t, err, name)
	}
}

// A kind of transfer without sheets, or without prices, is guessed at nothing.
func TestWhatHasNoSheetsIsNotGuessed(t *testing.T) {
	shop, client := aShop(), aClient()
	shop.Kinds[0].Prices = []programme.PriceBreak{{From: 1, Price: 3000}}
	require.Zero(t, reorder.TransferGuess(shop, client, sku("tee", "M")))
	shop.Kinds[0].Prices, shop.Kinds[0].Sheets = nil,
		[]programme.SheetSize{{Width: 200 * programme.Millimetre, Height: 300 * programme.Millimetre}}
	require.Zero(t, reorder.TransferGuess(shop, client, sku("tee", "M")))
}
