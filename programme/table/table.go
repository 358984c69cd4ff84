package table

import (
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/match"
)

// Options holds what is said of a list by whoever hands it over.
type Options struct {
	// Headings maps headings of this file to our names; an empty name passes a column over. An
	// entry "role:Line Cook" is no heading: it maps a word of the column role, see Words.
	Headings map[string]string
	// Stated are the Headings that were stated for this very file: a heading must be found in it,
	// and a word that no row has is noted.
	Stated map[string]string
	// Sheet names the sheet of a workbook; empty takes the one that has the headings.
	Sheet string
	// Dates states how dates are written; empty infers it from all of them.
	Dates DateOrder
	// Latest is the last day that makes sense; no date = any.
	Latest programme.Date
}

// Table is a file whose heading was understood, whatever its rows are.
type Table struct {
	File string
	// Notes tell what was concluded, for the person who handed the file over.
	Notes []string

	*headings
	opt    *Options
	m      *matcher
	grid   grid
	head   *heading
	excel  bool
	dates  dates
	errs   Errors // the first mostErrors
	faults int    // all
	words  map[string]string
	count  int          // rows
	skip   map[int]bool // lines below the heading that are no rows
	mapped []*mapping   // by column; nil = no word is mapped
	atCell []*mapping   // the same by cell
	out    int          // rows that a mapping leaves out
	// over are the words that are mapped to nothing and stand alone on a line, by plain word.
	over map[string]bool
	// another is a line below the rows at which another list begins; nil = none does.
	another *Error
}

func open(file string, data []byte, opt *Options, known *headings) (*Table, *Error) {
	if bad := checkFormat(file, data); bad != nil {
		return nil, bad
	}
	t := &Table{File: file, headings: known, opt: opt, m: newMatcher(known, opt.Headings),
		dates: dates{file: file, stated: opt.Dates, latest: opt.Latest},
		words: map[string]string{}, skip: map[int]bool{}, over: map[string]bool{}}
	var bad *Error
	if isZip(data) {
		bad = t.openSheet(data)
	} else {
		bad = t.openText(data)
	}
	if bad != nil {
		return nil, bad
	}
	if bad := t.head.found(file, t.m, opt.Stated); bad != nil {
		return nil, bad
	}
	if bad := t.head.place(file, t.m); bad != nil {
		return nil, bad
	}
	if bad := t.rowAboveHeading(); bad != nil {
		return nil, bad
	}
	if bad := t.mapWords(); bad != nil {
		return nil, bad
	}
	if len(t.head.unused) > 0 {
		t.Notes = append(t.Notes, "columns not used: "+strings.Join(t.head.unused, ", "))
	}
	return t, nil
}

// Has reports whether the file has the column of that number.
func (t *Table) Has(column int) bool { return t.head.at[column] >= 0 }

// HeadingLine returns the line of the heading.
func (t *Table) HeadingLine() int { return t.head.line }

// Mended reports whether the file was written by Mend, and so holds only the
// rows of another file that were wrong.
func (t *Table) Mended() bool {
	return contains(t.head.cells, match.Plain(ProblemColumn))
}

// Above returns the filled cells of the lines above the heading, line by line, and
// whether the file is a workbook.
func (t *Table) Above() (lines [][]string, excel bool) {
	_ = t.grid.each(func(line int, cells []string) bool {
		if line >= t.head.line {
			return false
		}
		var filled []string
		for _, c := range cells {
			if c = clean.Cell(c); c != "" {
				filled = append(filled, strings.Clone(c))
			}
		}
		if len(filled) > 0 {
			lines = append(lines, filled)
		}
		return true
	})
	return lines, t.excel
}

// scan goes once over all lines before any row is read: it finds the lines that
// are no rows or misshapen ones, and settles how the file writes its dates.
func (t *Table) scan() *Error {
	lines := map[notRow]*left{}
	bad := t.each(func(r *Row) {
		why, err := t.judge(r)
		if err != nil {
			r.wrong(err)
		}
		if why != "" {
			if lines[why] == nil {
				lines[why] = &left{}
			}
			lines[why].add(r, why)
		}
		if why != "" || err != nil {
			t.skip[r.Line] = true
			return
		}
		if t.mapped != nil && t.meet(r) {
			t.skip[r.Line] = true
			t.out++
			return
		}
		t.count++
		for i, c := range t.columns {
			if c.date {
				t.dates.add(r.Text(i), r.Line)
			}
		}
	})
	t.noteLeft(lines)
	if bad == nil {
		bad = t.another
	}
	if bad == nil {
		bad = t.head.foundLines(t.File, t.m, t.opt.Stated, t.over)
	}
	if bad == nil {
		bad = t.dates.settle()
	}
	return bad
}

// each calls f with every row below the heading that is not to be passed over.
func (t *Table) each(f func(r *Row)) *Error {
	r := &Row{t: t}
	return t.grid.each(func(line int, cells []string) bool {
		if line > t.head.line && !t.skip[line] {
			r.Line, r.cells, r.bad, r.repeats = line, cells, false, false
			f(r)
		}
		return true
	})
}
