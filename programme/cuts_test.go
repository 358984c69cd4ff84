package programme_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// kitNames are the lines of a kit by garment and colour.
func kitNames(kit []programme.KitLine) (out []string) {
	for _, l := range kit {
		out = append(out, l.Garment+"/"+l.Colour)
	}
	return out
}

// A role of polos in three cuts and caps; the polos become navy on a day, the maternity cut
// without a word of what it was before.
func TestEachPersonHasOneCutOfAKit(t *testing.T) {
	shop := &programme.Shop{Garments: []programme.Garment{
		{Code: "polo", SizeFamily: "top"}, {Code: "polo-ladies", SizeFamily: "ladies-top"},
		{Code: "polo-maternity", SizeFamily: "maternity-top"}, {Code: "cap", SizeFamily: "one"},
	}}
	line := func(garment, colour string) programme.KitLine {
		return programme.KitLine{Garment: garment, Colour: colour, Each: 4}
	}
	black, navy := line("polo", "black"), line("polo", "navy")
	ladiesBlack, ladiesNavy, maternity := line("polo-ladies", "black"), line("polo-ladies", "navy"),
		line("polo-maternity", "navy")
	change := programme.NewDate(2027, 3, 1)
	navy.From, navy.InsteadOf = change, black.Former()
	ladiesBlack.CutOf, ladiesNavy.CutOf, maternity.CutOf = black.Former(), navy.Former(), navy.Former()
	ladiesNavy.From, ladiesNavy.InsteadOf = change, ladiesBlack.Former()
	maternity.From, maternity.InsteadOf = change, programme.Former{Garment: "polo-maternity", Colour: "black"}
	for _, change := range []programme.Change{programme.AsWorn, programme.OnTheDay} {
		navy.Change, ladiesNavy.Change, maternity.Change = change, change, change
		r := &programme.Role{Kit: []programme.KitLine{black, navy, ladiesBlack, ladiesNavy, maternity,
			line("cap", "black")}}
		for _, c := range []struct {
			sizes map[string]string
			want  []string
		}{
			{map[string]string{"top": "M"}, []string{"polo/black", "polo/navy", "cap/black"}},
			{nil, []string{"polo/black", "polo/navy", "cap/black"}},
			{map[string]string{"top": "M", "ladies-top": "12"},
				[]string{"polo-ladies/black", "polo-ladies/navy", "cap/black"}},
			{map[string]string{"maternity-top": "M", "ladies-top": "12"}, []string{"polo-maternity/navy", "cap/black"}},
		} {
			p := &programme.Person{Sizes: c.sizes}
			require.Equal(t, c.want, kitNames(r.For(shop, p).Kit), "%s %v", change, c.sizes)
		}
		// A piece of the cut that was worn before is of the same thing as the new one.
		was, ok := r.In("polo-maternity", "black")
		require.True(t, ok)
		require.True(t, was.Has("polo", "black"), "%s", change)
		require.Equal(t, change == programme.AsWorn, was.Has("polo", "navy"), "%s", change)
	}
}

func TestACutThatChangesIsToBeExchanged(t *testing.T) {
	shop := &programme.Shop{Garments: []programme.Garment{{Code: "polo", SizeFamily: "top"},
		{Code: "polo-ladies", SizeFamily: "ladies-top"}, {Code: "fleece", SizeFamily: "top"}}}
	polo := programme.KitLine{Garment: "polo", Colour: "navy", Each: 4}
	ladies := polo
	ladies.Garment, ladies.CutOf = "polo-ladies", polo.Former()
	r := &programme.Role{Kit: []programme.KitLine{polo, ladies, {Garment: "fleece", Colour: "navy", Each: 1}}}
	sku := func(garment, size string) programme.SKU {
		return programme.SKU{Garment: garment, Colour: "navy", Size: size}
	}
	mens := programme.Person{Sizes: map[string]string{"top": "M"}}
	p := mens
	p.Resize("ladies-top", "12", false)
	r.Recut(shop, &mens, &p)
	require.True(t, r.Outgrown(shop, &p, sku("polo", "M")))
	require.False(t, r.Outgrown(shop, &p, sku("fleece", "M")), "what comes in one cut fits as before")
	require.False(t, r.Outgrown(shop, &p, sku("polo-ladies", "12")))
	require.Equal(t, programme.NewCut, r.Exchanges(shop, &p, sku("polo-ladies", "12")))
	require.Equal(t, programme.NoExchange, r.Exchanges(shop, &p, sku("fleece", "M")))
	require.Equal(t, map[string]string{"top": "M"}, mens.Sizes, "the person before is as it was")

	back := p
	back.Resize("ladies-top", programme.NoSize, false)
	r.Recut(shop, &p, &back)
	require.Equal(t, map[string]string{"top": "M"}, back.Sizes)
	require.False(t, r.Outgrown(shop, &back, sku("polo", "M")))
	require.True(t, r.Outgrown(shop, &back, sku("polo-ladies", "12")))
}
