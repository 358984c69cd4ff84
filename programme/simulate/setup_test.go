package simulate_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// The invented shop must stand the strict reading that an owner's files get.
func TestTheInventedShopReadsBackFromItsFiles(t *testing.T) {
	w := simulate.NewWorld(asOf, simulate.Seed(1))
	shop, err := setup.ReadShop("shop.yaml", setup.WriteShop(&w.Shop))
	require.NoError(t, err)
	w.Shop.IndexArtworks() // as whoever reads a shop does
	require.Equal(t, &w.Shop, shop)
	for i := range w.Cases {
		c := w.Cases[i].Client
		client, err := setup.ReadClient("programmes/"+c.Code+".yaml", setup.WriteClient(&c), shop)
		require.NoError(t, err)
		require.Equal(t, &c, client)
	}
}
