package table_test

import (
	"bytes"
	"encoding/csv"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/goldentest"
	"github.com/kitmuster/kitmuster/programme/table"
)

var twoColumns = &table.Form[[2]string]{Columns: []table.Column[[2]string]{
	{Name: "name", Required: true, Read: func(c table.Cell, r *[2]string) { r[0] = c.Word() },
		Write: func(r *[2]string) string { return r[0] }},
	{Name: "note", Read: func(c table.Cell, r *[2]string) { r[1] = c.Word() },
		Write: func(r *[2]string) string { return r[1] }},
}}

// cells reads a file of the columns name and note.
func cells(data []byte) (rows [][2]string, notes []string, err error) {
	l, err := table.Read("list.csv", data, table.Options{}, twoColumns)
	if err != nil {
		return nil, nil, err
	}
	return l.Rows, l.Notes, nil
}

func TestEveryEncodingAndSeparatorGivesTheSameRows(t *testing.T) {
	const text = "name,note\nÅse Bjørkås,\"a, b\"\nZoë,\"two\nlines\"\nÍñigo,x\n"
	want, _, err := cells([]byte(text))
	require.NoError(t, err)
	require.Equal(t, [][2]string{{"Åse Bjørkås", "a, b"}, {"Zoë", "two\nlines"}, {"Íñigo", "x"}}, want)
	encode := map[string]func(string) []byte{
		"UTF-8":                  func(s string) []byte { return []byte(s) },
		"with a byte order mark": func(s string) []byte { return append([]byte{0xEF, 0xBB, 0xBF}, s...) },
		"UTF-16 little end first": func(s string) []byte {
			b, err := unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().Bytes([]byte(s))
			require.NoError(t, err)
			return b
		},
		"UTF-16 big end first": func(s string) []byte {
			b, err := unicode.UTF16(unicode.BigEndian, unicode.UseBOM).NewEncoder().Bytes([]byte(s))
			require.NoError(t, err)
			return b
		},
		"UTF-16 without a mark": func(s string) []byte {
			b, err := unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM).NewEncoder().Bytes([]byte(s))
			require.NoError(t, err)
			return b
		},
		"Windows-1252": func(s string) []byte {
			b, err := charmap.Windows1252.NewEncoder().Bytes([]byte(s))
			require.NoError(t, err)
			return b
		},
	}
	for name, enc := range encode {
		for _, sep := range []rune{',', ';', '\t', '|'} {
			for _, end := range []string{"\n", "\r\n"} {
				var b bytes.Buffer
				w := csv.NewWriter(&b)
				w.Comma = sep
				require.NoError(t, w.Write([]string{"name", "note"}))
				for _, r := range want {
					require.NoError(t, w.Write(r[:]))
				}
				w.Flush()
				got, _, err := cells(enc(strings.ReplaceAll(b.String(), "\n", end)))
				require.NoError(t, err, "%s %q %q", name, sep, end)
				require.Equal(t, want, got, "%s %q %q", name, sep, end)
			}
		}
	}
}

func TestDamagedFilesGetOneClearError(t *testing.T) {
	for name, c := range map[string]struct{ data, want string }{
		"empty": {"", "list.csv: the file is empty."},
		"blank": {"\xEF\xBB\xBF \r\n\r\n", "list.csv: the file is empty."},
		"cut off": {"name,note\nZoë,a\nÅse,\xC3",
			"list.csv line 3: the file ends in the middle of a letter, so its end is missing; save or copy it again."},
		"mixed": {"name,note\nZoë,a\n\xC5se,b\n",
			`list.csv line 3: a letter is damaged: most of the list is UTF-8, this line is not; save it again as "CSV UTF-8".`},
		"no letter": {"name,note\n\x81se,b\n",
			`list.csv line 2: the byte 81 is a letter in neither UTF-8 nor Windows-1252; save the list again as "CSV UTF-8".`},
		"NUL": {"name,note\nA,b\nB\x00,c\n",
			"list.csv line 3: a NUL byte stands in the text, so this is no list or it was damaged; save it again from the spreadsheet as CSV."},
		"half a letter": {"\xFF\xFEn\x00a",
			"list.csv: the file ends in the middle of a letter (UTF-16), so its end is missing; save or copy it again."},
		"a line of 10 MB": {"name,note\n" + strings.Repeat("x", 10<<20) + ",y\n",
			"list.csv line 2: the line is longer than 1048576 characters, so this is no list of rows or a line break is missing; save it again from the spreadsheet as CSV."},
		"open quote": {"name,note\nA,b\nB,\"c\nC,d\nD,e\n",
			"list.csv line 3: a quotation mark is opened here and not closed again; close it, or remove it."},
		"open quote at the end": {"name,note\nA,b\nB,\"c",
			"list.csv line 3: a quotation mark is opened here and not closed again; close it, or remove it."},
		"too many cells": {"name,note\nA,b,c\n",
			"list.csv line 2: the line has 3 cells where the heading has 2; a separator inside a value needs quotation marks around the value."},
		"too few cells": {"name,note\nA\n",
			"list.csv line 2: the line has 1 cell where the heading has 2; write an empty cell for what is not known."},
		"no heading": {"Ana,x\nBo,y\n",
			"list.csv: no line among the first 30 names the columns; write one above the rows: name, note; or say what yours mean, each with --map \"Your heading=name\"."},
		"two headings alike": {"name,Note,NAME\na,b,c\n",
			`list.csv line 1: the headings "name" and "NAME" both mean name; keep one of them, or pass one over with --map "NAME=".`},
		"an old workbook": {"\xD0\xCF\x11\xE0\xA1\xB1",
			"list.csv: this is a workbook in the old Excel form or one with a password; save it as XLSX without a password, or as CSV."},
		"a broken workbook": {"PK\x03\x04 and then nothing",
			"list.csv: cannot be opened as a workbook (it is damaged, incomplete or protected by a password); save it again as XLSX or CSV."},
		"a PDF": {"%PDF-1.7",
			"list.csv: this is a PDF, which shows a list but does not hold one; ask for the list as CSV or XLSX."},
		"a web page": {"<html><table>",
			"list.csv: this is a web page or XML, not a list; open it in a spreadsheet and save it as XLSX or CSV."},
	} {
		_, _, err := cells([]byte(c.data))
		require.EqualError(t, err, c.want, name)
	}
}

