package programme_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// An index finds what a search through the list finds, and is passed over once the shop has another list.
func TestAnIndexFindsTheSameArtworks(t *testing.T) {
	shop := programme.Shop{Artworks: []programme.Artwork{{Code: "logo", Name: "first"}, {Code: "back"},
		{Code: "logo", Name: "second"}}}
	shop.IndexArtworks()
	first, ok := shop.Artwork("logo")
	require.True(t, ok)
	require.Same(t, &shop.Artworks[0], first)
	_, ok = shop.Artwork("sleeve")
	require.False(t, ok)

	other := shop
	other.Artworks = append(other.Artworks[:2:2], programme.Artwork{Code: "sleeve"})
	for _, code := range []string{"logo", "back", "sleeve"} {
		a, ok := other.Artwork(code)
		require.True(t, ok, code)
		require.Equal(t, code, a.Code)
	}
	shop.Artworks = nil
	_, ok = shop.Artwork("logo")
	require.False(t, ok)
}
