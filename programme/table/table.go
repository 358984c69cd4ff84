package table

import (
	"fmt"
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
	// Stated are those of Headings that were stated for this very file, and so
	// must be found in it. Words behind "role:" are none.
	Stated map[string]string
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
	if bad := t.head.found(file, opt.Stated); bad != nil {
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
