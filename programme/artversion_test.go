package programme_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// The last approved version is printed; what was made before its approval is former.
func TestTheLastApprovedVersionIsPrinted(t *testing.T) {
	day := programme.NewDate(2026, 3, 2)
	one := programme.ArtworkVersion{Version: "1", File: "one.svg", Approved: day}
	two := programme.ArtworkVersion{Version: "2", File: "two.svg", Approved: day + 100}
	next := programme.ArtworkVersion{Version: "3", File: "three.svg"}
	for _, c := range []struct {
		name           string
		versions       []programme.ArtworkVersion
		file           string
		title          string
		printable      bool
		awaiting       string
		former, useful programme.Date
	}{
		{"no versions", nil, "plain.svg", "Chest mark", true, "", 0, 0},
		{"the first, not approved", []programme.ArtworkVersion{next}, "three.svg", "Chest mark, not approved",
			false, "3", 0, 0},
		{"the first, approved", []programme.ArtworkVersion{one}, "one.svg", "Chest mark, version 1", true, "", 0, 0},
		{"the second, approved", []programme.ArtworkVersion{one, two}, "two.svg", "Chest mark, version 2", true, "",
			day + 100, day + 100},
		{"a third that waits", []programme.ArtworkVersion{one, two, next}, "two.svg", "Chest mark, version 2", true,
			"3", day + 100, day + 100},
	} {
		t.Run(c.name, func(t *testing.T) {
			a := programme.Artwork{Name: "Chest mark", File: "plain.svg", Versions: c.versions}
			if c.versions != nil {
				a.File = ""
			}
			require.Equal(t, c.file, a.Picture())
			require.Equal(t, c.title, a.Title())
			require.Equal(t, c.printable, a.Printable())
			v, waits := a.Awaiting()
			require.Equal(t, c.awaiting != "", waits)
			if waits {
				require.Equal(t, c.awaiting, v.Version)
			}
			require.Equal(t, c.former, a.FormerBefore())
			require.Equal(t, c.useful, a.GoodFrom())
			a.UseUpFormer = true
			require.Zero(t, a.GoodFrom())
		})
	}
}

// Finished pieces that lay there before the day of approval carry the former version,
// unless its owner lets it be used up.
func TestFinishedPiecesOfAFormerVersionAreKnown(t *testing.T) {
	day := programme.NewDate(2026, 3, 2)
	shop := &programme.Shop{Artworks: []programme.Artwork{{Code: "mark", Name: "Chest mark",
		Versions: []programme.ArtworkVersion{
			{Version: "round", Approved: day}, {Version: "square", Approved: day + 100}}}}}
	c := &programme.Client{Code: "c", Roles: []programme.Role{{Code: "all", Kit: []programme.KitLine{
		{Garment: "tee", Colour: "navy", Decorations: []programme.Decoration{{Artwork: "mark"}}},
		{Garment: "cap", Colour: "navy"}}}}}
	line := func(client, garment string, on programme.Date) programme.StockLine {
		return programme.StockLine{AsOf: on, Goods: programme.FinishedGoods(client,
			programme.SKU{Garment: garment, Colour: "navy", Size: "M"}), Pieces: 4}
	}
	stock := []programme.StockLine{
		line("c", "tee", day+99), line("c", "tee", day+100), line("c", "cap", day), line("other", "tee", day),
		{AsOf: day, Goods: programme.FinishedGoods("c", programme.SKU{Garment: "tee", Colour: "navy", Size: "L"}),
			Pieces: 4, Expected: day + 200},
	}
	former := c.CarryFormer(shop, stock)
	require.Len(t, former, 1)
	require.Equal(t, "4 finished tee/navy/M lay on the shelf before Chest mark, version square, was approved, so they carry a former one: hand them out or take them off the stock", former[0].Words())
	shop.Artworks[0].UseUpFormer = true
	require.Empty(t, c.CarryFormer(shop, stock))
}
