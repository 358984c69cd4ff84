package document

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strconv"
	"time"

	"github.com/xuri/excelize/v2"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// fillIn is a list that somebody fills in and sends back, as a workbook or as plain text:
// a title, one day for all of it, rows with cells to write numbers in, and room at its
// foot for what is not on it.
type fillIn struct {
	shop, title, back string
	sheet             string // one word, so that formulas can name it as it is
	// label and date are the day of the whole list; with no date it is left to whoever fills the list in, and
	// beside says in quiet words what belongs there.
	label, beside string
	date          programme.Date
	asOf          programme.Date // the day on which the list is made
	columns       []fillColumn
	rows          [][]string
	// spare rows at the foot are for people and garments that are not on the list.
	spare int
	// group is the column by which rows belong together: a line is drawn above the first,
	// and what says who it is about is loud there and quiet below.
	group int
	how   []string // explains the list, a sentence a line
}

// fillColumn is a column of it.
type fillColumn struct {
	heading string
	width   float64 // in characters
	use     cellUse
}

// cellUse is the use of a column of a form.
type cellUse int

const (
	named   cellUse = iota // a text, written by hand in spare rows
	who                    // one that says whom the row is about
	shown                  // a number to look at
	written                // a number to write
	quiet                  // for the program alone
)

// Places of the lines above the rows.
const (
	fillDayLine, fillHeading = 3, 5
)

// CSV writes it as a list, with the same lines above it.
func (f *fillIn) CSV() ([]byte, error) {
	var b bytes.Buffer
	b.WriteString("\ufeff")
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	line := make([]string, len(f.columns))
	above := func(cells ...string) {
		clear(line)
		for i, c := range cells {
			line[i] = cell(c)
		}
		_ = w.Write(line) // the error stays with w
	}
	above(f.title)
	above(f.back)
	above(f.label, f.day(), f.beside)
	for i, c := range f.columns {
		line[i] = c.heading
	}
	_ = w.Write(line)
	for _, row := range f.rows {
		above(row...)
	}
	w.Flush()
	if err := w.Error(); err != nil {
		return nil, fmt.Errorf("write %s: %w", f.title, err)
	}
	return b.Bytes(), nil
}

// day is the day of the list as a cell.
func (f *fillIn) day() string {
	if f.date.IsZero() {
		return ""
	}
	return f.date.String()
}

// XLSX writes it as a workbook, with a second sheet that explains it.
func (f *fillIn) XLSX() ([]byte, error) {
	x := excelize.NewFile()
	defer func() { _ = x.Close() }() // a workbook in memory has nothing to lose
	w := workbook{File: x}
	w.fillIn(f)
	w.explain(f.how)
	at := f.asOf.Time().Format(time.RFC3339)
	w.do(x.SetDocProps(&excelize.DocProperties{Created: at, Modified: at, Creator: clean.Short(f.shop),
		LastModifiedBy: clean.Short(f.shop), Title: f.title}))
	if w.err != nil {
		return nil, fmt.Errorf("write %s: %w", f.title, w.err)
	}
	var b bytes.Buffer
	if err := x.Write(&b); err != nil {
		return nil, fmt.Errorf("write %s: %w", f.title, err)
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

// Colours of the workbook: heading, cells to write in, their lines, quiet text.
const (
	fillHead, fillCell, fillLine, fillQuiet, fillRule = "F1ECE2", "FFF3C4", "A8451C", "6A6257", "C9C1B2"
)

// looks are the styles of a workbook's cells.
type looks struct{ title, head, day, aside, plain, who, fill, soft, grey int }

// looks are the styles of the rows within a group, of the first one, and of the last of all.
func (w *workbook) looks(first, last bool) looks {
	above, name := fillRule, &excelize.Font{Color: fillQuiet}
	if first {
		above, name = fillLine, &excelize.Font{Bold: true}
	}
	// Without a line below, which would lie over the one above the next row.
	rule := []excelize.Border{{Type: "left", Color: fillRule, Style: 1}, {Type: "right", Color: fillRule, Style: 1},
		{Type: "top", Color: above, Style: 1}}
	if last {
		rule = append(rule, excelize.Border{Type: "bottom", Color: fillRule, Style: 1})
	}
	middle := &excelize.Alignment{Horizontal: "center"}
	paint := func(colour string) excelize.Fill {
		return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}}
	}
	return looks{
		title: w.style(&excelize.Style{Font: &excelize.Font{Bold: true, Size: 14}}),
		head: w.style(&excelize.Style{Font: &excelize.Font{Bold: true}, Fill: paint(fillHead), Border: rule,
			Alignment: &excelize.Alignment{WrapText: true, Vertical: "center"}}),
		day:   w.style(&excelize.Style{Fill: paint(fillCell), Border: box(fillLine), Alignment: middle}),
		aside: w.style(&excelize.Style{Font: &excelize.Font{Color: fillQuiet}}),
		fill:  w.style(&excelize.Style{Fill: paint(fillCell), Border: rule, Alignment: middle}),
		soft:  w.style(&excelize.Style{Font: &excelize.Font{Color: fillQuiet}, Border: rule}),
		plain: w.style(&excelize.Style{Border: rule}),
		who:   w.style(&excelize.Style{Border: rule, Font: name}),
		grey:  w.style(&excelize.Style{Font: &excelize.Font{Color: fillQuiet}, Border: rule, Alignment: middle}),
	}
}

