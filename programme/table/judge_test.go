package table_test

import (
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/table"
)

type person struct {
	name string
	day  programme.Date
	line int
}

var people = &table.Form[person]{
	Columns: []table.Column[person]{
		{Name: "name", Required: true, Missing: "the name is missing",
			Read: func(c table.Cell, r *person) { r.name, r.line = c.Word(), c.Line }},
		{Name: "start_date", Required: true, Missing: "the start date is missing",
			Date: func(r *person) *programme.Date { return &r.day }},
		{Name: "role", Also: []string{"job"}, Words: table.OrLeftOut, Read: func(table.Cell, *person) {}},
	},
	Begins: []int{0},
	Title:  func(s string) bool { return s == "Kitchen" },
}

// Whatever stands between rows, and whatever is mapped: every line with anything in it is a row, is named
// by an error, or is named by a note. Nothing is lost unseen.
func TestEveryLineIsARowOrIsNamed(t *testing.T) {
	named := regexp.MustCompile(`line (\d+)`)
	lines := []string{"Ana Brill;2024-05-01;cook;", "Ana Brill;;;", "Som Li;;;3", "Sum: 3;;;", "Total;;;3", ";;;;", ";;;x",
		"Night shift;;;", "Night shift", "Upstairs;;;", "Kitchen;;;", ";;Upstairs;", ";2024-05-01;;", "7;;;", ";;7;",
		"name;start_date;job;note", "Name;Start date;Role;Note", "NAME;;;", "As of 3 May 2024;;;", "As of;2024-05-03;;",
		"Page Turner;;;", "Page 3;;;", "Bo;2024-13-01;;", "Cy;2024-05-01;clerk;", "note;;;", "-;;;", "a;b", "a;b;c;d;e",
		"Bo;Bo;Bo;Bo", "Stand;2024-05-01;cook;", "Total Eren;2024-05-01;cook;", ";soon;;", "x;soon;y;z"}
	rapid.Check(t, func(t *rapid.T) {
		file := rapid.SliceOfN(rapid.SampledFrom(lines), 1, 12).Draw(t, "lines")
		maps := map[string]string{}
		for _, m := range []string{"Upstairs", "role:clerk", "Ana Brill"} {
			if rapid.Bool().Draw(t, m) {
				maps[m] = ""
			}
		}
		list, err := table.Read("l.csv", []byte("name;start_date;job;note\n"+strings.Join(file, "\n")+"\n"),
			table.Options{Headings: merged(maps, "job", "role")}, people)
		if list == nil {
			require.Error(t, err)
			return
		}
		seen := map[int]bool{}
		for _, r := range list.Rows {
			seen[r.line] = true
		}
		var errs table.Errors
		errors.As(err, &errs)
		for line := range errs.Lines() {
			seen[line] = true
		}
		leftOut := 0
		for _, n := range list.Notes {
			if strings.Contains(n, `"clerk", which is mapped to nothing`) {
				leftOut++ // counted, not named: whoever wrote the mapping knows them
			}
			for _, m := range named.FindAllStringSubmatch(n, -1) {
				line, _ := strconv.Atoi(m[1])
				seen[line] = true
			}
			for _, m := range regexp.MustCompile(`heading again: (.*)`).FindAllStringSubmatch(n, -1) {
				require.NotEmpty(t, m[1])
			}
		}
		for i, l := range file {
			if strings.Trim(l, ";") != "" && !seen[i+2] && (leftOut == 0 || !strings.Contains(l, "clerk")) {
				t.Fatalf("line %d (%s) is neither a row nor named: %v %v %v", i+2, l, list.Rows, list.Notes, err)
			}
		}
	})
}

func merged(maps map[string]string, theirs, ours string) map[string]string {
	maps[theirs] = ours
	return maps
}

// Somebody whose row lacks a day is told so, also where the name is a word of totals, pages or shifts.
func TestWhoMayBeAPersonIsNotPassedOver(t *testing.T) {
	for _, line := range []string{"Som Chai;;cook;", "Page Turner;;;", "Stan Tall;;;", "Ana Brill;;cook;", "Sum Li;;;",
		"Ensemble Jo;;;", "Ana Brill;;;", "Shiftan Lee;;;", "Upstairs;;;"} {
		_, err := table.Read("l.csv", []byte("name;start_date;role;note\n"+line+"\nBo;2024-05-01;cook;\n"), table.Options{},
			people)
		require.ErrorContains(t, err, "l.csv line 2", line)
	}
}

func TestManyTitlesAreCounted(t *testing.T) {
	var b strings.Builder
	b.WriteString("name;start_date;role;note\n")
	for i := range 40 {
		fmt.Fprintf(&b, "Team %c%d;;;\nBo;2024-05-01;cook;\n", 'A'+i%26, i)
	}
	list, err := table.Read("l.csv", []byte(b.String()), table.Options{}, people)
	require.NoError(t, err)
	require.Len(t, list.Rows, 40)
	require.Len(t, list.Notes, 2)
	require.True(t, strings.HasPrefix(list.Notes[1], `left out as titles: line 2 "Team A0", line 4 "Team B1", `), list.Notes)
	require.True(t, strings.HasSuffix(list.Notes[1], ` and 10 more`), list.Notes)
}

func TestAMappingToNothingMustMeetAHeadingOrALine(t *testing.T) {
	read := func(theirs string) error {
		said := map[string]string{theirs: ""}
		_, err := table.Read("l.csv", []byte("name;start_date;role;note\nUpstairs;;;\nBo;2024-05-01;cook;\n"),
			table.Options{Headings: said, Stated: said}, people)
		return err
	}
	require.NoError(t, read("UPSTAIRS"))
	require.ErrorContains(t, read("note"), `Where such a line is a title and no row, add --map "Upstairs=".`)
	require.EqualError(t, read("Upstair"), `l.csv line 1: --map "Upstair=" matches nothing: no heading says "Upstair", and no line says nothing else; the headings are name, start_date, role, note.`)
}

// The letters of column 27 and further are those of spreadsheets.
func TestListsSideBySideAreNamedByTheirColumn(t *testing.T) {
	for n, letters := range map[int]string{2: "D", 25: "AA"} {
		gap := strings.Repeat(";", n)
		_, err := table.Read("l.csv", []byte("name;start_date;"+gap[1:]+"name;start_date\nAna;2024-05-01;"+gap[1:]+"Bo;2024-05-01\n"),
			table.Options{}, people)
		require.ErrorContains(t, err, `the headings begin again with "name" in column `+letters+";", n)
	}
}
