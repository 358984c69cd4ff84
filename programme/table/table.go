package table

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// Options say what to look for.
type Options struct {
	Columns []Column
	// Prefix opens further columns: with size_ every heading size_FAMILY is
	// one. Families limits them to columns that Columns names; empty takes any.
	Prefix   string
	Families []string
	// Hints are, where Families is empty, other headings by what follows the prefix.
	Hints map[string][]string
	// Headings maps headings of this file to our names; an empty name passes a column over.
	Headings map[string]string
	// Sheet names the sheet of a workbook; empty takes the one that has the headings.
	Sheet string
	// Dates states how dates are written; empty infers it from all of them.
	Dates DateOrder
	// Latest is the last date that makes sense; no date = any.
	Latest programme.Date
}

// Table is a file whose heading was understood.
type Table struct {
	File string
	// Notes tell what was concluded, for the person who handed the file over.
	Notes []string
	// Dates collects the dates of the file; Read settles in which order they are written.
	Dates *Dates

	opt   *Options
	m     *matcher
	grid  grid
	head  *heading
	excel bool
}

// Row is one line below the heading. Its cells are valid until the next row.
type Row struct {
	Line  int
	t     *Table
	cells []string
}

// Open reads the heading of a file. The error is of type Errors.
func Open(file string, data []byte, opt Options) (*Table, error) {
	t, bad := open(file, data, opt)
	if bad != nil {
		return nil, Errors{bad}
	}
	return t, nil
}

func open(file string, data []byte, opt Options) (*Table, *Error) {
	if bad := checkFormat(file, data); bad != nil {
		return nil, bad
	}
	t := &Table{File: file, opt: &opt, m: newMatcher(&opt), Dates: &Dates{file: file, stated: opt.Dates, latest: opt.Latest}}
	var bad *Error
	if isZip(data) {
		bad = t.openSheet(data)
	} else {
		bad = t.openText(data)
	}
	if bad != nil {
		return nil, bad
	}
	if bad := t.head.place(file, t.m); bad != nil {
		return nil, bad
	}
	if bad := t.rowAboveHeading(); bad != nil {
		return nil, bad
	}
	if len(t.head.unused) > 0 {
		t.Notes = append(t.Notes, "columns not used: "+strings.Join(t.head.unused, ", "))
	}
	return t, nil
}

// rowAboveHeading refuses a file in which a line as full as a row stands above
// the heading: titles are short, and a row there would be lost in silence.
func (t *Table) rowAboveHeading() (found *Error) {
	width := len(t.head.cells)
	bad := t.grid.each(func(line int, cells []string) bool {
		filled := 0
		for _, c := range cells {
			if clean(c) != "" {
				filled++
			}
		}
		if line < t.head.line && filled >= 3 && filled*4 >= width*3 {
			found = &Error{File: t.File, Line: line, Want: fmt.Sprintf("this line stands above the heading (line %d) and looks like a row; move it below, or remove it", t.head.line)}
		}
		return found == nil && line < t.head.line
	})
	if bad != nil {
		return bad
	}
	return found
}

func (t *Table) openText(data []byte) *Error {
	g, note, bad := newTextGrid(t.File, data)
	if bad != nil {
		return bad
	}
	if note != "" {
		t.Notes = append(t.Notes, note)
	}
	t.grid = g
	if t.head, bad = findHeading(g, t.m); bad != nil {
		return bad
	}
	if !t.fits(t.head) {
		return t.noHeading()
	}
	return nil
}

// fits reports whether a line is likely enough to be the heading.
func (t *Table) fits(h *heading) bool { return h != nil && h.score >= 2 }

func (t *Table) noHeading() *Error {
	return &Error{File: t.File, Want: fmt.Sprintf("no line among the first %d names the columns; write one above the rows: %s", headingLines, t.m.columnNames())}
}

