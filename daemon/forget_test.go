package daemon_test

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
)

// The first self-check is at 3:45 on the Saturday.
func TestTheSelfCheckForgetsWhoLeftLongAgo(t *testing.T) {
	home := folder(t, weekly, 1)
	synctest.Test(t, func(t *testing.T) {
		b, err := books.Open(t.Context(), home)
		require.NoError(t, err)
		clients, err := b.Clients(t.Context())
		require.NoError(t, err)
		client := clients[0].Code
		gone := asOf.Add(-clients[0].ForgetAfterDays - 10)
		require.Positive(t, clients[0].ForgetAfterDays)
		require.NoError(t, b.Store.InTx(t.Context(), func(tx *store.Tx) error {
			return tx.PutPeople(client, []programme.Person{{StaffID: "x1", Name: "Odo Penhallow",
				Role: clients[0].Roles[0].Code, Start: gone.Add(-400), End: gone}})
		}))
		require.NoError(t, b.Close())
		log := &logBuffer{}
		live(t, home, log, func() { time.Sleep(12 * time.Hour) })
		b, err = books.Open(t.Context(), home)
		require.NoError(t, err)
		list, err := b.Store.People(t.Context(), client)
		require.NoError(t, err)
		require.NoError(t, b.Close())
		for i := range list {
			require.NotEqual(t, "Odo Penhallow", list[i].Name)
		}
		require.Contains(t, log.String(), "names of leavers forgotten")
		require.NotContains(t, log.String(), "Penhallow")
	})
}
