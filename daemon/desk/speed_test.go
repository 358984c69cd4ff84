package desk_test

import (
	"context"
	"fmt"
	"net/http"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// BenchmarkDesk asks for each kind of page, and sends endings, in a shop of 100 clients with a
// proposal each. Nothing takes 100 milliseconds but the papers of a job.
func BenchmarkDesk(b *testing.B) {
	home := b.TempDir()
	st, err := store.Open(context.Background(), filepath.Join(home, books.DatabaseFile), store.Options{})
	require.NoError(b, err)
	b.Cleanup(func() { require.NoError(b, st.Close()) })
	day := programme.NewDate(2026, 3, 2)
	invented, cases := simulate.NewScale(simulate.Size{Clients: 100, Staff: 4_000, Pieces: 40_000, Weeks: 52}, day, 19)
	s := open(b, books.With(home, &invented, st))
	var client, staff string
	s.tx(func(tx *store.Tx) {
		require.NoError(b, tx.AddRound(store.Round{ID: 1, AsOf: s.today, Summary: []byte("{}")}))
		number := int64(0)
		for c := range cases {
			require.NoError(b, bookstest.Put(tx, &c))
			number++
			var named []reorder.Named
			for i := range c.Roster[:min(len(c.Roster), 30)] {
				p := &c.Roster[i]
				for _, m := range c.Ledger {
					if m.StaffID == p.StaffID && m.Kind == programme.Issued {
						named = append(named, reorder.Named{StaffID: p.StaffID, SKU: m.SKU, Pieces: 2,
							Why: programme.CauseWorn, PEnd: 0.7})
						client, staff = c.Client.Code, p.StaffID
						break
					}
				}
			}
			p, err := reorder.Direct(&invented, &c.Client, s.today, named, nil)
			require.NoError(b, err)
			p.Number = number
			require.NoError(b, tx.AddProposal(1, p))
		}
	})
	t := s.signedIn()
	t.get("/proposal/7")
	t.press("yes", "Yes, in these numbers")
	person := fmt.Sprintf("/client/%s/person/%s", client, staff)
	for _, path := range []string{"/", "/clients", "/client/" + client, person, "/proposal/1", "/proposal/1/why",
		"/job/7", "/orders", "/goods", "/find?q=an", "/client/" + client + "/start"} {
		b.Run(path, func(b *testing.B) {
			for b.Loop() {
				t.get(path)
				require.Equal(b, http.StatusOK, t.status)
			}
		})
	}
	b.Run("entry", func(b *testing.B) {
		for b.Loop() {
			b.StopTimer()
			t.get(person)
			form := t.fill("issue", "Handed out", "shelf", "-", "kept", "yes")
			b.StartTimer()
			t.send(form)
			require.Equal(b, http.StatusOK, t.status)
		}
	})
}
