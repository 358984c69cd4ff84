package round_test

import (
	"context"
	"fmt"
	"os"
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
	res, err := round.Run(context.Background(), b, round.Options{AsOf: asOf, Now: asOf.Time()})
	require.NoError(t, err)
	for _, m := range res.Messages {
		fmt.Println(m.Kind, m.Subject, m.To, len(m.Raw), len(m.HTML), m.Warnings)
		os.WriteFile("/tmp/mails/"+m.ID+".html", []byte(m.HTML), 0o644)
		os.WriteFile("/tmp/mails/"+m.ID+".txt", []byte(m.Text), 0o644)
		for _, p := range append(m.Inline, m.Attachments...) {
			os.WriteFile("/tmp/mails/"+m.ID+"-"+p.Name, p.Data, 0o644)
		}
	}
}
