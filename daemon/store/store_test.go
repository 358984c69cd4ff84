package store_test

import (
	"context"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
)

func open(t *testing.T) *store.Store {
	t.Helper()
	s, err := store.Open(context.Background(), filepath.Join(t.TempDir(), "shop.db"), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	return s
}

func TestLedgerKnowsRowsAgain(t *testing.T) {
	ctx := context.Background()
	s := open(t)
	sku := programme.SKU{Garment: "tee", Colour: "black", Size: "M"}
	day := programme.NewDate(2026, 3, 2)
	twice := programme.Movement{Date: day, Kind: programme.Issued, StaffID: "a1", SKU: sku, Pieces: 1}
	withRef := programme.Movement{Date: day, Kind: programme.Ended, StaffID: "a1", SKU: sku, Pieces: 1, Reason: programme.Worn, Ref: "r-1", Washes: 3}
	file := []programme.Movement{twice, twice, withRef}

	require.NoError(t, s.InTx(ctx, func(tx *store.Tx) error { return tx.PutClient("bakery", []byte("x")) }))
	add := func(list []programme.Movement) (added, known int) {
		require.NoError(t, s.InTx(ctx, func(tx *store.Tx) (err error) {
			added, known, err = tx.AddMovements("bakery", list, 1)
			return err
		}))
		return added, known
	}
	added, known := add(file)
	require.Equal(t, []int{3, 0}, []int{added, known})
	added, known = add(file)
	require.Equal(t, []int{0, 3}, []int{added, known}, "a second import of the same file changes nothing")
	added, known = add(append(file, twice))
	require.Equal(t, []int{1, 3}, []int{added, known}, "a third equal row is a third piece")

	got, err := s.Movements(ctx, "bakery")
	require.NoError(t, err)
	require.Equal(t, append(file, twice), got)
}
