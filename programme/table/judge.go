package table

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

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
		if c = clean.Cell(c); c != "" {
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
		return "", &Error{File: t.File, Line: r.Line,
			Want: fmt.Sprintf("the line has %s where the heading has %d; a separator inside a value needs quotation marks around the value",
				programme.NumberOf(last+1, "cell"), width)}
	case !t.excel && len(r.cells) < width:
		return "", &Error{File: t.File, Line: r.Line,
			Want: fmt.Sprintf("the line has %s where the heading has %d; write an empty cell for what is not known",
				programme.NumberOf(len(r.cells), "cell"), width)}
	}
	return "", nil
}

// lacksRequired reports whether a column that every row needs is empty, so that
// somebody called Sum Li is not taken for a total.
func (t *Table) lacksRequired(r *Row) bool {
	for i, c := range t.columns {
		if c.required && r.Text(i) == "" {
			return true
		}
	}
	return false
}

var totals = []string{"total", "totals", "subtotal", "sub-total", "grand total", "sum", "headcount",
	"head count", "count"}

// isTotal reports whether a sparsely filled line has a cell that says so.
func isTotal(r *Row) bool {
	for _, c := range r.cells {
		w := strings.ToLower(clean.Line(clean.Cell(c)))
		for _, total := range totals {
			rest, ok := strings.CutPrefix(w, total)
			if ok && (rest == "" || strings.HasPrefix(rest, ":") || strings.HasPrefix(rest, " ")) {
				return true
			}
		}
	}
	return false
}

var footers = []string{"printed", "generated", "exported", "page ", "end of", "confidential", "report ", "* ",
	"note:", "--", "=="}

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
		if !strings.EqualFold(clean.Cell(c), h) {
			return false
		}
	}
	return true
}
