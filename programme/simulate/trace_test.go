package simulate_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/simulate"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// The product's own reading of the ledgers finds no ending of a piece that
// nobody held, and no piece counted that was never issued.
func TestTheProductReadsTheLedgersWithoutALooseEnd(t *testing.T) {
	w := simulate.NewWorld(asOf, simulate.Seed(1))
	for i := range w.Cases {
		c := &w.Cases[i]
		book, err := wear.NewBook(&w.Shop, &c.Client, nil)
		require.NoError(t, err)
		h := book.Trace(c.Roster, c.Ledger, asOf)
		require.Zero(t, h.Unmatched, c.Client.Code)
		require.Zero(t, h.Surplus, c.Client.Code)
		require.Len(t, h.InService, pieces(c.Ledger))
	}
}
