package document

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"time"
	"unicode"

	"github.com/xuri/excelize/v2"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// fillIn is a list that somebody fills in and sends back, as a workbook or as plain text:
// a title, one day for all of it, rows with cells to write numbers in, and room at its
// foot for what is not on it.
type fillIn struct {
	shop, title, back string
	units             programme.Units // the shop's, which say what paper it is printed on
	sheet             string          // one word, so that formulas can name it as it is
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
	width   float64 // in characters, at least; longer texts get more, up to wider times as much
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
	w.explain(f)
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

// font is one of the workbook's own family: without a name, programs that print take another one.
func (w *workbook) font(f excelize.Font) *excelize.Font {
	family, err := w.GetDefaultFont()
	w.do(err)
	f.Family = family
	return &f
}

// looks are the styles of a row: whether it is the first of its group, and whether another
// group or nothing comes below. Each row has both its lines, as alike as those of its
// neighbours, so that the last one of a printed page is closed.
func (w *workbook) looks(first, last bool) looks {
	line, name := map[bool]string{true: fillLine, false: fillRule}, w.font(excelize.Font{Color: fillQuiet})
	if first {
		name = w.font(excelize.Font{Bold: true})
	}
	rule := []excelize.Border{{Type: "left", Color: fillRule, Style: 1}, {Type: "right", Color: fillRule, Style: 1},
		{Type: "top", Color: line[first], Style: 1}, {Type: "bottom", Color: line[last], Style: 1}}
	middle := &excelize.Alignment{Horizontal: "center", Vertical: "center"}
	fit := &excelize.Alignment{ShrinkToFit: true, Vertical: "center"}
	paint := func(colour string) excelize.Fill {
		return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{colour}}
	}
	soft := w.font(excelize.Font{Color: fillQuiet})
	return looks{
		title: w.style(&excelize.Style{Font: w.font(excelize.Font{Bold: true, Size: 14})}),
		head: w.style(&excelize.Style{Font: w.font(excelize.Font{Bold: true}), Fill: paint(fillHead), Border: rule,
			Alignment: &excelize.Alignment{WrapText: true, Vertical: "center"}}),
		day:   w.style(&excelize.Style{Fill: paint(fillCell), Border: box(fillLine), Alignment: middle}),
		aside: w.style(&excelize.Style{Font: soft, Alignment: &excelize.Alignment{Horizontal: "left", Indent: 1}}),
		fill:  w.style(&excelize.Style{Fill: paint(fillCell), Border: rule, Alignment: middle}),
		soft:  w.style(&excelize.Style{Font: soft, Border: rule, Alignment: fit}),
		plain: w.style(&excelize.Style{Border: rule, Alignment: fit}),
		who:   w.style(&excelize.Style{Border: rule, Font: name, Alignment: fit}),
		grey:  w.style(&excelize.Style{Font: soft, Border: rule, Alignment: middle}),
	}
}

func (w *workbook) fillIn(f *fillIn) {
	w.do(w.SetSheetName("Sheet1", f.sheet))
	usual := w.looks(false, true)
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
	for i := range len(f.rows) + f.spare {
		if i < len(f.rows) {
			w.row(f, fillHeading+1+i, f.rows[i])
		}
		look := w.looks(f.begins(i), f.begins(i+1))
		w.rowLook(f, fillHeading+1+i, &look, i >= len(f.rows))
	}
	w.page(f)
}

// begins reports whether a group begins with a row: a person, the spare rows, and what would come below those.
func (f *fillIn) begins(i int) bool {
	switch {
	case i == 0, i == len(f.rows), i == len(f.rows)+f.spare:
		return true
	}
	return i < len(f.rows) && f.rows[i][f.group] != f.rows[i-1][f.group]
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
		w.do(w.SetColWidth(f.sheet, col, col, f.wide(i)))
		if c.use == written {
			fill = min(fill, i)
		}
	}
	landscape, fit, none := "landscape", 1, 0
	layout := &excelize.PageLayoutOptions{Orientation: &landscape, FitToWidth: &fit, FitToHeight: &none,
		Size: paperOf(f.units)}
	side, head, bottom, foot := 0.4, 0.5, 0.8, 0.4
	w.do(w.SetPageMargins(f.sheet, &excelize.PageLayoutMarginsOptions{Left: &side, Right: &side, Top: &head,
		Bottom: &bottom, Footer: &foot}))
	w.do(w.SetHeaderFooter(f.sheet, &excelize.HeaderFooterOptions{OddFooter: "&L&8" + footerText(f.title) +
		"&R&8&P of &N"}))
	last := fillHeading + len(f.rows) + f.spare
	for line := fillHeading + 1; line <= last; line++ {
		w.do(w.SetRowHeight(f.sheet, line, f.rowHeight()))
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

// paperOf returns the number by which a workbook knows a shop's paper (ECMA-376 part 1, 18.3.1.63, paperSize):
// 1 is letter paper, 9 is A4.
func paperOf(u programme.Units) *int {
	paper := 9
	if !u.Metric() {
		paper = 1
	}
	return &paper
}

// wider is how many times its width a column becomes for its longest text; what is longer still is shown smaller.
const wider = 1.6

// wide returns the width of a column in characters.
func (f *fillIn) wide(col int) float64 {
	c, need := f.columns[col], 0
	for _, row := range f.rows {
		need = max(need, across(clean.Line(row[col])))
	}
	return min(max(c.width, float64(need)+2), wider*c.width)
}

// across is about how many digits of room a text takes: letters of East Asian scripts are twice as wide.
func across(s string) int {
	n := 0
	for _, r := range s {
		n++
		if unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Hangul) {
			n++
		}
	}
	return n
}

// Rows are written in by hand: rowHeight is their height in points on a sheet that fills a page, which has room
// for pageWidth characters. A wider sheet is printed smaller, and its rows stay handHeight high there, 6 mm.
const (
	rowHeight, handHeight = 19.0, 17.0
	pageWidth             = 125.0
)

func (f *fillIn) rowHeight() float64 {
	all := 0.0
	for i := range f.columns {
		all += f.wide(i)
	}
	return max(rowHeight, math.Round(handHeight*all/pageWidth))
}

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

func (w *workbook) explain(f *fillIn) {
	const sheet = "How to"
	_, err := w.NewSheet(sheet)
	w.do(err)
	wrap := w.style(&excelize.Style{Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}})
	w.do(w.SetColWidth(sheet, "A", "A", explainWidth))
	for i, s := range f.how {
		w.do(w.SetCellStr(sheet, at(0, i+1), clean.Line(s)))
		w.do(w.SetCellStyle(sheet, at(0, i+1), at(0, i+1), wrap))
		// some programs do not fit it by themselves
		w.do(w.SetRowHeight(sheet, i+1, explainLine*float64(1+(across(s)-1)/explainWidth)+4))
	}
	w.do(w.SetPageLayout(sheet, &excelize.PageLayoutOptions{Size: paperOf(f.units)}))
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
