package page

import (
	"regexp"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
)

// leastColumn is the fewest letters to which a column of words is narrowed.
const leastColumn = 12

// tightColumn is the fewest letters to which one is narrowed rather than be no column.
const tightColumn = 7

// leastHead is the fewest letters in a line of a heading that is broken within a word.
const leastHead = 5

// usualGap is the number of spaces between two columns where there is room.
const usualGap = 2

// drawTable draws a table in columns, under a line of its title.
func (d plain) drawTable(t Table) string {
	if len(t.Rows) == 0 {
		return d.fold(t.Empty, "")
	}
	l := d.layout(t)
	out := d.stacked(l.table)
	if l.widths != nil {
		out = d.columns(l)
	}
	if t.Title != "" {
		out = d.fold(t.Title, "") + "\n" + out
	}
	return out
}

// layout is a table with the width of each of its columns, in letters, and the spaces
// between two; without widths it does not fit in columns.
type layout struct {
	table  Table
	widths []int
	gap    int
}

// layout fits a table into the width that there is. What costs the reader least goes
// first: words are folded and, on a screen, columns in which nothing stands are left
// out, headings of figures folded, columns set closer, and words and headings broken.
func (d plain) layout(t Table) layout {
	l := layout{table: t, widths: t.natural(), gap: usualGap}
	if d.table == 0 || l.width() <= d.table {
		return l
	}
	if !d.screen {
		l.narrow(d.table, leastColumn, make([]int, len(t.Columns)))
		return l
	}
	l.table = t.withoutEmpty()
	l.widths = l.table.natural()
	words := l.table.longest(Text.words)
	for i := range words {
		words[i]++ // the sign that it ends with
	}
	whole, anywhere := words, make([]int, len(words))
	natural := slices.Clone(l.widths)
	for _, try := range []struct {
		heading, column int
		floors          []int
	}{{d.table, leastColumn, whole}, {d.table, tightColumn, whole}, {leastHead, tightColumn, whole},
		{leastHead, tightColumn, anywhere}} {
		copy(l.widths, natural)
		l.foldHeads(try.heading)
		for l.gap = usualGap; l.gap > 0; l.gap-- {
			if l.narrow(d.table, try.column, try.floors); l.width() <= d.table {
				return l
			}
		}
	}
	return layout{table: l.table}
}

// foldHeads gives columns of figures no more than their figures and the words of their
// headings take, of each so many letters.
func (l *layout) foldHeads(letters int) {
	lines := l.table.longest(Text.lines)
	for i, c := range l.table.Columns {
		if c.Keep {
			l.widths[i] = max(lines[i], min(letters, cells(longestOf(Plain(c.Head).words()))))
		}
	}
}

// width returns the letters of a line of the table.
func (l *layout) width() int {
	sum := -l.gap
	for _, w := range l.widths {
		sum += w + l.gap
	}
	return sum
}

// narrow takes letters from the widest column of words until the table fits, but
// leaves each the letters of its floor, and the least.
func (l *layout) narrow(width, least int, floors []int) {
	for {
		widest := -1
		for i, w := range l.widths {
			if !l.table.Columns[i].Keep && w > max(least, floors[i]) && (widest < 0 || w > l.widths[widest]) {
				widest = i
			}
		}
		over := l.width() - width
		if over <= 0 || widest < 0 {
			return
		}
		l.widths[widest] = max(least, floors[widest], l.widths[widest]-over)
	}
}

// columns draws the table in its columns.
func (d plain) columns(l layout) string {
	w := table.NewWriter()
	style := table.StyleDefault
	style.Options = table.OptionsNoBordersAndSeparators
	style.Options.SeparateHeader = d.screen
	style.Box.PaddingLeft, style.Box.PaddingRight = "", strings.Repeat(" ", l.gap)
	style.Format.Header, style.Format.Footer = text.FormatDefault, text.FormatDefault
	style.Format.HeaderVAlign = text.VAlignBottom
	w.SetStyle(style)
	w.SetColumnConfigs(l.table.alignment())
	if l.table.Headed() {
		head := make([]Text, len(l.table.Columns))
		for i, c := range l.table.Columns {
			head[i] = Plain(c.Head)
		}
		if d.screen {
			w.AppendHeader(d.row(head, l.widths))
		} else {
			w.AppendHeader(unfolded(head))
		}
	}
	high := make([]int, len(l.table.Rows)) // lines of each row; a group's are put between the others
	for i, r := range l.table.Rows {
		if !l.table.Spans(r) {
			cells := d.row(r, l.widths)
			high[i] = lines(cells)
			w.AppendRow(cells)
		}
	}
	foot := 0
	if l.table.Foot != nil {
		cells := d.row(l.table.Foot, l.widths)
		foot = lines(cells)
		w.AppendRow(cells) // as a row: a footer would have a line above it
	}
	out := w.Render()
	if line := headLine.FindStringIndex(out); d.table > 0 && line != nil {
		out = out[:line[1]-l.gap] + out[line[1]:] // it is longer than the rows by a gap
	}
	return d.grouped(&l.table, out, high, foot)
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
			out = append(out, d.over(r[0]))
			continue
		}
		out = append(out, all[at:at+high[i]]...)
		at += high[i]
	}
	return strings.Join(append(out, all[at:]...), "\n")
}

