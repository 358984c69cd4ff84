package round_test

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// worldBooks fills a shop's folder with an invented world.
func worldBooks(t testing.TB, w *simulate.World) *books.Books {
	t.Helper()
	ctx := context.Background()
	home := t.TempDir()
	st, err := store.Open(ctx, filepath.Join(home, books.DatabaseFile), store.Options{})
	require.NoError(t, err)
	b := books.With(home, &w.Shop, st)
	t.Cleanup(func() { require.NoError(t, b.Close()) })
	require.NoError(t, st.InTx(ctx, func(tx *store.Tx) error {
		for i := range w.Cases {
			c := &w.Cases[i]
			if err := tx.PutClient(c.Client.Code, setup.WriteClient(&c.Client)); err != nil {
				return err
			}
			if err := tx.PutPeople(c.Client.Code, c.Roster); err != nil {
				return err
			}
			if _, _, err := tx.AddMovements(c.Client.Code, c.Ledger, 0); err != nil {
				return err
			}
		}
		return tx.ReplaceStock(w.Stock)
	}))
	return b
}

func TestDemoRound(t *testing.T) {
	asOf := programme.NewDate(2026, 3, 2)
	w := simulate.NewWorld(asOf, simulate.Seed(1))
	b := worldBooks(t, &w)
	p, err := round.Make(context.Background(), b, asOf)
	require.NoError(t, err)
	for _, e := range p.Entries {
		fmt.Println(e.Client.Code, len(e.People), "due", e.Decision.Due, "next", e.Decision.NextDue, "fill", e.Decision.Fill, "expected", e.Expected, "endings", e.Endings)
		if e.Proposal != nil {
			fmt.Println("   pieces", e.Proposal.Pieces(), "cost", e.Proposal.Cost().In("USD"), "price", e.Proposal.Price.In("USD"), "transfers", e.Proposal.Transfers.In("USD"), "orderby", e.Proposal.OrderBy, "arrives", e.Proposal.Arrives, "named", len(e.Proposal.Named), "pulled", e.Proposal.Pulled)
		}
	}
	for _, o := range p.Sheets.Orders {
		fmt.Println(o.Kind, o.Sheets(), o.Fill, o.Cost.Total().In("USD"), o.Why)
	}
}
