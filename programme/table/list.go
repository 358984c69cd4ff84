package table

import (
	"encoding/csv"
	"fmt"
	"hash/maphash"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// Column is one column of a list whose rows are of type R.
type Column[R any] struct {
	Name string
	// Also are other headings that usually mean it. They are suggested when
	// the column is missing, never used without a yes.
	Also     []string
	Required bool // a list without the heading is refused
	// Missing ends the sentence about an empty cell of a column that the list has; "" =
	// a cell may be empty.
	Missing string
	// Date returns the place for the day of the cell; nil = the column has no dates.
	Date func(*R) *programme.Date
	// Ahead says that the day may come after Options.Latest.
	Ahead bool
	// Read puts what the cell says into the row, of which the columns before it
	// are read, or says what is wrong. nil = nothing but Date.
	Read func(Cell, *R)
	// Write returns the cell of a row. A column of dates needs none; nil else is
	// a column that is read and never written.
	Write func(*R) string
	// Words says whether single words of its cells may be mapped to ours.
	Words Words
	// Sparse says that the column is written only where any row has something in it.
	Sparse bool
}

// Open are further columns that are known by how their heading begins, such as size_.
type Open[R any] struct {
	Prefix string
	// Hints are other headings by what follows the prefix; see Column.Also.
	Hints map[string][]string
	// Read puts what the cell says into the row; name is what follows the prefix.
	Read func(c Cell, name string, row *R)
}

// Form describes the lists of one kind.
type Form[R any] struct {
	Columns []Column[R]
	Open    Open[R]
	// Skip reports that a line is to be passed over, whatever stands in it; nil = none is.
	Skip func(*Row) bool
	// Begins are the columns of which one alone on a line may be a row that somebody began, and
	// so is asked about; elsewhere what stands alone is a title.
	Begins []int
	// Title reports that a text alone on a line is a title between rows; nil = only what is
	// usually one.
	Title func(string) bool
	// Row judges a row as a whole, its cells right or wrong; nil = nothing to judge.
	Row func(*Row, *R)
	// Empty says what is wrong with a list that has no row; "" = nothing is.
	Empty string
}

// List is a file whose heading was understood and, once Read, its rows.
type List[R any] struct {
	*Table
	Rows []R // those without an error, in the file's order
	// Skipped counts the lines that the form passed over.
	Skipped int

	form *Form[R]
}

// OpenList reads the heading of a file. The error is of type Errors.
func OpenList[R any](file string, data []byte, opt Options, form *Form[R]) (*List[R], error) {
	t, bad := open(file, data, &opt, form.headings())
	if bad != nil {
		return nil, Errors{bad}
	}
	return &List[R]{Table: t, form: form}, nil
}

// Read reads a file: its heading, then all its dates, then its rows.
func Read[R any](file string, data []byte, opt Options, form *Form[R]) (*List[R], error) {
	l, err := OpenList(file, data, opt, form)
	if err != nil {
		return nil, err
	}
	return l.Read()
}

// Read reads the rows below the heading. The error is of type Errors: without a
// list it is about the file as a whole, with one about single rows, which the
// list then lacks.
func (l *List[R]) Read() (*List[R], error) {
	if bad := l.scan(); bad != nil {
		return nil, Errors{bad}
	}
	l.Rows = make([]R, 0, l.count)
	if bad := l.each(l.row); bad != nil {
		return nil, Errors{bad}
	}
	l.errs.Sort()
	l.noteMapped()
	switch {
	case l.faults > mostErrors:
		return nil, append(Errors{l.hopeless()}, l.errs[:fewErrors]...)
	case len(l.errs) > 0:
		return l, l.errs
	case len(l.Rows)+l.Skipped+l.out == 0 && l.form.Empty != "":
		return nil, Errors{{File: l.File, Want: l.form.Empty}}
	}
	return l, nil
}

// A list with more than mostErrors faults is refused as a whole, and the first
// fewErrors of them told: it is another list than it was taken for, and nobody
// mends so many one by one.
const (
	mostErrors = 10_000
	fewErrors  = 20
)

func (l *List[R]) hopeless() *Error {
	return &Error{File: l.File, Want: fmt.Sprintf("%d things are wrong with it, more than the %d that could be mended row by row; look at the first, which follow: perhaps the heading, the dates or the whole list is another",
		l.faults, mostErrors)}
}

func (l *List[R]) row(r *Row) {
	if l.form.Skip != nil && l.form.Skip(r) {
		l.Skipped++
		return
	}
	var row R
	n := len(l.Rows)
	l.Rows = append(l.Rows, row)
	for i := range l.form.Columns {
		l.form.Columns[i].read(Cell{Row: r, column: i, at: l.head.at[i]}, &l.Rows[n])
	}
	for _, o := range l.head.open {
		l.form.Open.Read(Cell{Row: r, column: -1, at: o.cell}, o.name, &l.Rows[n])
	}
	if l.form.Row != nil {
		l.form.Row(r, &l.Rows[n])
	}
	if r.bad || r.repeats {
		l.Rows = l.Rows[:n]
	}
}

func (col *Column[R]) read(c Cell, row *R) {
	if col.Missing != "" && c.at >= 0 && c.Text() == "" {
		c.Wrong(col.Missing)
		return
	}
	if col.Date != nil {
		date, want := c.t.dates.date(c.Text(), col.Ahead)
		if want != "" {
			c.Wrong(want)
			return
		}
		*col.Date(row) = date
	}
	if col.Read != nil {
		col.Read(c, row)
	}
}

func (f *Form[R]) headings() *headings {
	h := &headings{prefix: f.Open.Prefix, hints: f.Open.Hints, begins: f.Begins, title: f.Title}
	for i := range f.Columns {
		c := &f.Columns[i]
		h.columns = append(h.columns, column{name: c.Name, also: c.Also, required: c.Required, date: c.Date != nil,
			ahead: c.Ahead, words: c.Words})
	}
	return h
}

// Write writes rows as a CSV that Read reads as the same rows. Cells that a
// spreadsheet would run as formulas are guarded.
func (f *Form[R]) Write(w io.Writer, rows []R) error {
	columns := slices.DeleteFunc(slices.Clone(f.Columns), func(c Column[R]) bool { return !c.written(rows) })
	out := csv.NewWriter(w)
	cells := make([]string, len(columns))
	for i := range columns {
		cells[i] = columns[i].Name
	}
	err := out.Write(cells)
	for n := range rows {
		for i := range columns {
			cells[i] = clean.Guard(columns[i].text(&rows[n]))
		}
		if err == nil {
			err = out.Write(cells)
		}
	}
	out.Flush()
	if err == nil {
		err = out.Error()
	}
	return err
}

// written reports whether the column stands in a file of those rows.
func (col *Column[R]) written(rows []R) bool {
	if col.Sparse {
		return slices.ContainsFunc(rows, func(row R) bool { return col.text(&row) != "" })
	}
	return col.Date != nil || col.Write != nil
}

func (col *Column[R]) text(row *R) string {
	if col.Write == nil {
		return col.Date(row).String()
	}
	return col.Write(row)
}

// Cell is the content of one row under one heading.
type Cell struct {
	*Row
	column int // -1 = one found by its prefix
	at     int // -1 = the file has no such column
}

// Text returns the cell without what a spreadsheet put around it. It is part of the
// text of the whole line: keep Word or a clone of it.
func (c Cell) Text() string { return c.cell(c.at) }

// Word returns the text to keep. Equal words of a list are kept once, so that a
// million rows do not hold on to a million lines.
func (c Cell) Word() string { return c.t.word(c.Text()) }

// Whole returns the whole number that the cell says; zeros behind a point do no harm.
func (c Cell) Whole() (n int, ok bool) {
	whole, frac, _ := strings.Cut(c.Text(), ".")
	n, err := strconv.Atoi(strings.TrimPrefix(whole, "+"))
	return n, err == nil && strings.Trim(frac, "0") == ""
}

// Wrong says what is wrong with the cell: the end of a sentence.
func (c Cell) Wrong(want string) { c.wrong(c.fault(want)) }

// fault returns an error about the cell.
func (c Cell) fault(want string) *Error {
	name := ""
	if c.column >= 0 {
		name = c.t.columns[c.column].name
	}
	raw := c.raw(c.at)
	if ours, mapped := c.t.mappingAt(c.at).of(raw); mapped {
		want = fmt.Sprintf("mapped to %q, %s", ours, want)
	}
	return c.t.fault(c.Line, name, c.at, raw, want)
}

// Row is one line below the heading. Its cells are valid until the next row.
type Row struct {
	Line    int
	t       *Table
	cells   []string
	bad     bool
	repeats bool
}

// Digest returns a number that two lines of a file share when their cells say the same.
func (r *Row) Digest() uint64 {
	var h maphash.Hash
	h.SetSeed(digestSeed)
	for _, c := range r.cells {
		_, _ = h.WriteString(clean.Cell(c)) // a maphash has no errors
		_ = h.WriteByte(0)
	}
	return h.Sum64()
}

var digestSeed = maphash.MakeSeed()

// Repeats passes the row over, with a note that it says the same as an earlier line.
func (r *Row) Repeats(line int) {
	r.repeats = true
	r.t.Notes = append(r.t.Notes, fmt.Sprintf("line %d says the same as line %d and counts once", r.Line, line))
}

// Bad reports that something is wrong with the row already.
func (r *Row) Bad() bool { return r.bad }

// Has reports whether the file has the column of that number.
func (r *Row) Has(column int) bool { return r.t.Has(column) }

// Cell returns the cell of the column of that number.
func (r *Row) Cell(column int) Cell { return Cell{Row: r, column: column, at: r.t.head.at[column]} }

// Text returns the text of the column of that number; see Cell.Text.
func (r *Row) Text(column int) string { return r.cell(r.t.head.at[column]) }

// cell returns what a cell means: what it says, unless that is mapped.
func (r *Row) cell(i int) string {
	cell := r.raw(i)
	if r.t.mapped != nil {
		cell, _ = r.t.mappingAt(i).of(cell)
	}
	return cell
}

// raw returns what a cell says.
func (r *Row) raw(i int) string {
	if i < 0 || i >= len(r.cells) {
		return ""
	}
	return clean.Cell(r.cells[i])
}

func (r *Row) wrong(e *Error) {
	r.bad = true
	if r.t.faults++; r.t.faults <= mostErrors {
		r.t.errs = append(r.t.errs, e)
	}
}

// Wrong returns what is wrong with a value of the column of that number on a line.
func (t *Table) Wrong(line, column int, value, want string) *Error {
	return t.fault(line, t.columns[column].name, t.head.at[column], value, want)
}

// fault names the column as the file does, where it has it.
func (t *Table) fault(line int, name string, at int, value, want string) *Error {
	if at >= 0 {
		name = t.head.cells[at]
	}
	return &Error{File: t.File, Line: line, Column: name, Value: strings.Clone(value), Want: want}
}

func (t *Table) word(s string) string {
	w, ok := t.words[s]
	if !ok {
		w = strings.Clone(s)
		t.words[w] = w
	}
	return w
}