func (t *Table) openSheet(data []byte) *Error {
	w, bad := openWorkbook(t.File, data)
	if bad != nil {
		return bad
	}
	t.excel, t.Dates.excel, t.Dates.date1904 = true, true, w.date1904
	var names []string
	for _, s := range w.sheets {
		if t.opt.Sheet != "" && s.name != t.opt.Sheet {
			continue
		}
		h, bad := findHeading(s, t.m)
		if bad != nil {
			return bad
		}
		if t.fits(h) {
			names = append(names, s.name)
			t.grid, t.head = s, h
		}
	}
	return t.chosenSheet(w, names)
}

func (t *Table) chosenSheet(w *workbook, fitting []string) *Error {
	var all []string
	for _, s := range w.sheets {
		all = append(all, s.name)
	}
	switch {
	case len(fitting) == 1:
		if len(all) > 1 {
			t.Notes = append(t.Notes, fmt.Sprintf("read the sheet %q of %d", fitting[0], len(all)))
		}
		return nil
	case len(fitting) > 1:
		return &Error{File: t.File, Want: fmt.Sprintf("the sheets %s all have such headings; say which to read with --sheet %q", strings.Join(fitting, ", "), fitting[0])}
	case t.opt.Sheet != "" && !contains(all, Plain(t.opt.Sheet)):
		return &Error{File: t.File, Want: fmt.Sprintf("there is no sheet %q; the sheets are %s", t.opt.Sheet, strings.Join(all, ", "))}
	default:
		return t.noHeading()
	}
}

// Has reports whether the file has the wanted column of that number.
func (t *Table) Has(column int) bool { return t.head.at[column] >= 0 }

// HeadingLine returns the line of the heading.
func (t *Table) HeadingLine() int { return t.head.line }

// Mended reports whether the file was written by Mend, and so holds only the
// rows of another file that were wrong.
func (t *Table) Mended() bool {
	return contains(t.head.cells, ProblemColumn)
}

// AtMost returns how many rows there can be, to make room for them.
func (t *Table) AtMost() int { return t.grid.atMost() }

// Families returns the columns found by prefix, in the file's order.
func (t *Table) Families() []Family { return t.head.open }

// Read calls f with every row and then settles the dates: Dates.Date tells them
// afterwards. A row with too many or too few cells is reported to wrong
// instead. The error, of type Errors, is about the file as a whole.
func (t *Table) Read(f func(r *Row), wrong func(*Error)) error {
	bad := t.each(f, wrong)
	if bad == nil {
		bad = t.Dates.settle()
	}
	if bad != nil {
		return Errors{bad}
	}
	return nil
}

func (t *Table) each(f func(r *Row), wrong func(*Error)) *Error {
	r := &Row{t: t}
	var left []string
	bad := t.grid.each(func(line int, cells []string) bool {
		if line <= t.head.line {
			return true
		}
		r.Line, r.cells = line, cells
		switch why, err := t.judge(r); {
		case why != "":
			left = append(left, fmt.Sprintf("line %d (%s)", line, why))
		case err != nil:
			wrong(err)
		default:
			f(r)
		}
		return true
	})
	t.noteLeft(left)
	return bad
}

func (t *Table) noteLeft(left []string) {
	if len(left) == 0 {
		return
	}
	note := "left out: " + strings.Join(left[:min(len(left), 5)], ", ")
	if len(left) > 5 {
		note += fmt.Sprintf(" and %d more", len(left)-5)
	}
	if !slices.Contains(t.Notes, note) {
		t.Notes = append(t.Notes, note)
	}
}

