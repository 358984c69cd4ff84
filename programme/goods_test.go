package programme_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

func TestPositionsAddUpWhatIsThereAndWhatIsComing(t *testing.T) {
	day := programme.NewDate(2026, 3, 2)
	tee := programme.SKU{Garment: "tee", Colour: "black", Size: "M"}
	mine, yours, blank := programme.FinishedGoods("bakery", tee), programme.FinishedGoods("garage", tee),
		programme.BlankGoods(tee)
	lines := []programme.StockLine{
		{Goods: mine, Pieces: 3}, {Goods: mine, Pieces: 4, Expected: day.Add(7)},
		{Goods: mine, Pieces: 5, Expected: day.Add(8)},
		{Goods: yours, Pieces: 9}, {Goods: blank, Pieces: 1}, {Goods: blank, Pieces: 2},
	}
	require.Equal(t, map[programme.Goods]programme.Position{mine: {3, 4}, yours: {9, 0}, blank: {3, 0}},
		programme.Positions(lines, day.Add(7)))
	require.Equal(t, programme.Position{OnHand: 3, OnOrder: 9}, programme.Positions(lines, 0)[mine],
		"without a last day, all that is coming")
	require.Equal(t, 12, programme.Positions(lines, 0)[mine].Together())
	require.Equal(t, tee, mine.SKU())
	require.Equal(t, "finished tee/black/M", mine.String())
	require.Equal(t, "transfers logo", programme.TransferGoods("logo").String())
}

func TestDecorationsAreThoseOfTheRoleOrOfTheFirstThatHasThePiece(t *testing.T) {
	chest := []programme.Decoration{{Artwork: "logo", Place: "left-chest"}}
	back := []programme.Decoration{{Artwork: "logo", Place: "full-back"}}
	line := func(colour string, d []programme.Decoration) programme.KitLine {
		return programme.KitLine{Garment: "tee", Colour: colour, Each: 1, Decorations: d}
	}
	c := programme.Client{Roles: []programme.Role{
		{Code: "office"},
		{Code: "floor", Kit: []programme.KitLine{line("black", chest), line("navy", chest)}},
		{Code: "yard", Kit: []programme.KitLine{line("black", back), line("navy", chest)}},
	}}
	black, navy := programme.SKU{Garment: "tee", Colour: "black", Size: "M"},
		programme.SKU{Garment: "tee", Colour: "navy", Size: "M"}
	for name, x := range map[string]struct {
		role string
		sku  programme.SKU
		want []programme.Decoration
		sure bool
	}{
		"the role's own":                            {"yard", black, back, true},
		"a role without it, roles differ":           {"office", black, chest, false},
		"a role without it, roles agree":            {"office", navy, chest, true},
		"nobody's role":                             {"", black, chest, false},
		"a role that is no longer in the programme": {"bar", navy, chest, true},
		"a piece that no kit has": {"floor", programme.SKU{Garment: "cap", Colour: "black"}, nil,
			true},
		"a colour that no kit has": {"floor", programme.SKU{Garment: "tee", Colour: "white"}, nil,
			true},
	} {
		t.Run(name, func(t *testing.T) {
			got, sure := c.Decorations(&programme.Shop{}, x.role, x.sku)
			require.Equal(t, x.want, got)
			require.Equal(t, x.sure, sure)
		})
	}
	require.Len(t, c.KitLines("tee"), 4)
}

func TestRosterFindsPeopleByNumber(t *testing.T) {
	r := programme.Roster{{StaffID: "1", Name: "Ada", Role: "floor"}, {StaffID: "2", Name: "Bo"}}
	p, ok := r.Find("2")
	require.True(t, ok)
	require.Same(t, &r[1], p)
	_, ok = r.Find("3")
	require.False(t, ok)
	require.Equal(t, "floor", r.Role("1"))
	require.Empty(t, r.Role("3"))
}
