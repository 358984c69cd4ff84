package store_test

import (
	"context"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
)

// reserve gives out numbers of a round with so many proposals.
func reserve(t *testing.T, s *store.Store, proposals int) store.Numbers {
	t.Helper()
	n, err := s.Reserve(t.Context(), proposals)
	require.NoError(t, err)
	return n
}

func opened(t *testing.T, path string) *store.Store {
	t.Helper()
	s, err := store.Open(context.Background(), path, store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { _ = s.Close() })
	return s
}

func TestNumbersAreGivenOutOnce(t *testing.T) {
	s := opened(t, filepath.Join(t.TempDir(), "shop.db"))
	require.Equal(t, store.Numbers{Round: 1, Proposal: 1}, reserve(t, s, 3))
	require.Equal(t, store.Numbers{Round: 2, Proposal: 4}, reserve(t, s, 0), "whether or not the three were used")
	require.Equal(t, store.Numbers{Round: 3, Proposal: 4}, reserve(t, s, 1))
}

// Four processes at once, as the daemon and three commands may be.
func TestNumbersOfManyHandsDiffer(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	hands := []*store.Store{opened(t, path), opened(t, path), opened(t, path), opened(t, path)}
	var mu sync.Mutex
	rounds, proposals := map[int64]bool{}, map[int64]bool{}
	var wg sync.WaitGroup
	for _, s := range hands {
		wg.Go(func() {
			for range 5 {
				n, err := s.Reserve(context.Background(), 2)
				mu.Lock()
				if err == nil {
					rounds[n.Round], proposals[n.Proposal], proposals[n.Proposal+1] = true, true, true
				}
				mu.Unlock()
			}
		})
	}
	wg.Wait()
	require.Len(t, rounds, 20)
	require.Len(t, proposals, 40)
}

func TestNumbersGoOnAfterABackupIsPutBack(t *testing.T) {
	dir := t.TempDir()
	path, old := filepath.Join(dir, "shop.db"), filepath.Join(dir, "backup.db")
	s := opened(t, path)
	reserve(t, s, 3)
	require.NoError(t, s.CopyTo(t.Context(), old))
	last := reserve(t, s, 2)
	require.NoError(t, s.Close())
	require.NoError(t, os.Rename(old, path))
	require.Equal(t, store.Numbers{Round: last.Round + 1, Proposal: last.Proposal + 2}, reserve(t, opened(t, path), 1),
		"the file beside the database knows what left the house")
}

func TestNumbersJumpWhereOnlyTheBackupIsLeft(t *testing.T) {
	path, old := filepath.Join(t.TempDir(), "shop.db"), filepath.Join(t.TempDir(), "shop.db")
	s := opened(t, path)
	before := reserve(t, s, 3)
	require.NoError(t, s.CopyTo(t.Context(), old))
	lost := reserve(t, s, 60)
	after := reserve(t, opened(t, old), 1)
	require.Greater(t, after.Round, lost.Round)
	require.Greater(t, after.Proposal, lost.Proposal+60)
	require.Equal(t, store.Numbers{Round: before.Round + 101, Proposal: before.Proposal + 1003}, after)
}

// Rounds of a version that foresaw its numbers.
func TestNumbersGoOnFromWhatIsOnRecord(t *testing.T) {
	s := opened(t, filepath.Join(t.TempDir(), "shop.db"))
	require.NoError(t, s.InTx(t.Context(), func(tx *store.Tx) error {
		return tx.AddRound(store.Round{ID: 41, AsOf: programme.NewDate(2026, 3, 2), Summary: []byte("{}")})
	}))
	require.EqualValues(t, 42, reserve(t, s, 0).Round)
}

func TestAFileOfNumbersThatCannotBeReadStopsTheRound(t *testing.T) {
	path := filepath.Join(t.TempDir(), "shop.db")
	s := opened(t, path)
	reserve(t, s, 3)
	require.NoError(t, os.WriteFile(path+store.NumbersSuffix, []byte("twelve"), 0o600))
	_, err := s.Reserve(t.Context(), 1)
	require.ErrorContains(t, err, `reads "twelve", where the last numbers belong`)
	require.ErrorContains(t, err, "write the greatest that are on your papers")
}
