package roster_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/roster"
	"github.com/kitmuster/kitmuster/programme/table/tabletest"
)

func TestFilesThatTakeGigabytesAreRefusedInOneSentence(t *testing.T) {
	for _, f := range tabletest.HostileFiles(t) {
		_, err := roster.Read(f.Name, f.Data, roster.Options{})
		require.ErrorContains(t, err, f.Want, f.Name)
		require.NotContains(t, err.Error(), "\n", f.Name)
	}
}
