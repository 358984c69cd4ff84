package roster_test

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/roster"
	"github.com/kitmuster/kitmuster/programme/size"
	"github.com/kitmuster/kitmuster/programme/table"
	"github.com/kitmuster/kitmuster/programme/table/tabletest"
)

const rosters = "../../testdata/rosters"

var today = programme.NewDate(2026, time.March, 9)

// bakery is the programme that the lists of testdata/rosters are for. The
// people are invented.
func bakery() roster.Options {
	return roster.Options{
		Roles: []programme.Role{{Code: "barista", Name: "Barista"}, {Code: "baker", Name: "Baker"},
			{Code: "supervisor", Name: "Supervisor"}},
		Sizes: map[string]*size.Chart{
			"top":    size.NewChart("XS", "S", "M", "L", "XL", "2XL", "3XL"),
			"bottom": size.NewChart("28/30", "30/30", "30/32", "32/32", "34/32", "36/34", "38/32"),
			"head":   size.NewChart("7 1/8", "7 1/4", "7 3/8", "ONE"),
		},
		Options: table.Options{Latest: today.Add(730)},
	}
}

type messy struct {
	file, mess string
	full       bool
	options    roster.Options
}

func messyLists(t *testing.T) []messy {
	t.Helper()
	f, err := os.Open(filepath.Join(rosters, "cases.csv"))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	var list []messy
	for _, r := range rows[1:] {
		m := messy{file: r[0], full: r[1] != "", mess: r[5], options: bakery()}
		m.options.Dates, m.options.Sheet = table.DateOrder(r[2]), r[3]
		m.options.Headings = map[string]string{}
		for _, pair := range strings.FieldsFunc(r[4], func(r rune) bool { return r == ';' }) {
			theirs, ours, _ := strings.Cut(pair, "=")
			m.options.Headings[theirs] = ours
		}
		list = append(list, m)
	}
	return list
}

func base(t *testing.T) []programme.Person {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(rosters, "base.csv"))
	require.NoError(t, err)
	list, err := roster.Read("base.csv", data, bakery())
	require.NoError(t, err)
	return people(list)
}

func people(list *roster.List) []programme.Person {
	var all []programme.Person
	for _, r := range list.Rows {
		all = append(all, r.Person)
	}
	return all
}

// Each list is a mess of its own kind; its golden file is the diff against
// base.csv or the refusal, as a person reads it.
func TestMessyListsGiveADiffOrARefusal(t *testing.T) {
	cases := messyLists(t)
	require.GreaterOrEqual(t, len(cases), 60)
	before := base(t)
	for _, c := range cases {
		t.Run(c.file, func(t *testing.T) {
			data, err := os.ReadFile(filepath.Join(rosters, c.file))
			require.NoError(t, err)
			goldentest.Equal(t, c.file+".txt", []byte(c.mess+"\n\n"+outcome(c, data, before)))
		})
	}
}

func outcome(c messy, data []byte, before []programme.Person) string {
	list, err := roster.Read(c.file, data, c.options)
	if err != nil {
		return "REFUSED\n" + err.Error() + "\n"
	}
	var b strings.Builder
	for _, n := range list.Notes {
		b.WriteString("note: " + n + "\n")
	}
	diff, err := roster.Compare(before, list, roster.CompareOptions{AsOf: today, Full: c.full})
	if err != nil {
		return "REFUSED\n" + err.Error() + "\n"
	}
	if diff.TooManyLeave() {
		b.WriteString("NEEDS A YES: more than a quarter leave\n")
	}
	b.WriteString(diff.Text(programme.DayFirst))
	return b.String()
}

func TestMalformedFilesGetOneClearError(t *testing.T) {
	tabletest.Malformed(t, "../../testdata/malformed/roster", func(file string, data []byte) error {
		_, err := roster.Read(file, data, bakery())
		return err
	})
}
