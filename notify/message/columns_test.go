package message_test

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// A column that is empty in every golden list could lose its value, or have another's, and no
// list would show it.
func TestEveryColumnOfAListIsFilledInSomeGolden(t *testing.T) {
	lists, err := filepath.Glob(filepath.Join("testdata", "golden", "*.csv"))
	require.NoError(t, err)
	require.NotEmpty(t, lists)
	filled := map[string]bool{}
	for _, name := range lists {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		rows, err := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(text, []byte("\ufeff")))).ReadAll()
		require.NoError(t, err, name)
		for _, row := range rows[1:] {
			for i, cell := range row {
				heading := rows[0][i]
				filled[heading] = filled[heading] || cell != ""
			}
		}
	}
	for heading, is := range filled {
		require.True(t, is, "no list has anything under %s: give a fixture a value for it", heading)
	}
}