// over draws a row that goes over all columns; on a screen words that are wider are broken.
func (d plain) over(row Text) string {
	words := row.String()
	if d.screen {
		words = broken(words, d.width)
	}
	return d.fold(words, "")
}

// headLine is the line under the heading.
var headLine = regexp.MustCompile(`(?m)^-+$`)

// stacked draws what stands in each row line by line, for a screen too narrow for columns.
func (d plain) stacked(t Table) string {
	var out []string
	for _, r := range append(slices.Clip(t.Rows), t.Foot) {
		if t.Spans(r) {
			out = append(out, d.over(r[0]))
			continue
		}
		var lines []string
		for i, c := range r {
			words := strings.Join(strings.Fields(c.String()), " ")
			if words == "" {
				continue
			}
			if head := t.Columns[i].Head; head != "" {
				words = head + ": " + words
			}
			lines = append(lines, d.fold(broken(words, d.width-len("  ")), "  "))
		}
		if len(lines) > 0 {
			out = append(out, strings.Join(lines, "\n"))
		}
	}
	return strings.Join(out, "\n\n")
}

// withoutEmpty returns the table without the columns in which nothing stands.
func (t *Table) withoutEmpty() Table {
	width := t.longest(Text.lines)
	kept := func(i int) bool { return width[i] > 0 }
	out := Table{Title: t.Title, Empty: t.Empty, Foot: pick(t.Foot, kept), Columns: pick(t.Columns, kept)}
	for _, r := range t.Rows {
		if !t.Spans(r) {
			r = pick(r, kept)
		}
		out.Rows = append(out.Rows, r)
	}
	return out
}

// pick returns what stands at the places that are kept.
func pick[T any](list []T, kept func(int) bool) []T {
	var out []T
	for i, x := range list {
		if kept(i) {
			out = append(out, x)
		}
	}
	return out
}

// longest returns for each column the width of the longest of the parts of its cells.
func (t *Table) longest(parts func(Text) []string) []int {
	out := make([]int, len(t.Columns))
	for _, r := range append(slices.Clip(t.Rows), t.Foot) {
		if t.Spans(r) {
			continue
		}
		for i, c := range r {
			out[i] = max(out[i], cells(longestOf(parts(c))))
		}
	}
	return out
}

func (t Text) lines() []string { return strings.Split(t.String(), "\n") }

// words returns what a line may end behind.
func (t Text) words() []string {
	return strings.FieldsFunc(t.String(),
		func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune(wordSigns, r) })
}

func longestOf(parts []string) string {
	longest := ""
	for _, s := range parts {
		if cells(s) > cells(longest) {
			longest = s
		}
	}
	return longest
}

// row folds each cell to the width of its column; on a screen, words that are longer are broken.
func (d plain) row(of []Text, widths []int) table.Row {
	out := make(table.Row, len(of))
	for i, c := range of {
		words := c.String()
		if d.screen {
			words = broken(words, widths[i])
		}
		out[i] = plain{width: widths[i]}.fold(words, "")
	}
	return out
}

// broken puts spaces into words that are wider than a line, behind one of their signs where that can be.
func broken(s string, width int) string {
	var out []string
	for line := range strings.SplitSeq(s, "\n") {
		var words []string
		for w := range strings.FieldsSeq(line) {
			for cells(w) > width {
				at := fitting(w, width)
				if sign := strings.LastIndexAny(w[:at], wordSigns); sign >= 0 {
					at = sign + 1
				}
				words, w = append(words, w[:at]), w[at:]
			}
			words = append(words, w)
		}
		out = append(out, strings.Join(words, " "))
	}
	return strings.Join(out, "\n")
}

// wordSigns are the signs behind which a word may be broken.
const wordSigns = "/@-_"

// fitting returns the bytes of the letters of s that a line has room for, those of one letter at least.
func fitting(s string, width int) int {
	_, at := utf8.DecodeRuneInString(s)
	for i := range s {
		if i > at && cells(s[:i]) <= width {
			at = i
		}
	}
	return at
}

func unfolded(of []Text) table.Row {
	out := make(table.Row, len(of))
	for i, c := range of {
		out[i] = c.String()
	}
	return out
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

// natural returns the longest line of each column, within the most that it may have.
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
	for i, c := range t.Columns {
		if c.Most > 0 {
			out[i] = min(out[i], c.Most)
		}
	}
	return out
}
