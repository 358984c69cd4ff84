package roster_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/roster"
	"github.com/kitmuster/kitmuster/programme/size"
)

// clinic has tunics in a ladies' cut with sizes of its own, and trousers in one.
func clinic() roster.Options {
	opt := bakery()
	opt.Roles = []programme.Role{{Code: "nurse", Name: "Nurse"}}
	opt.Sizes = map[string]*size.Chart{
		"top":        size.NewChart("S", "M", "L", "XL"),
		"ladies-top": size.NewChart("8", "10", "12", "14"),
		"bottom":     size.NewChart("30", "32", "34"),
	}
	return opt
}

func TestOneColumnOfSizesForBothCuts(t *testing.T) {
	for cell, want := range map[string]struct {
		sizes map[string]string
		wrong string
	}{
		"M":         {map[string]string{"top": "M"}, ""},
		"ladies 12": {map[string]string{"ladies-top": "12"}, ""},
		"W-10":      {map[string]string{"ladies-top": "10"}, ""},
		"14 (F)":    {map[string]string{"ladies-top": "14"}, ""},
		"12":        {map[string]string{"ladies-top": "12"}, ""}, // a size of that cut alone
		"mens L":    {map[string]string{"top": "L", "ladies-top": programme.NoSize}, ""},
		"-":         {map[string]string{}, ""},
		"L-M":       {nil, `line 2, column size_top: read "L-M", which may be a cut with a size, or a size between two; write it out, such as ladies M`},
		"ladies M":  {nil, `line 2, column size_top: read "ladies M", but the sizes of ladies-top are 8, 10, 12, 14`},
		"XXS": {nil,
			`line 2, column size_top: read "XXS", but the sizes are S, M, L, XL; in the ladies' cut 8, 10, 12, 14`},
	} {
		list, err := roster.Read("staff.csv",
			[]byte("staff_id,name,role,start_date,size_top\n1,Ada Quill,nurse,2024-05-01,"+cell+"\n"), clinic())
		if want.wrong != "" {
			require.ErrorContains(t, err, want.wrong)
			continue
		}
		require.NoError(t, err, cell)
		require.Equal(t, want.sizes, list.Rows[0].Person.Sizes, cell)
	}
}

func TestAColumnSaysTheCut(t *testing.T) {
	read := func(heading, cut, cell string) (map[string]string, error) {
		opt := clinic()
		opt.Headings = map[string]string{heading: "cut"}
		list, err := roster.Read("staff.csv",
			[]byte("staff_id,name,role,start_date,size_top,"+heading+"\n1,Ada Quill,nurse,2024-05-01,"+
				cell+","+cut+"\n"), opt)
		if err != nil {
			return nil, err
		}
		return list.Rows[0].Person.Sizes, nil
	}
	got, err := read("Fit", "Ladies", "12")
	require.NoError(t, err)
	require.Equal(t, map[string]string{"ladies-top": "12"}, got)
	got, err = read("m/f", "M", "L")
	require.NoError(t, err)
	require.Equal(t, map[string]string{"top": "L", "ladies-top": programme.NoSize}, got)
	got, err = read("cut", "", "L")
	require.NoError(t, err)
	require.Equal(t, map[string]string{"top": "L"}, got)
	_, err = read("Fit", "F", "L")
	require.ErrorContains(t, err, "the sizes of ladies-top are 8, 10, 12, 14")
	_, err = read("Fit", "slim", "L")
	require.ErrorContains(t, err, "write ladies or mens")

	// Under its own heading each size is what it is; who is told apart by a heading that is
	// not ours is asked about.
	_, err = roster.Read("staff.csv",
		[]byte("staff_id,name,role,start_date,size_top,gender\n1,Ada Quill,nurse,2024-05-01,L,F\n"), clinic())
	require.ErrorContains(t, err, `"gender" probably means cut`)
	list, err := roster.Read("staff.csv", []byte("staff_id,name,role,start_date,cut,size_top,size_ladies-top\n1,Ada Quill,nurse,2024-05-01,ladies,M,12\n"), clinic())
	require.NoError(t, err)
	require.Equal(t, map[string]string{"top": "M", "ladies-top": "12"}, list.Rows[0].Person.Sizes)
}

func TestAListChangesACut(t *testing.T) {
	before := []programme.Person{{StaffID: "1", Name: "Ada Quill", Role: "nurse", Start: programme.NewDate(2024, 5, 1),
		Sizes: map[string]string{"ladies-top": "12"}}}
	list, err := roster.Read("staff.csv", []byte("staff_id,name,role,start_date,size_top\n1,Ada Quill,nurse,2024-05-01,mens M\n2,Ben Holt,nurse,2026-02-02,mens L\n"), clinic())
	require.NoError(t, err)
	diff, err := roster.Compare(before, list, roster.CompareOptions{AsOf: today})
	require.NoError(t, err)
	require.Len(t, diff.Size, 1)
	require.Equal(t, map[string]string{"top": "M"}, diff.Size[0].After.Sizes)
	require.Equal(t, map[string][]string{"ladies-top": {"12"}}, diff.Size[0].After.Outgrown)
	require.Equal(t, map[string]string{"top": "L"}, diff.Joined[0].Sizes)
}

// Where clothes come in one cut, men's sizes are its own; a list with ladies' sizes says
// that the programme lacks their cut.
func TestCutsInAListWhereThereIsOne(t *testing.T) {
	opt := clinic()
	delete(opt.Sizes, "ladies-top")
	read := func(cell string) (string, error) {
		list, err := roster.Read("staff.csv",
			[]byte("staff_id,name,role,start_date,size_top\n1,Ada Quill,nurse,2024-05-01,"+cell+"\n"), opt)
		if err != nil {
			return "", err
		}
		return list.Rows[0].Person.Sizes["top"], nil
	}
	got, err := read("mens L")
	require.NoError(t, err)
	require.Equal(t, "L", got)
	for _, cell := range []string{"ladies M", "W-S", "women's 12"} {
		_, err = read(cell)
		require.ErrorContains(t, err, `read "`+cell+`", but the programme has no ladies' cut of this; add it ('kitmuster help changes' shows how)`)
	}
	_, err = read("mens 12")
	require.ErrorContains(t, err, "but the sizes are S, M, L, XL")
}