func (w *workbook) fillIn(f *fillIn) {
	w.do(w.SetSheetName("Sheet1", f.sheet))
	usual, first, bottom := w.looks(false, false), w.looks(true, false), w.looks(false, true)
	w.do(w.SetCellStr(f.sheet, "A1", f.title))
	w.do(w.SetCellStyle(f.sheet, "A1", "A1", usual.title))
	w.do(w.SetCellStr(f.sheet, "A2", f.back))
	w.do(w.SetCellStr(f.sheet, at(0, fillDayLine), f.label))
	if day := f.day(); day != "" {
		w.do(w.SetCellStr(f.sheet, at(1, fillDayLine), day))
	}
	if f.beside != "" {
		w.do(w.SetCellStr(f.sheet, at(2, fillDayLine), f.beside))
		w.do(w.SetCellStyle(f.sheet, at(2, fillDayLine), at(2, fillDayLine), usual.aside))
	}
	w.do(w.SetCellStyle(f.sheet, at(1, fillDayLine), at(1, fillDayLine), usual.day))
	for i, c := range f.columns {
		w.do(w.SetCellStr(f.sheet, at(i, fillHeading), c.heading))
	}
	w.do(w.SetCellStyle(f.sheet, at(0, fillHeading), at(len(f.columns)-1, fillHeading), usual.head))
	last := ""
	for i := range len(f.rows) + f.spare {
		look, line := usual, fillHeading+1+i
		switch {
		case i < len(f.rows):
			if f.rows[i][f.group] != last {
				last, look = f.rows[i][f.group], first
			}
			w.row(f, line, f.rows[i])
		case i == len(f.rows):
			look = first
		case i == len(f.rows)+f.spare-1:
			look = bottom
		}
		w.rowLook(f, line, &look, i >= len(f.rows))
	}
	w.page(f)
}

// row writes a row. A cell of type text is never run as a formula. The order is fixed,
// since the workbook numbers its texts as they come and must be the same to the byte.
func (w *workbook) row(f *fillIn, line int, cells []string) {
	for col, s := range cells {
		n, err := strconv.Atoi(s)
		switch {
		case s == "":
		case f.columns[col].use == shown && err == nil:
			w.do(w.SetCellInt(f.sheet, at(col, line), int64(n)))
		default:
			w.do(w.SetCellStr(f.sheet, at(col, line), clean.Line(s)))
		}
	}
}

func (w *workbook) rowLook(f *fillIn, line int, look *looks, spare bool) {
	for col, c := range f.columns {
		style := look.plain
		switch {
		case c.use == written, (c.use == named || c.use == who) && spare:
			style = look.fill
		case c.use == who:
			style = look.who
		case c.use == quiet:
			style = look.soft
		case c.use == shown:
			style = look.grey
		}
		w.do(w.SetCellStyle(f.sheet, at(col, line), at(col, line), style))
	}
}

