package backup

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
)

// A copy that a disk has spoilt, or that lacks rows, gets no name.
func TestACopyIsCheckedAgainstItsDatabase(t *testing.T) {
	s, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), store.Options{})
	require.NoError(t, err)
	require.NoError(t, s.AddEvent(t.Context(), store.Event{Kind: programme.OtherTrouble, What: "one"}))
	before, err := s.Rows(t.Context())
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "copy.db")
	require.NoError(t, s.CopyTo(t.Context(), path))
	require.NoError(t, check(t.Context(), path, before, before))

	require.NoError(t, s.AddEvent(t.Context(), store.Event{Kind: programme.OtherTrouble, What: "two"}))
	after, err := s.Rows(t.Context())
	require.NoError(t, err)
	require.NoError(t, check(t.Context(), path, before, after), "made while a row was added")
	require.ErrorContains(t, check(t.Context(), path, after, after),
		"table event has 1 rows in the copy and 2 to 2 in the database")
	require.NoError(t, s.Close())

	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, text[:len(text)/2], 0o600))
	require.ErrorIs(t, check(t.Context(), path, before, before), store.ErrDamaged)
}
