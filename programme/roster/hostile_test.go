package roster_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/roster"
	"github.com/kitmuster/kitmuster/programme/table"
	"github.com/kitmuster/kitmuster/programme/table/tabletest"
)

func TestFilesThatTakeGigabytesAreRefusedInOneSentence(t *testing.T) {
	for _, f := range tabletest.HostileFiles(t) {
		_, err := roster.Read(f.Name, f.Data, roster.Options{})
		require.ErrorContains(t, err, f.Want, f.Name)
		require.NotContains(t, err.Error(), "\n", f.Name)
	}
}

func TestAMappedRoleThatNoRowHasIsRefused(t *testing.T) {
	const file = "staff_id,name,role,start_date\n1,Ada,Line Cook,2024-05-01\n"
	for theirs, want := range map[string]string{"Line Cook": "", "Line Cooks": `staff.csv: --map "role:Line Cooks=cook" matches nothing: no row has the role "Line Cooks".`} {
		stated := map[string]string{"role:" + theirs: "cook"}
		_, err := roster.Read("staff.csv", []byte(file), roster.Options{Options: table.Options{Headings: stated, Stated: stated}})
		if want == "" {
			require.NoError(t, err)
			continue
		}
		require.EqualError(t, err, want)
	}
}
