package table

import (
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/match"
)

// rowAboveHeading refuses a file in which a line as full as a row stands above
// the heading: titles are short, and a row there would be lost in silence.
func (t *Table) rowAboveHeading() (found *Error) {
	width := len(t.head.cells)
	bad := t.grid.each(func(line int, cells []string) bool {
		filled := 0
		for _, c := range cells {
			if clean.Cell(c) != "" {
				filled++
			}
		}
		if line < t.head.line && filled >= 3 && filled*4 >= width*3 {
			found = &Error{File: t.File, Line: line,
				Want: fmt.Sprintf("this line stands above the heading (line %d) and looks like a row; move it below, or remove it", t.head.line)}
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
	return &Error{File: t.File, Want: fmt.Sprintf("no line among the first %d names the columns; write one above the rows: %s; or say what yours mean, each with --map \"Your heading=%s\"",
		headingLines, t.m.columnNames(), t.m.columns[0].name)}
}

func (t *Table) openSheet(data []byte) *Error {
	w, bad := openWorkbook(t.File, data)
	if bad != nil {
		return bad
	}
	t.excel, t.dates.excel, t.dates.date1904 = true, true, w.date1904
	var names []string
	var unread *Error
	for _, s := range w.sheets {
		if t.opt.Sheet != "" && s.name != t.opt.Sheet {
			continue
		}
		h, bad := findHeading(s, t.m)
		if bad != nil && unread == nil {
			unread = bad
		}
		if t.fits(h) {
			names = append(names, s.name)
			t.grid, t.head = s, h
		}
	}
	if len(names) == 0 && unread != nil {
		return unread
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
		return &Error{File: t.File,
			Want: fmt.Sprintf("the sheets %s all have such headings; say which to read with --sheet %q",
				strings.Join(fitting, ", "), fitting[0])}
	case t.opt.Sheet != "" && !contains(all, match.Plain(t.opt.Sheet)):
		return &Error{File: t.File, Want: fmt.Sprintf("there is no sheet %q; the sheets are %s", t.opt.Sheet,
			strings.Join(all, ", "))}
	default:
		return t.noHeading()
	}
}
