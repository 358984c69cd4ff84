package dropfolder_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/dropfolder"
)

// A day sheet that went out for a client with an accent in its code comes back under a name without it.
func TestANameMeansAClientWithAccents(t *testing.T) {
	for name, at := range map[string]int{
		"day-sheet--cafe-morgenrot--2026-10-12.xlsx": 1,
		"roster--Café-Morgenrot.csv":                 1,
		"roster--baeckerei.csv":                      2,
		"roster--quay.csv":                           0,
		"roster--harbour.csv":                        -1,
		"roster--muller.csv":                         -1, // two are called so without accents
		"roster--múller.csv":                         3,
	} {
		n, err := dropfolder.ParseName(name)
		require.NoError(t, err)
		require.Equal(t, at, n.Among([]string{"quay", "café-morgenrot", "bäckerei", "múller", "mùller"}), name)
	}
}
