// Package goldentest compares output with files kept beside a test.
//
// Renew them all with UPDATE_GOLDEN=1 go test ./... and read the difference
// as the person would who receives it.
package goldentest

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write golden files instead of comparing")

// Equal compares got with testdata/golden/NAME below the test's folder.
func Equal(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", "golden", filepath.FromSlash(name))
	if *update || os.Getenv("UPDATE_GOLDEN") == "1" {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, got, 0o644))
		return
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "no golden file; run with UPDATE_GOLDEN=1 to write it")
	if strings.ContainsRune(string(got), 0) {
		require.Equal(t, want, got, "%s differs", path)
		return
	}
	require.Equal(t, string(want), string(got), "%s differs", path)
}
