package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
)

// A database that is gone is a loss that has to be told. An empty one in its
// place would say that all is well and that nobody is due.
func TestAMissingDatabaseIsToldAndNotReplaced(t *testing.T) {
	home := bakeryHome(t)
	mustKit(t, home, "backup")
	copies, err := filepath.Glob(filepath.Join(home, "backup", "*.db"))
	require.NoError(t, err)
	require.Len(t, copies, 1)
	path := filepath.Join(home, books.DatabaseFile)
	require.NoError(t, os.Rename(path, path+".lost"))

	for _, line := range [][]string{
		{"round"}, {"run"}, {"status"}, {"backup"}, {"programme", "apply", "../../testdata/bakery/harbour.yaml"},
		{"mail", "list"},
		{"roster", "list", "harbour"}, {"issue", "harbour", "0001", "polo"},
	} {
		status, _, complaint := kit(t, home, line...)
		require.Equal(t, exitWork, status, line)
		require.Contains(t, complaint, "there is no database: "+path, line)
		require.Contains(t, complaint, "'kitmuster restore "+copies[0]+"' puts it in its place", line)
		require.NoFileExists(t, path, line)
	}
	status, out, _ := kit(t, home, "check")
	require.Equal(t, exitWork, status)
	require.Contains(t, out, "mend  there is no database: ")
	require.NotContains(t, out, "All is well")

	mustKit(t, home, "restore", copies[0])
	require.Contains(t, mustKit(t, home, "roster", "list", "harbour"), "Ada Brackenholt")
}

// Where there was never a backup, the first programme begins the shop.
func TestTheFirstApplyBeginsAShop(t *testing.T) {
	home := shopWithFiles(t)
	path := filepath.Join(home, books.DatabaseFile)
	status, _, complaint := kit(t, home, "round")
	require.Equal(t, exitWork, status)
	require.Contains(t, complaint, "where the shop is new, 'kitmuster programme apply' makes it")
	require.NoFileExists(t, path)
	mustKit(t, home, "programme", "apply")
	require.FileExists(t, path)
	mustKit(t, home, "round", "--dry-run")
}
