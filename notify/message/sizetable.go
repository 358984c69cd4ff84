package message

import (
	"cmp"
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// sizeTable is the pieces of one garment: a row for each colour, a column for
// each size that is in it, in the garment's own order.
type sizeTable struct {
	Garment string
	code    string
	Sizes   []string
	Rows    []sizeRow
	Total   int
}

// oneSizeName heads the column of a garment that comes in a single size.
const oneSizeName = "one size"

// table draws the pieces: a column for each size and one for the sum.
func (t *sizeTable) table() page.Table {
	out := page.Table{Title: t.Garment, Columns: t.columns()}
	for _, r := range t.Rows {
		row := []any{r.Colour}
		for _, c := range r.Cells {
			row = append(row, c)
		}
		out.Row(append(row, page.Strong(strconv.Itoa(r.Total)))...)
	}
	return out
}

func (t *sizeTable) columns() []page.Column {
	heads := []string{""}
	for _, s := range t.Sizes {
		heads = append(heads, "#"+s)
	}
	out := page.Columns(append(heads, "#pieces")...)
	out[0].Share = 0.24
	return out
}

// addTables puts size tables on a page.
func addTables(p *page.Page, tables []sizeTable) {
	for i := range tables {
		p.Add(tables[i].table())
	}
}

func (t *sizeTable) oneSize() bool { return len(t.Sizes) == 1 && t.Sizes[0] == oneSizeName }

type sizeRow struct {
	Colour string
	Cells  []string // empty for none
	Total  int
}

// sizesOf writes a row as words: S 3, M 13, L 9.
func (t *sizeTable) sizesOf(r sizeRow) string {
	var parts []string
	for i, c := range r.Cells {
		if c != "" {
			part := t.Sizes[i] + " " + c
			if strings.ContainsAny(t.Sizes[i], "0123456789") && !strings.ContainsFunc(t.Sizes[i], unicode.IsLetter) {
				part = c + " × " + t.Sizes[i] // two numbers side by side are read as one, or the wrong way round
			}
			parts = append(parts, part)
		}
	}
	return strings.Join(parts, ", ")
}

// tally is a number of pieces of one garment, colour and size.
type tally struct {
	programme.SKU
	n int
}

// sizeTables sorts pieces into one table a garment, garments in the order of
// the shop file, colours in the garment's.
func (t notation) sizeTables(pieces []tally) []sizeTable {
	sum := map[programme.SKU]int{}
	for _, p := range pieces {
		sum[p.SKU] += p.n
	}
	var out []sizeTable
	for _, garment := range t.garmentsOf(sum) {
		out = append(out, t.sizeTable(garment, sum))
	}
	return out
}

func (t notation) sizeTable(garment string, sum map[programme.SKU]int) sizeTable {
	sizes, colours := t.sizesOf(garment, sum), t.coloursOf(garment, sum)
	table := sizeTable{Garment: t.garment(garment), code: garment}
	for _, s := range sizes {
		name := clean.Short(s)
		if t.oneSize(programme.SKU{Garment: garment, Size: s}) {
			name = oneSizeName
		}
		table.Sizes = append(table.Sizes, name)
	}
	for _, c := range colours {
		row := sizeRow{Colour: clean.Short(c)}
		for _, s := range sizes {
			n := sum[programme.SKU{Garment: garment, Colour: c, Size: s}]
			row.Total += n
			cell := ""
			if n > 0 {
				cell = strconv.Itoa(n)
			}
			row.Cells = append(row.Cells, cell)
		}
		table.Total += row.Total
		table.Rows = append(table.Rows, row)
	}
	return table
}

func (t notation) garmentsOf(sum map[programme.SKU]int) []string {
	var own []string
	for i := range t.shop.Garments {
		own = append(own, t.shop.Garments[i].Code)
	}
	return inOrder(own, sum, func(k programme.SKU) (string, bool) { return k.Garment, true })
}

func (t notation) sizesOf(garment string, sum map[programme.SKU]int) []string {
	var own []string
	if g, ok := t.shop.Garment(garment); ok {
		for _, s := range g.Sizes {
			own = append(own, s.Code)
		}
	}
	return inOrder(own, sum, func(k programme.SKU) (string, bool) { return k.Size, k.Garment == garment })
}

func (t notation) coloursOf(garment string, sum map[programme.SKU]int) []string {
	var own []string
	if g, ok := t.shop.Garment(garment); ok {
		own = g.Colours
	}
	return inOrder(own, sum, func(k programme.SKU) (string, bool) { return k.Colour, k.Garment == garment })
}

// inOrder returns the values that occur with pieces: the shop's own in their order, then the others by name.
func inOrder(own []string, sum map[programme.SKU]int, pick func(programme.SKU) (string, bool)) []string {
	seen := map[string]bool{}
	for k, n := range sum {
		if v, ok := pick(k); ok && n > 0 {
			seen[v] = true
		}
	}
	var out []string
	for _, v := range own {
		if seen[v] {
			out = append(out, v)
			delete(seen, v)
		}
	}
	return append(out, slices.Sorted(maps.Keys(seen))...)
}

// order returns a sort key of a piece: garment in the shop's order, colour and
// size in the garment's; what the shop file does not know comes last.
func (t notation) order(k programme.SKU) [3]int {
	const last = 1 << 20
	at := [3]int{last, last, last}
	for i := range t.shop.Garments {
		g := &t.shop.Garments[i]
		if g.Code != k.Garment {
			continue
		}
		at[0] = i
		if j := slices.Index(g.Colours, k.Colour); j >= 0 {
			at[1] = j
		}
		if j := slices.IndexFunc(g.Sizes, func(s programme.GarmentSize) bool { return s.Code == k.Size }); j >= 0 {
			at[2] = j
		}
	}
	return at
}

// compare orders pieces as people look for them.
func (t notation) compare(a, b programme.SKU) int {
	x, y := t.order(a), t.order(b)
	return cmp.Or(slices.Compare(x[:], y[:]), a.Compare(b))
}
