package document

import (
	"bytes"
	"fmt"
	"strconv"
	"time"

	"github.com/xuri/excelize/v2"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// CountForm is one client's list to count by: a row for each person and
// garment. Its columns are those of a ledger file and some to read by, so that
// the filled form is imported as it stands.
type CountForm struct {
	Head
	Date programme.Date // the day counted, filled in to begin with
	Rows []CountRow
	// How explains the form, a sentence a line.
	How []string
}

// CountRow is a person and a garment.
type CountRow struct {
	StaffID, Name, Site   string
	Garment, Colour, Size string // codes, as the ledger names them
	What                  string // in words
	OnRecord              int
}

// countEntry is a row of the form with its day.
type countEntry struct {
	CountRow
	day string
}

// countColumns are those of a ledger file with some to read by. The column
// pieces is empty: it is to be filled in.
var countColumns = []Column[countEntry]{
	{"name", func(r countEntry) string { return r.Name }},
	{"site", func(r countEntry) string { return r.Site }},
	{"item", func(r countEntry) string { return r.What }},
	{"on record", func(r countEntry) string { return strconv.Itoa(r.OnRecord) }},
	{"pieces", func(countEntry) string { return "" }},
	{"date", func(r countEntry) string { return r.day }},
	{"movement", func(countEntry) string { return string(programme.Counted) }},
	{"staff_id", func(r countEntry) string { return r.StaffID }},
	{"garment", func(r countEntry) string { return r.Garment }},
	{"colour", func(r countEntry) string { return r.Colour }},
	{"size", func(r countEntry) string { return r.Size }},
}

func (f *CountForm) entries() []countEntry {
	out := make([]countEntry, len(f.Rows))
	for i, r := range f.Rows {
		out[i] = countEntry{r, f.Date.String()}
	}
	return out
}

// CSV writes the form as a list.
func (f *CountForm) CSV() ([]byte, error) { return CSV(countColumns, f.entries()) }

// XLSX writes the form as a workbook: one column to fill in, which takes whole
// numbers only, and a second sheet that explains it.
func (f *CountForm) XLSX() ([]byte, error) {
	x := excelize.NewFile()
	defer func() { _ = x.Close() }() // a workbook in memory has nothing to lose
	w := workbook{File: x}
	w.count(f)
	w.explain(f.How)
	at := f.Date.Time().Format(time.RFC3339)
	w.do(x.SetDocProps(&excelize.DocProperties{Created: at, Modified: at, Creator: clean.Short(f.Shop), LastModifiedBy: clean.Short(f.Shop), Title: "Count of " + clean.Short(f.Client)}))
	if w.err != nil {
		return nil, fmt.Errorf("write count form: %w", w.err)
	}
	var b bytes.Buffer
	if err := x.Write(&b); err != nil {
		return nil, fmt.Errorf("write count form: %w", err)
	}
	return b.Bytes(), nil
}

// workbook keeps the first error, so that the steps read as a list.
type workbook struct {
	*excelize.File
	err error
}

func (w *workbook) do(err error) {
	if w.err == nil {
		w.err = err
	}
}

func (w *workbook) style(s *excelize.Style) int {
	n, err := w.NewStyle(s)
	w.do(err)
	return n
}

const countSheet = "Count"

// onRecordColumn is the column of the form that is a number.
const onRecordColumn = 3

func (w *workbook) count(f *CountForm) {
	w.do(w.SetSheetName("Sheet1", countSheet))
	head := w.style(&excelize.Style{Font: &excelize.Font{Bold: true}, Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"F1ECE2"}}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "center"}})
	fill := w.style(&excelize.Style{Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"FFF3C4"}}, Border: box("A8451C"), Alignment: &excelize.Alignment{Horizontal: "center"}, Protection: &excelize.Protection{Locked: false}})
	soft := w.style(&excelize.Style{Font: &excelize.Font{Color: "6A6257"}})
	for i, c := range countColumns {
		w.do(w.SetCellStr(countSheet, at(i, 1), c.Heading))
	}
	last := len(f.Rows) + 1
	for i, r := range f.entries() {
		// A cell of type text is never run as a formula. The order is fixed, since
		// the workbook numbers its texts as they come and must be the same to the byte.
		for col, c := range countColumns {
			if s := c.Value(r); s != "" && col != onRecordColumn {
				w.do(w.SetCellStr(countSheet, at(col, i+2), clean.Line(s)))
			}
		}
		w.do(w.SetCellInt(countSheet, at(onRecordColumn, i+2), int64(r.OnRecord)))
	}
	w.do(w.SetCellStyle(countSheet, "A1", at(len(countColumns)-1, 1), head))
	if last > 1 {
		w.do(w.SetCellStyle(countSheet, "E2", at(4, last), fill))
		w.do(w.SetCellStyle(countSheet, "F2", at(len(countColumns)-1, last), soft))
		w.whole(fmt.Sprintf("E2:E%d", last))
	}
	w.look()
}

// whole lets only whole numbers into a column.
func (w *workbook) whole(cells string) {
	v := excelize.NewDataValidation(true)
	v.SetSqref(cells)
	w.do(v.SetRange(0, 99, excelize.DataValidationTypeWhole, excelize.DataValidationOperatorBetween))
	v.SetError(excelize.DataValidationErrorStyleStop, "A number of pieces", "Please write a whole number, such as 4. Leave the cell empty if you did not count.")
	w.do(w.AddDataValidation(countSheet, v))
}

func (w *workbook) look() {
	for i, width := range []float64{26, 16, 30, 10, 10, 12, 11, 11, 12, 10, 8} {
		col := string(rune('A' + i))
		w.do(w.SetColWidth(countSheet, col, col, width))
	}
	landscape, fit := "landscape", 1
	none := 0
	w.do(w.SetPageLayout(countSheet, &excelize.PageLayoutOptions{Orientation: &landscape, FitToWidth: &fit, FitToHeight: &none}))
	on := true
	w.do(w.SetSheetProps(countSheet, &excelize.SheetPropsOptions{FitToPage: &on}))
	w.do(w.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: countSheet + "!$1:$1", Scope: countSheet}))
	// The heading stays in sight, and the cursor stands where the first number goes.
	w.do(w.SetPanes(countSheet, &excelize.Panes{
		Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft",
		Selection: []excelize.Selection{{SQRef: "E2", ActiveCell: "E2", Pane: "bottomLeft"}},
	}))
}

func (w *workbook) explain(how []string) {
	const sheet = "How to"
	_, err := w.NewSheet(sheet)
	w.do(err)
	wrap := w.style(&excelize.Style{Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}})
	w.do(w.SetColWidth(sheet, "A", "A", 80))
	for i, s := range how {
		w.do(w.SetCellStr(sheet, at(0, i+1), clean.Line(s)))
		w.do(w.SetCellStyle(sheet, at(0, i+1), at(0, i+1), wrap))
	}
}

// at names a cell; col counts from 0, row from 1.
func at(col, row int) string {
	name, err := excelize.CoordinatesToCellName(col+1, row)
	if err != nil {
		panic(err) // rows and columns are ours and within the limits of a sheet
	}
	return name
}

func box(colour string) []excelize.Border {
	var out []excelize.Border
	for _, side := range []string{"left", "right", "top", "bottom"} {
		out = append(out, excelize.Border{Type: side, Color: colour, Style: 1})
	}
	return out
}
