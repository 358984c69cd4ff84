package table

import (
	"bytes"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"github.com/kitmuster/kitmuster/programme"
)

// sheetGrid is one sheet of a workbook.
type sheetGrid struct {
	name  string
	lines [][]string
}

func (g *sheetGrid) each(f func(line int, cells []string) bool) *Error {
	for i, cells := range g.lines {
		if blank(cells) {
			continue
		}
		if !f(i+1, cells) {
			return nil
		}
	}
	return nil
}

func (g *sheetGrid) atMost() int { return len(g.lines) }

// workbook is what an XLSX file holds.
type workbook struct {
	sheets   []*sheetGrid
	date1904 bool // days are counted from 1904, as old Macintosh workbooks do
}

const (
	unzipLimit   = 512 << 20
	maxSheetRows = 1 << 20
)

// openWorkbook reads every sheet. Cells are taken raw, since their shown form
// hides what they hold: a date comes as its day number.
func openWorkbook(file string, data []byte) (*workbook, *Error) {
	f, err := excelize.OpenReader(bytes.NewReader(data), excelize.Options{RawCellValue: true, UnzipSizeLimit: unzipLimit, UnzipXMLSizeLimit: unzipLimit})
	if err != nil {
		return nil, &Error{File: file, Want: "cannot be opened as a workbook (it is damaged, incomplete or protected by a password); save it again as XLSX or CSV", Err: err}
	}
	defer func() { _ = f.Close() }()
	w := &workbook{}
	if props, err := f.GetWorkbookProps(); err == nil && props.Date1904 != nil {
		w.date1904 = *props.Date1904
	}
	for _, name := range f.GetSheetList() {
		lines, err := sheetLines(f, name)
		if err != nil {
			return nil, &Error{File: file, Want: fmt.Sprintf("the sheet %q cannot be read; save the workbook again as XLSX or CSV", name), Err: err}
		}
		w.sheets = append(w.sheets, &sheetGrid{name: name, lines: lines})
	}
	return w, nil
}

var errTooManyRows = errors.New("too many rows")

func sheetLines(f *excelize.File, name string) ([][]string, error) {
	rows, err := f.Rows(name)
	if err != nil {
		return nil, err
	}
	var lines [][]string
	for rows.Next() {
		cells, err := rows.Columns()
		if err != nil {
			return nil, errors.Join(err, rows.Close())
		}
		if len(lines) == maxSheetRows {
			return nil, errors.Join(errTooManyRows, rows.Close())
		}
		lines = append(lines, cells)
	}
	if err := rows.Error(); err != nil {
		return nil, errors.Join(err, rows.Close())
	}
	return lines, rows.Close()
}

// serialDate reads the day number that a workbook keeps for a date.
func serialDate(s string, date1904 bool) (programme.Date, bool) {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || v < 1 || v > 100000 || strings.ContainsAny(s, "eExX") {
		return 0, false
	}
	t, err := excelize.ExcelDateToTime(v, date1904)
	if err != nil {
		return 0, false
	}
	return programme.DateOf(t), true
}

// otherFormats are files that people take for a list, by how they begin.
var otherFormats = []struct {
	begins string
	want   string
}{
	{"\xD0\xCF\x11\xE0", "this is a workbook in the old Excel form or one with a password; save it as XLSX without a password, or as CSV"},
	{"%PDF", "this is a PDF, which shows a list but does not hold one; ask for the list as CSV or XLSX"},
	{"<", "this is a web page or XML, not a list; open it in a spreadsheet and save it as XLSX or CSV"},
	{"{\\rtf", "this is a text document; copy the list into a spreadsheet and save it as XLSX or CSV"},
	{"\x1F\x8B", "this is a compressed file; unpack it first"},
	{"\x89PNG", "this is a picture; ask for the list as CSV or XLSX"},
	{"\xFF\xD8\xFF", "this is a picture; ask for the list as CSV or XLSX"},
}

// checkFormat refuses what is no list, with what to do instead.
func checkFormat(file string, data []byte) *Error {
	if len(bytes.Trim(data, " \t\r\n\xEF\xBB\xBF")) == 0 {
		return &Error{File: file, Want: "the file is empty"}
	}
	if len(data) > MaxBytes {
		return &Error{File: file, Want: fmt.Sprintf("the file is larger than %d MB; split it", MaxBytes>>20)}
	}
	for _, o := range otherFormats {
		if bytes.HasPrefix(data, []byte(o.begins)) {
			return &Error{File: file, Want: o.want}
		}
	}
	if isZip(data) && bytes.Contains(data[:min(len(data), 512)], []byte("opendocument")) {
		return &Error{File: file, Want: "this is an OpenDocument sheet; save it as XLSX or CSV"}
	}
	return nil
}

func isZip(data []byte) bool { return bytes.HasPrefix(data, []byte("PK\x03\x04")) }
