package page

import (
	"fmt"
	"slices"
	"strings"
)

// Table is rows below a heading.
type Table struct {
	// Title stands above the heading; empty = none.
	Title   string
	Columns []Column
	Rows    [][]Text // a row of one cell goes over all columns, see Group
	Foot    []Text   // the last row, bold; nil = none
	// Empty is said instead of a table without rows; empty = nothing is drawn.
	Empty string
}

// Column is a column of a table.
type Column struct {
	Head string
	// Right sets figures to the right.
	Right bool
	// Keep never breaks the cells of this column over lines.
	Keep bool
	// Most is the number of letters that a line of the column has on a terminal; 0 = all.
	Most int
	// Share of the width of a paper; 0 shares what the others leave.
	Share float64
}

// Columns returns a column for each heading. A heading that begins with # is of
// figures: they are set to the right and never broken.
func Columns(heads ...string) []Column {
	out := make([]Column, len(heads))
	for i, h := range heads {
		words, figures := strings.CutPrefix(h, "#")
		out[i] = Column{Head: words, Right: figures, Keep: figures}
	}
	return out
}

// Row adds a row. A cell is a Text, or what fmt makes of it.
func (t *Table) Row(cells ...any) { t.Rows = append(t.Rows, texts(cells)) }

// Group adds a row that goes over all columns: the title of the rows below it.
func (t *Table) Group(words Text) { t.Rows = append(t.Rows, []Text{words}) }

// Spans reports whether a row is one that Group added.
func (t *Table) Spans(row []Text) bool { return len(row) == 1 && len(t.Columns) > 1 }

// Sum sets the last row, bold.
func (t *Table) Sum(cells ...any) { t.Foot = texts(cells) }

func texts(cells []any) []Text {
	out := make([]Text, len(cells))
	for i, c := range cells {
		text, ok := c.(Text)
		if !ok {
			text = Plain(fmt.Sprint(c))
		}
		out[i] = text
	}
	return out
}

// Headed reports whether any column has a heading.
func (t Table) Headed() bool {
	return slices.ContainsFunc(t.Columns, func(c Column) bool { return c.Head != "" })
}

// Shares returns the part of a paper's width of each column; together 1.
func (t Table) Shares() []float64 {
	left, free := 1.0, 0
	for _, c := range t.Columns {
		left -= c.Share
		if c.Share == 0 {
			free++
		}
	}
	out := make([]float64, len(t.Columns))
	for i, c := range t.Columns {
		if out[i] = c.Share; c.Share == 0 {
			out[i] = left / float64(free)
		}
	}
	return out
}
