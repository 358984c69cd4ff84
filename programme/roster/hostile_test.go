package roster_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/roster"
	"github.com/kitmuster/kitmuster/programme/size"
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

// A list as an office sends it: an address book's headings, a line twice, a size in two
// ways of writing, a total; and a programme whose one role nobody writes down.
func TestAListAsAnOfficeSendsIt(t *testing.T) {
	const file = "\ufeffHired;Trouser;Surname, first name;Polo size;Pers. no\n" +
		"2019-04-13;34;\"Doyle, Aidan\";2XL / XXL;7\n2021-11-15;32;\"Kerr, Nuala\";M;12\n2021-11-15;32;\"Kerr, Nuala\";M;12\n;;Total;;2\n"
	opt := roster.Options{Roles: []programme.Role{{Code: "staff"}}, Sizes: map[string]*size.Chart{"top": size.NewChart("M", "2XL"), "bottom": size.NewChart("32", "34")}}
	_, err := roster.Read("staff.csv", []byte(file), opt)
	require.EqualError(t, err, `staff.csv line 1: "Hired" probably means start_date, "Trouser" probably means size_bottom, "Surname, first name" probably means name, "Polo size" probably means size_top, "Pers. no" probably means staff_id; if that is so, add --map "Hired=start_date" --map "Trouser=size_bottom" --map "Surname, first name=name" --map "Polo size=size_top" --map "Pers. no=staff_id" (an empty right side passes a column over).`)
	opt.Headings = map[string]string{"Hired": "start_date", "Trouser": "size_bottom", "Surname, first name": "name", "Polo size": "size_top", "Pers. no": "staff_id"}
	list, err := roster.Read("staff.csv", []byte(file), opt)
	require.NoError(t, err)
	require.Len(t, list.Rows, 2)
	require.Zero(t, list.Skipped, "nobody is of a role that wears no uniform")
	require.Equal(t, "staff", list.Rows[0].Person.Role)
	require.Equal(t, "2XL", list.Rows[0].Person.Sizes["top"])
	require.Contains(t, list.Notes, "line 4 says the same as line 3 and counts once")

	// The same number with something else beside it is a doubt, as ever.
	_, err = roster.Read("staff.csv", []byte(strings.Replace(file, "M;12\n2021", "L;12\n2021", 1)), opt)
	require.ErrorContains(t, err, "line 3 has the same number")
	// A role that is said wrong in the same way on many lines is told once.
	opt.Headings["Surname, first name"], opt.Headings["Trouser"] = "name", "role"
	_, err = roster.Read("staff.csv", []byte(file), opt)
	require.ErrorContains(t, err, `lines 3 and 4, column Trouser: read "32", but there is no such role`)
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
