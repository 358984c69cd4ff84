package roster_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/roster"
	"github.com/kitmuster/kitmuster/programme/table"
)

func TestMalformedFilesGetOneClearError(t *testing.T) {
	files, err := filepath.Glob("../../testdata/malformed/roster/*")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	var all strings.Builder
	for _, f := range files {
		data, err := os.ReadFile(f)
		require.NoError(t, err)
		_, err = roster.Read(filepath.Base(f), data, bakery())
		var errs table.Errors
		require.ErrorAs(t, err, &errs, f)
		require.Len(t, errs, 1, "%s: %v", f, err)
		all.WriteString(err.Error() + "\n")
	}
	goldentest.Equal(t, "malformed.txt", []byte(all.String()))
}
