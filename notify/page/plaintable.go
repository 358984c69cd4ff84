package page

import (
	"slices"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
)

// leastColumn is the fewest letters to which a column of words is narrowed.
const leastColumn = 12

// table draws a table in columns, under a line of its title.
func (d plain) table(t Table) string {
	if len(t.Rows) == 0 {
		return d.fold(t.Empty, "")
	}
	w := table.NewWriter()
	style := table.StyleDefault
	style.Options = table.OptionsNoBordersAndSeparators
	style.Options.SeparateHeader = d.screen
	style.Box.PaddingLeft, style.Box.PaddingRight = "", "  "
	style.Format.Header, style.Format.Footer = text.FormatDefault, text.FormatDefault
	w.SetStyle(style)
	widths := d.widths(&t)
	w.SetColumnConfigs(t.alignment())
	if t.Headed() {
		head := make(table.Row, len(t.Columns))
		for i, c := range t.Columns {
			head[i] = c.Head
		}
		w.AppendHeader(head)
	}
	high := make([]int, len(t.Rows)) // lines of each row; a group's are put between the others
	for i, r := range t.Rows {
		if !t.Spans(r) {
			cells := row(r, widths)
			high[i] = lines(cells)
			w.AppendRow(cells)
		}
	}
	foot := 0
	if t.Foot != nil {
		cells := row(t.Foot, widths)
		foot = lines(cells)
		w.AppendRow(cells) // as a row: a footer would have a line above it
	}
	out := d.grouped(&t, w.Render(), high, foot)
	if t.Title != "" {
		out = d.fold(t.Title, "") + "\n" + out
	}
	return out
}

// row folds each cell to the width of its column.
func row(cells []Text, widths []int) table.Row {
	out := make(table.Row, len(cells))
	for i, c := range cells {
		out[i] = plain{width: widths[i]}.fold(c.String(), "")
	}
	return out
}

// lines returns the number of lines of a row.
func lines(cells table.Row) int {
	n := 1
	for _, c := range cells {
		n = max(n, 1+strings.Count(c.(string), "\n"))
	}
	return n
}

// grouped puts the rows that go over all columns between those that were drawn.
func (d plain) grouped(t *Table, drawn string, high []int, foot int) string {
	all := strings.Split(drawn, "\n")
	at := len(all) - foot
	for _, n := range high {
		at -= n
	}
	out := slices.Clone(all[:max(0, at)])
	for i, r := range t.Rows {
		if t.Spans(r) {
			out = append(out, d.fold(r[0].String(), ""))
			continue
		}
		out = append(out, all[at:at+high[i]]...)
		at += high[i]
	}
	return strings.Join(append(out, all[at:]...), "\n")
}

func (t *Table) alignment() []table.ColumnConfig {
	var out []table.ColumnConfig
	for i, c := range t.Columns {
		if c.Right {
			out = append(out, table.ColumnConfig{Number: i + 1, Align: text.AlignRight, AlignHeader: text.AlignRight})
		}
	}
	return out
}

// widths returns the width of each column: of its longest line or, where that is
// too much, fewer letters.
func (d plain) widths(t *Table) []int {
	widths := t.natural()
	for i, c := range t.Columns {
		if c.Most > 0 {
			widths[i] = min(widths[i], c.Most)
		}
	}
	if !d.screen {
		d.narrow(t, widths)
	}
	return widths
}

// natural returns the longest line of each column.
func (t *Table) natural() []int {
	out := make([]int, len(t.Columns))
	measure := func(i int, s string) {
		for line := range strings.SplitSeq(s, "\n") {
			out[i] = max(out[i], cells(line))
		}
	}
	for i, c := range t.Columns {
		measure(i, c.Head)
	}
	for _, r := range append(slices.Clip(t.Rows), t.Foot) {
		if t.Spans(r) {
			continue
		}
		for i, c := range r {
			measure(i, c.String())
		}
	}
	return out
}

// narrow takes letters from the widest column of words until the table fits.
func (d plain) narrow(t *Table, widths []int) {
	for {
		sum, widest := 0, -1
		for i, w := range widths {
			sum += w + 2
			if c := t.Columns[i]; !c.Keep && w > leastColumn && (widest < 0 || w > widths[widest]) {
				widest = i
			}
		}
		if sum-2 <= d.width || widest < 0 {
			return
		}
		widths[widest] = max(leastColumn, widths[widest]-(sum-2-d.width))
	}
}
