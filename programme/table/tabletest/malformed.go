// Package tabletest has what the tests of all readers of tables share.
package tabletest

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Malformed reads every file of a folder. Each must be refused with one error
// of type table.Errors; all of them together are the golden malformed.txt.
func Malformed(t *testing.T, folder string, read func(file string, data []byte) error) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(folder, "*"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	var all strings.Builder
	for _, f := range files {
		data, err := os.ReadFile(f)
		require.NoError(t, err)
		err = read(filepath.Base(f), data)
		var errs table.Errors
		require.ErrorAs(t, err, &errs, f)
		require.Len(t, errs, 1, "%s: %v", f, err)
		all.WriteString(err.Error() + "\n")
	}
	goldentest.Equal(t, "malformed.txt", []byte(all.String()))
}
