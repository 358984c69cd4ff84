package setup_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

func TestWhatIsWrittenReadsBackTheSame(t *testing.T) {
	for seed := range uint64(3) {
		w := simulate.NewWorld(programme.NewDate(2026, 3, 2), simulate.Seed(seed))
		text := setup.WriteShop(&w.Shop)
		shop, err := setup.ReadShop("shop.yaml", text)
		require.NoError(t, err, "%s", text)
		require.Equal(t, text, setup.WriteShop(shop))
		for i := range w.Cases {
			c := &w.Cases[i].Client
			text := setup.WriteClient(c)
			got, err := setup.ReadClient(c.Code+".yaml", text, shop)
			require.NoError(t, err, "%s", text)
			require.Equal(t, c, got)
			require.Equal(t, text, setup.WriteClient(got))
		}
		require.Equal(t, &w.Shop, shop)
	}
}
