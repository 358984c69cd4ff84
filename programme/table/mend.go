package table

import (
	"encoding/csv"
	"fmt"
	"io"
	"strings"

	"github.com/kitmuster/kitmuster/programme/clean"
)

// Mend writes the rows with errors as a CSV that can be corrected and handed
// over again: what is wrong in the first column, then the cells as they were. What stood
// above the heading goes before it, such as the day of a form.
// Dates that could be read are written as 2026-03-09, since the few rows left
// may no longer show in which order the file writes them. Call it after Read.
func (t *Table) Mend(w io.Writer, errs Errors) error {
	why := map[int][]string{}
	for _, e := range errs {
		text := e.Want
		if e.Value != "" {
			text = fmt.Sprintf("read \"%s\", %s", clean.Shown(e.Value, shown), text)
		}
		if e.Column != "" {
			text = e.Column + ": " + text
		}
		why[e.Line] = append(why[e.Line], text)
	}
	if _, err := w.Write(bomUTF8); err != nil { // spreadsheets take a CSV without it for Windows-1252
		return err
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	above, _ := t.Above()
	for _, cells := range above {
		for i, c := range cells {
			cells[i] = clean.Guard(c)
		}
		if err := out.Write(cells); err != nil {
			return err
		}
	}
	if err := out.Write(append([]string{ProblemColumn}, t.head.cells...)); err != nil {
		return err
	}
	var failed error
	if broken := t.grid.each(func(line int, cells []string) bool {
		texts, bad := why[line]
		if line <= t.head.line || !bad {
			return true
		}
		failed = out.Write(append([]string{strings.Join(texts, "; ")}, t.mendCells(cells)...))
		return failed == nil
	}); broken != nil {
		return broken
	}
	if failed != nil {
		return failed
	}
	out.Flush()
	return out.Error()
}

// mendCells copies cells with the dates settled.
func (t *Table) mendCells(cells []string) []string {
	kept := make([]string, len(cells), max(len(cells), len(t.head.cells)))
	for i, c := range cells {
		kept[i] = clean.Guard(clean.Cell(c))
	}
	for len(kept) < len(t.head.cells) && t.excel {
		kept = append(kept, "")
	}
	for i, c := range t.columns {
		at := t.head.at[i]
		if !c.date || at < 0 || at >= len(cells) {
			continue
		}
		if d, want := t.dates.date(clean.Cell(cells[at]), c.ahead); want == "" && d != 0 {
			kept[at] = d.String()
		}
	}
	return kept
}