// page sets what is seen first and how it prints: across a page, the heading on each.
func (w *workbook) page(f *fillIn) {
	fill := len(f.columns)
	for i, c := range f.columns {
		col := at(i, 1)[:1]
		w.do(w.SetColWidth(f.sheet, col, col, c.width))
		if c.use == written {
			fill = min(fill, i)
		}
	}
	landscape, fit, a4 := "landscape", 1, 9
	none := 0
	layout := &excelize.PageLayoutOptions{Orientation: &landscape, FitToWidth: &fit, FitToHeight: &none, Size: &a4}
	side, head, bottom, foot := 0.4, 0.5, 0.8, 0.4
	w.do(w.SetPageMargins(f.sheet, &excelize.PageLayoutMarginsOptions{Left: &side, Right: &side, Top: &head,
		Bottom: &bottom, Footer: &foot}))
	w.do(w.SetHeaderFooter(f.sheet, &excelize.HeaderFooterOptions{OddFooter: "&L&8" + footerText(f.title) +
		"&R&8&P of &N"}))
	last := fillHeading + len(f.rows) + f.spare
	for line := fillHeading + 1; line <= last; line++ {
		w.do(w.SetRowHeight(f.sheet, line, rowHeight))
	}
	w.do(w.SetRowHeight(f.sheet, 1, 1.3*rowHeight))
	w.do(w.SetRowHeight(f.sheet, fillHeading, 1.8*rowHeight))
	w.do(w.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Area",
		RefersTo: fmt.Sprintf("%s!$A$1:%s", f.sheet, absolute(at(len(f.columns)-1, last))), Scope: f.sheet}))
	w.do(w.SetPageLayout(f.sheet, layout))
	on := true
	w.do(w.SetSheetProps(f.sheet, &excelize.SheetPropsOptions{FitToPage: &on}))
	w.do(w.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles",
		RefersTo: fmt.Sprintf("%s!$%d:$%d", f.sheet, fillHeading, fillHeading), Scope: f.sheet}))
	// The heading stays in sight, and the cursor stands where the first number goes.
	top, first := at(0, fillHeading+1), at(fill, fillHeading+1)
	w.do(w.SetPanes(f.sheet, &excelize.Panes{
		Freeze: true, YSplit: fillHeading, TopLeftCell: top, ActivePane: "bottomLeft",
		Selection: []excelize.Selection{{SQRef: first, ActiveCell: first, Pane: "bottomLeft"}},
	}))
}

// rowHeight is the height of rows to write in by hand, in points.
const rowHeight = 19.0

// absolute is a cell's name that stays when it is copied: L20 as $L$20.
func absolute(cell string) string {
	col, row, err := excelize.SplitCellName(cell)
	if err != nil {
		panic(err) // as at
	}
	return fmt.Sprintf("$%s$%d", col, row)
}

// footerText keeps a text from being read as codes of a footer.
func footerText(s string) string {
	out := ""
	for _, r := range clean.Short(s) {
		if out += string(r); r == '&' {
			out += "&"
		}
	}
	return out
}

// The sheet that explains: characters across, and points from line to line.
const (
	explainWidth = 80
	explainLine  = 15.0
)

func (w *workbook) explain(how []string) {
	const sheet = "How to"
	_, err := w.NewSheet(sheet)
	w.do(err)
	wrap := w.style(&excelize.Style{Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}})
	w.do(w.SetColWidth(sheet, "A", "A", explainWidth))
	for i, s := range how {
		w.do(w.SetCellStr(sheet, at(0, i+1), clean.Line(s)))
		w.do(w.SetCellStyle(sheet, at(0, i+1), at(0, i+1), wrap))
		// some programs do not fit it by themselves
		w.do(w.SetRowHeight(sheet, i+1, explainLine*float64(1+len(s)/explainWidth)+4))
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
