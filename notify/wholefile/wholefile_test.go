package wholefile_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/wholefile"
)

func TestAFileIsReplacedWholeAndForItsOwnerAlone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "list.csv")
	for _, text := range []string{"a long first text", "short"} {
		require.NoError(t, wholefile.Write(path, []byte(text)))
		got, err := os.ReadFile(path)
		require.NoError(t, err)
		require.Equal(t, text, string(got))
	}
	info, err := os.Stat(path)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	left, err := os.ReadDir(filepath.Dir(path))
	require.NoError(t, err)
	require.Len(t, left, 1, "nothing half written stays")
}

func TestANewFileTakesNobodysPlace(t *testing.T) {
	path := filepath.Join(t.TempDir(), "list.csv")
	require.NoError(t, wholefile.New(path, []byte("somebody's work")))
	require.ErrorIs(t, wholefile.New(path, []byte("other")), os.ErrExist)
	got, err := os.ReadFile(path)
	require.NoError(t, err)
	require.Equal(t, "somebody's work", string(got))
}

func TestWhatCannotBePlacedLeavesNothingBehind(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "taken", "by a folder"), 0o700))
	require.Error(t, wholefile.Write(filepath.Join(dir, "taken"), []byte("x")))
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, left, 1)
	require.Error(t, wholefile.Write(filepath.Join(dir, "no", "such", "folder"), nil))
}
