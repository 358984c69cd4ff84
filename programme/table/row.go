package table

import (
	"strings"

	"github.com/kitmuster/kitmuster/programme/clean"
)

// Row is one line below the heading. Its cells are valid until the next row.
type Row struct {
	Line  int
	t     *Table
	cells []string
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
	return clean.Cell(r.cells[i])
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
