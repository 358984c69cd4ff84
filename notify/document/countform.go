package document

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// CountForm is a list to count by, for one place of one client: who it is for and
// until when, one day for all of it, a row for each person and garment, and room
// for what is not on it. Whoever fills it in sees plain words only; the import
// knows its headings.
type CountForm struct {
	Head
	Site     string         // empty = all places
	ReturnBy programme.Date // no date leaves it out
	Date     programme.Date // the day counted, filled in to begin with
	Day      func(programme.Date) string
	Rows     []CountRow // in the order of the form: roles together
	// How explains the form, a sentence a line.
	How []string
}

// CountRow is a person and a garment, in words.
type CountRow struct {
	Name, Role, Garment, Colour, Size string
	OnRecord                          int
	StaffID                           string
}

// spareRows are for people and garments that are not on the list.
const spareRows = 8

// countColumns are the columns of the form; the one to fill in is empty.
var countColumns = []Column[CountRow]{
	{"Role", func(r CountRow) string { return r.Role }},
	{"Name", func(r CountRow) string { return r.Name }},
	{"Garment", func(r CountRow) string { return r.Garment }},
	{"Colour", func(r CountRow) string { return r.Colour }},
	{"Size", func(r CountRow) string { return r.Size }},
	{"On record", func(r CountRow) string { return strconv.Itoa(r.OnRecord) }},
	{"Presentable", func(CountRow) string { return "" }},
	{"No.", func(r CountRow) string { return r.StaffID }},
}

// Places of the form's columns and of its lines above the heading.
const (
	countOnRecord, countPieces, countNumber = 5, 6, 7
	countDayLine, countHeading              = 3, 5
)

func (f *CountForm) title() string {
	title := "Count of uniforms, " + clean.Short(f.Client)
	if f.Site != "" {
		title += ", " + clean.Short(f.Site)
	}
	return title
}

func (f *CountForm) back() string {
	if f.ReturnBy.IsZero() {
		return "Please send it back to " + clean.Short(f.Shop) + "."
	}
	return "Please send it back to " + clean.Short(f.Shop) + " by " + f.Day(f.ReturnBy) + "."
}

// CSV writes the form as a list, with the same lines above it.
func (f *CountForm) CSV() ([]byte, error) {
	list, err := CSV(countColumns, f.Rows)
	if err != nil {
		return nil, err
	}
	const mark = "\ufeff"
	rest := strings.Repeat(",", len(countColumns)-1) // each line as wide as the list
	above := fmt.Sprintf("%s%s\r\n%s%s\r\nCounted on,%s%s\r\n", quoted(f.title()), rest, quoted(f.back()), rest, f.Date, rest[1:])
	return append([]byte(mark+above), bytes.TrimPrefix(list, []byte(mark))...), nil
}

// quoted returns a text as one cell of a CSV line.
func quoted(s string) string { return `"` + strings.ReplaceAll(cell(s), `"`, `""`) + `"` }

// XLSX writes the form as a workbook, with a second sheet that explains it.
func (f *CountForm) XLSX() ([]byte, error) {
	x := excelize.NewFile()
	defer func() { _ = x.Close() }() // a workbook in memory has nothing to lose
	w := workbook{File: x}
	w.count(f)
	w.explain(f.How)
	at := f.Date.Time().Format(time.RFC3339)
	w.do(x.SetDocProps(&excelize.DocProperties{Created: at, Modified: at, Creator: clean.Short(f.Shop), LastModifiedBy: clean.Short(f.Shop), Title: f.title()}))
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

func (w *workbook) count(f *CountForm) {
	w.do(w.SetSheetName("Sheet1", countSheet))
	bold := w.style(&excelize.Style{Font: &excelize.Font{Bold: true, Size: 14}})
	head := w.style(&excelize.Style{Font: &excelize.Font{Bold: true}, Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"F1ECE2"}}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "center"}})
	fill := w.style(&excelize.Style{Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"FFF3C4"}}, Border: box("A8451C"), Alignment: &excelize.Alignment{Horizontal: "center"}})
	soft := w.style(&excelize.Style{Font: &excelize.Font{Color: "6A6257"}})
	w.do(w.SetCellStr(countSheet, "A1", f.title()))
	w.do(w.SetCellStyle(countSheet, "A1", "A1", bold))
	w.do(w.SetCellStr(countSheet, "A2", f.back()))
	w.do(w.SetCellStr(countSheet, at(0, countDayLine), "Counted on"))
	w.do(w.SetCellStr(countSheet, at(1, countDayLine), f.Date.String()))
	w.do(w.SetCellStyle(countSheet, at(1, countDayLine), at(1, countDayLine), fill))
	for i, c := range countColumns {
		w.do(w.SetCellStr(countSheet, at(i, countHeading), c.Heading))
	}
	for i, r := range f.Rows {
		// A cell of type text is never run as a formula. The order is fixed, since
		// the workbook numbers its texts as they come and must be the same to the byte.
		line := countHeading + 1 + i
		for col, c := range countColumns {
			if s := c.Value(r); s != "" && col != countOnRecord {
				w.do(w.SetCellStr(countSheet, at(col, line), clean.Line(s)))
			}
		}
		w.do(w.SetCellInt(countSheet, at(countOnRecord, line), int64(r.OnRecord)))
	}
	first, last := countHeading+1, countHeading+len(f.Rows)+spareRows
	w.do(w.SetCellStyle(countSheet, at(0, countHeading), at(len(countColumns)-1, countHeading), head))
	w.do(w.SetCellStyle(countSheet, at(countPieces, first), at(countPieces, last), fill))
	w.do(w.SetCellStyle(countSheet, at(countNumber, first), at(countNumber, last), soft))
	for line := last - spareRows + 1; line <= last; line++ {
		w.do(w.SetCellStyle(countSheet, at(0, line), at(countOnRecord-1, line), fill))
	}
	w.look()
}

func (w *workbook) look() {
	for i, width := range []float64{18, 26, 30, 14, 8, 10, 12, 9} {
		col := string(rune('A' + i))
		w.do(w.SetColWidth(countSheet, col, col, width))
	}
	landscape, fit := "landscape", 1
	none := 0
	w.do(w.SetPageLayout(countSheet, &excelize.PageLayoutOptions{Orientation: &landscape, FitToWidth: &fit, FitToHeight: &none}))
	on := true
	w.do(w.SetSheetProps(countSheet, &excelize.SheetPropsOptions{FitToPage: &on}))
	w.do(w.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", RefersTo: fmt.Sprintf("%s!$%d:$%d", countSheet, countHeading, countHeading), Scope: countSheet}))
	// The heading stays in sight, and the cursor stands where the first number goes.
	top, first := at(0, countHeading+1), at(countPieces, countHeading+1)
	w.do(w.SetPanes(countSheet, &excelize.Panes{
		Freeze: true, YSplit: countHeading, TopLeftCell: top, ActivePane: "bottomLeft",
		Selection: []excelize.Selection{{SQRef: first, ActiveCell: first, Pane: "bottomLeft"}},
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
