package programme_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

func TestRangesOfSizesHoldWhatPeopleMean(t *testing.T) {
	for _, x := range []struct {
		on, size string
		has      bool
	}{
		{"2XL", "2XL", true},
		{"2XL", "3XL", false},
		{"2XL-5XL", "2XL", true},
		{"2XL-5XL", "3XLT", true},
		{"2XL-5XL", "5XL", true},
		{"2XL-5XL", "XL", false},
		{"XS-S", "XS", true},
		{"XS-S", "2XS", false},
		{"XS-S", "S", true},
		{"XS-S", "M", false},
		{"S-L", "M", true},
		{"36-44", "42", true},
		{"36-44", "42/32", true},
		{"36-44", "46/32", false},
		{"6 7/8-7 1/4", "7", true},
		{"6 7/8-7 1/4", "7 3/8", false},
		{"2XL-5XL", "44", false},
		{"2XL-5XL", "one", false},
	} {
		s := programme.ArtworkSize{On: x.on}
		require.Equal(t, x.has, s.Has(x.size), "%s in %s", x.size, x.on)
	}
	for on, ranged := range map[string]bool{"M": true, "XS-S": true, "S-XS": false, "S-44": false, "": false,
		"S-": false, "small-large": false, "one": true} {
		s := programme.ArtworkSize{On: on}
		require.Equal(t, ranged, s.Ranged(), on)
	}
}

func TestAnArtworkHasMeasuresOfItsOwnOnSomeSizes(t *testing.T) {
	shop := &programme.Shop{Artworks: []programme.Artwork{{
		Code: "chest", Name: "Loaf", Client: "bakery", Kind: "film", Width: 4 * programme.Inch,
		Height: 2 * programme.Inch, File: "loaf.svg",
		Sizes: []programme.ArtworkSize{{On: "XS-S", Scale: 0.8}, {On: "2XL-5XL", Width: 5 * programme.Inch}},
	}}}
	small, ok := shop.Artwork("chest_XS-S")
	require.True(t, ok)
	require.Equal(t, &programme.Artwork{
		Code: "chest_XS-S", Name: "Loaf XS to S", Client: "bakery", Kind: "film", Width: 16 * programme.Inch / 5,
		Height: 8 * programme.Inch / 5, File: "loaf.svg",
	}, small)
	large, ok := shop.Artwork("chest_2XL-5XL")
	require.True(t, ok)
	require.Equal(t, 5*programme.Inch/2, large.Height, "the height follows in the same shape")
	_, ok = shop.Artwork("chest_L")
	require.False(t, ok)
	var codes []string
	for _, a := range shop.Transfers() {
		codes = append(codes, a.Code)
	}
	require.Equal(t, []string{"chest", "chest_XS-S", "chest_2XL-5XL"}, codes)
	on := []programme.Decoration{{Artwork: "other", Place: "back"}, {Artwork: "chest", Place: "left-chest"}}
	require.Equal(t, []programme.Decoration{{Artwork: "other", Place: "back"},
		{Artwork: "chest_2XL-5XL", Place: "left-chest"}}, shop.Fitted(on, "3XL"))
	require.Equal(t, "chest", on[1].Artwork, "what was given stays as it is")
	require.Equal(t, on, shop.Fitted(on, "L"))
}

func TestLengthsAreWrittenInTheShopsUnit(t *testing.T) {
	for u, want := range map[programme.Units][3]string{
		programme.Inches:      {"3.5 in", "3.5", "320 °F"},
		programme.Millimetres: {"88.9 mm", "88.9", "160 °C"},
		programme.Centimetres: {"8.89 cm", "8.89", "160 °C"},
	} {
		l := 7 * programme.Inch / 2
		require.Equal(t, want, [3]string{u.Length(l), u.Bare(l), u.Temperature(160)})
		back, err := programme.ParseLength(u.Length(l))
		require.NoError(t, err)
		require.Equal(t, l, back, "what is printed reads back")
	}
	l, err := programme.ParseLength("9.1cm")
	require.NoError(t, err)
	require.Equal(t, 91*programme.Millimetre, l)
}
