package daemon_test

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme/setup"
)

// more fills a shop's folder up to a number of clients, each like the smallest.
func more(t *testing.T, home string, clients int) {
	t.Helper()
	s, err := store.Open(t.Context(), filepath.Join(home, books.DatabaseFile), store.Options{})
	require.NoError(t, err)
	like := world().Cases[0]
	require.NoError(t, s.InTx(t.Context(), func(tx *store.Tx) error {
		for n := 1; n < clients; n++ {
			c := like.Client
			c.Code, c.Name = fmt.Sprintf("client-%03d", n), fmt.Sprintf("Client %d", n)
			if err := tx.PutClient(c.Code, setup.WriteClient(&c)); err != nil {
				return err
			}
			if err := tx.PutPeople(c.Code, like.Roster); err != nil {
				return err
			}
			if _, _, err := tx.AddMovements(c.Code, like.Ledger, 0); err != nil {
				return err
			}
		}
		return nil
	}))
	require.NoError(t, s.Close())
}

// resident is the process's memory in bytes.
func resident(t *testing.T) int64 {
	t.Helper()
	text, err := os.ReadFile("/proc/self/statm")
	require.NoError(t, err)
	var all, pages int64
	_, err = fmt.Sscan(string(text), &all, &pages)
	require.NoError(t, err)
	return pages * int64(os.Getpagesize())
}

// descriptors counts the open files below home.
func descriptors(t *testing.T, home string) (n int) {
	t.Helper()
	links, err := os.ReadDir("/proc/self/fd")
	require.NoError(t, err)
	for _, l := range links {
		if to, err := os.Readlink("/proc/self/fd/" + l.Name()); err == nil && strings.HasPrefix(to, home) {
			n++
		}
	}
	return n
}

// Days of a shop leave no goroutine and no open file behind, and the same
// memory at the end as after the first rounds.
func TestDaysLeaveNothingBehind(t *testing.T) {
	days, clients := 3, 2
	if full() {
		days, clients = 30, 100
	}
	home := folder(t, strings.Replace(weekly, "30 6 * * 1", "30 6 * * *", 1), 1)
	more(t, home, clients)
	var early, late int64
	var files []int
	synctest.Test(t, func(t *testing.T) {
		live(t, home, io.Discard, func() {
			for day := range days {
				time.Sleep(24 * time.Hour)
				if day == 1 || day == days-1 {
					runtime.GC()
					early, late = late, resident(t)
					files = append(files, descriptors(t, home), runtime.NumGoroutine())
				}
			}
		})
	})
	require.Zero(t, descriptors(t, home), "no file is left open")
	require.Equal(t, files[0], files[2], "open files while it runs")
	require.LessOrEqual(t, files[3], files[1]+3, "goroutines while it runs")
	t.Logf("%d days, %d clients: %d MB resident after two days, %d MB at the end", days, clients, early>>20, late>>20)
	require.Less(t, late, early+64<<20)
	s, err := store.Open(context.Background(), filepath.Join(home, books.DatabaseFile), store.Options{})
	require.NoError(t, err)
	rows, err := s.Rows(context.Background())
	require.NoError(t, err)
	require.NoError(t, s.Close())
	require.Equal(t, int64(days), rows["round"])
}