// Spreadsheets run letters of full width as formulas too.
func TestWhatIsWrittenIsNoFormulaAndComesBack(t *testing.T) {
	for _, cell := range []string{"=1+1", "+41", "-x", "@x", "＝1+1", "＋1", "－1", "＠x", "'＝1", "'=1", "'tis", "plain"} {
		guarded := clean.Guard(cell)
		require.NotContains(t, "=+-@＝＋－＠", string([]rune(guarded)[:1]), cell)
		rows, _, err := cells([]byte("name,note\nA,\"" + guarded + "\"\n"))
		require.NoError(t, err)
		require.Equal(t, cell, rows[0][1])
	}
}

func TestAMappingThatMatchesNothingIsRefused(t *testing.T) {
	var opt table.Options
	opt.Headings = map[string]string{"Nmae": "name", "Remark": "note"}
	opt.Stated = map[string]string{"Nmae": "name"}
	_, err := table.Read("list.csv", []byte("name,remark\nA,b\n"), opt, twoColumns)
	require.EqualError(t, err,
		`list.csv line 1: --map "Nmae=name" matches nothing: no heading says "Nmae"; the headings are name, remark.`)
	opt.Stated = map[string]string{"REMARK": "note"}
	_, err = table.Read("list.csv", []byte("name,remark\nA,b\n"), opt, twoColumns)
	require.NoError(t, err)
}

func TestAQuotationMarkInsideACellIsNoHarm(t *testing.T) {
	rows, _, err := cells([]byte("name,note\nEdda \"Eddie\" F,6\" hem\nA,\"say \"\"hi\"\"\"\nB, \"x, y\"\n"))
	require.NoError(t, err)
	require.Equal(t, [][2]string{{`Edda "Eddie" F`, `6" hem`}, {"A", `say "hi"`}, {"B", "x, y"}}, rows)
}

// What is written as CSV with any separator is read as it was, but for what
// surrounds a cell.
func TestCellsSurviveWritingAndReading(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 8).Draw(t, "rows")
		var want [][2]string
		var b bytes.Buffer
		w := csv.NewWriter(&b)
		w.Comma = rapid.SampledFrom([]rune{',', ';', '\t', '|'}).Draw(t, "separator")
		require.NoError(t, w.Write([]string{"Note", "Name"}))
		for range n {
			r := [2]string{drawCell(t), drawCell(t)}
			want = append(want, r)
			require.NoError(t, w.Write([]string{clean.Guard(r[1]), clean.Guard(r[0])}))
		}
		w.Flush()
		got, _, err := cells(b.Bytes())
		require.NoError(t, err)
		require.Equal(t, want, got)
	})
}

func drawCell(t *rapid.T) string {
	return "v" + clean.Line(rapid.StringMatching(`[a-zåé,;|"'=+@ -]{0,12}`).Draw(t, "cell")) + "."
}

func FuzzOpen(f *testing.F) {
	goldentest.Seeds(f, "../../testdata/rosters/*.*", "../../testdata/malformed/*/*")
	f.Add([]byte("name,note\na,b\n"))
	f.Add([]byte("sep=;\nname;note\na;\"b\nc\"\n"))
	f.Add([]byte("\xff\xfen\x00a\x00m\x00e\x00,\x00n\x00o\x00t\x00e\x00\n\x00"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 1<<16 {
			return
		}
		rows, notes, err := cells(data)
		if err != nil {
			var one *table.Error
			var many table.Errors
			require.True(t, errors.As(err, &one) || errors.As(err, &many))
			return
		}
		if strings.Contains(strings.Join(notes, " "), "columns not used") {
			return // a row may say something in those alone
		}
		var b bytes.Buffer
		require.NoError(t, twoColumns.Write(&b, rows))
		again, _, err := cells(b.Bytes())
		require.NoError(t, err, "%q", b.String())
		require.Len(t, again, len(rows))
	})
}