// judge says why a line is no row, or what is wrong with its shape.
func (t *Table) judge(r *Row) (why string, bad *Error) {
	filled, first := 0, ""
	last := -1
	for i, c := range r.cells {
		if c = clean(c); c != "" {
			if filled == 0 {
				first = c
			}
			filled++
			last = i
		}
	}
	width := len(t.head.cells)
	switch {
	case filled <= max(2, width/2) && isTotal(r) && t.lacksRequired(r):
		return "a total", nil
	case filled == 1 && width > 2 && isFooter(first):
		return "a note below the list", nil
	case filled > 1 && t.repeatsHeading(r):
		return "the heading again", nil
	case last >= width:
		return "", &Error{File: t.File, Line: r.Line, Want: fmt.Sprintf("the line has %s where the heading has %d; a separator inside a value needs quotation marks around the value", cellCount(last+1), width)}
	case !t.excel && len(r.cells) < width:
		return "", &Error{File: t.File, Line: r.Line, Want: fmt.Sprintf("the line has %s where the heading has %d; write an empty cell for what is not known", cellCount(len(r.cells)), width)}
	}
	return "", nil
}

// lacksRequired reports whether a column that every row needs is empty, so that
// somebody called Sum Li is not taken for a total.
func (t *Table) lacksRequired(r *Row) bool {
	for i, c := range t.opt.Columns {
		if c.Required && r.Text(i) == "" {
			return true
		}
	}
	return false
}

func cellCount(n int) string {
	if n == 1 {
		return "1 cell"
	}
	return fmt.Sprintf("%d cells", n)
}

var totals = []string{"total", "totals", "subtotal", "sub-total", "grand total", "sum", "headcount", "head count", "count"}

// isTotal reports whether a sparsely filled line has a cell that says so.
func isTotal(r *Row) bool {
	for _, c := range r.cells {
		w := strings.ToLower(Words(clean(c)))
		for _, total := range totals {
			rest, ok := strings.CutPrefix(w, total)
			if ok && (rest == "" || strings.HasPrefix(rest, ":") || strings.HasPrefix(rest, " ")) {
				return true
			}
		}
	}
	return false
}

var footers = []string{"printed", "generated", "exported", "page ", "end of", "confidential", "report ", "* ", "note:", "--", "=="}

// isFooter knows what report programs write below a list.
func isFooter(cell string) bool {
	w := strings.ToLower(cell)
	return slices.ContainsFunc(footers, func(begins string) bool { return strings.HasPrefix(w, begins) })
}

func (t *Table) repeatsHeading(r *Row) bool {
	for i, h := range t.head.cells {
		c := ""
		if i < len(r.cells) {
			c = r.cells[i]
		}
		if !strings.EqualFold(clean(c), h) {
			return false
		}
	}
	return true
}

// Has reports whether the file has the wanted column of that number.
func (r *Row) Has(column int) bool { return r.t.Has(column) }

// Families returns the columns found by prefix, in the file's order.
func (r *Row) Families() []Family { return r.t.head.open }

// Text returns the cleaned cell of a wanted column; empty when there is none.
func (r *Row) Text(column int) string { return r.cell(r.t.head.at[column]) }

// Family returns the cleaned cell of a column found by prefix.
func (r *Row) Family(f Family) string { return r.cell(f.cell) }

func (r *Row) cell(i int) string {
	if i < 0 || i >= len(r.cells) {
		return ""
	}
	return clean(r.cells[i])
}

// Wrong says what is wrong with the cell of a wanted column.
func (r *Row) Wrong(column int, want string) *Error {
	return r.t.Wrong(r.Line, column, r.Text(column), want)
}

// Wrong says what is wrong with a value of a wanted column on a line.
func (t *Table) Wrong(line, column int, value, want string) *Error {
	e := &Error{File: t.File, Line: line, Value: strings.Clone(value), Want: want, Column: t.opt.Columns[column].Name}
	if i := t.head.at[column]; i >= 0 {
		e.Column = t.head.cells[i]
	}
	return e
}

// WrongFamily says what is wrong with the cell of a column found by prefix.
func (r *Row) WrongFamily(f Family, want string) *Error {
	return &Error{File: r.t.File, Line: r.Line, Column: r.t.head.cells[f.cell], Value: r.Family(f), Want: want}
}

// Date remembers the cell and returns the number to ask Dates for it by, once
// all rows are read; an empty cell is no date.
func (r *Row) Date(column int) int { return r.t.Dates.add(r.Text(column), r.Line) }
