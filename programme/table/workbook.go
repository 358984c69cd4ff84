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

// sheetGrid is one sheet of a workbook. The cells of a row stand one behind the
// other in one text: a slice of strings for each would take far more memory.
type sheetGrid struct {
	file string
	name string
	rows []sheetRow
	ends []uint32 // where each cell of each row ends in the text of its row
	bad  *Error   // why the sheet cannot be read as a list, from its line on
}

// sheetRow is a row with any text. Its cells end at sheetGrid.ends[from:to].
type sheetRow struct {
	line, from, to int
	text           string
}

func (g *sheetGrid) each(f func(line int, cells []string) bool) *Error {
	var cells []string
	for _, row := range g.rows {
		cells = cells[:0]
		begin := uint32(0)
		for _, end := range g.ends[row.from:row.to] {
			cells = append(cells, row.text[begin:end])
			begin = end
		}
		if !f(row.line, cells) {
			return nil
		}
	}
	return g.bad
}

// workbook holds the parts of an XLSX file.
type workbook struct {
	file     string
	sheets   []*sheetGrid
	date1904 bool // days are counted from 1904, as old Macintosh workbooks do

	cells, text int // so far, of all sheets
}

// openWorkbook reads every sheet. Cells are taken raw, since their shown form
// hides what they hold: a date comes as its day number.
func openWorkbook(file string, data []byte) (*workbook, *Error) {
	if bad := checkArchive(file, data); bad != nil {
		return nil, bad
	}
	f, err := excelize.OpenReader(bytes.NewReader(data),
		excelize.Options{RawCellValue: true, UnzipSizeLimit: maxUnpacked, UnzipXMLSizeLimit: inMemory})
	if err != nil {
		return nil, unopened(file, err)
	}
	defer func() { _ = f.Close() }()
	w := &workbook{file: file}
	if props, err := f.GetWorkbookProps(); err == nil && props.Date1904 != nil {
		w.date1904 = *props.Date1904
	}
	for _, name := range f.GetSheetList() {
		s, err := w.sheet(f, name)
		if err != nil {
			return nil, &Error{File: file, Want: fmt.Sprintf("the sheet %q cannot be read; save the workbook again as XLSX or CSV", name), Err: err}
		}
		w.sheets = append(w.sheets, s)
	}
	return w, nil
}

// sheet reads one sheet up to where it goes beyond what a list has.
func (w *workbook) sheet(f *excelize.File, name string) (*sheetGrid, error) {
	rows, err := f.Rows(name)
	if err != nil {
		return nil, err
	}
	g := &sheetGrid{file: w.file, name: name}
	for line := 1; rows.Next() && g.bad == nil; line++ {
		cells, err := rows.Columns()
		if err != nil {
			return nil, errors.Join(err, rows.Close())
		}
		if !blank(cells) {
			w.add(g, line, cells)
		}
	}
	if err := rows.Error(); err != nil {
		return nil, errors.Join(err, rows.Close())
	}
	return g, rows.Close()
}

// add puts a row behind the others, or says why it is beyond bounds.
func (w *workbook) add(g *sheetGrid, line int, cells []string) {
	cells = cells[:filled(cells)]
	w.cells += len(cells)
	for _, c := range cells {
		w.text += len(c)
	}
	switch {
	case len(cells) > maxColumns:
		g.bad = tooWide(g.file, line, len(cells))
	case len(g.rows) == maxRows:
		g.bad = tooLong(g.file, line)
	case w.cells > maxCells:
		g.bad = &Error{File: g.file, Line: line,
			Want: fmt.Sprintf("the workbook has more than %d cells; save the list alone, or split it", maxCells)}
	case w.text > maxCellText:
		g.bad = &Error{File: g.file, Line: line, Want: fmt.Sprintf("the cells of the workbook hold more than %d MB of text; save the list alone, or split it", maxCellText>>20)}
	default:
		row := sheetRow{line: line, from: len(g.ends), text: strings.Join(cells, "")}
		end := 0
		for _, c := range cells {
			end += len(c)
			g.ends = append(g.ends, uint32(end))
		}
		row.to = len(g.ends)
		g.rows = append(g.rows, row)
	}
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
