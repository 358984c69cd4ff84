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
	garment := func(k programme.SKU) programme.SKU { return programme.SKU{Garment: k.Garment} }
	for _, k := range t.distinct(sum, garment) {
		out = append(out, t.sizeTable(k.Garment, sum))
	}
	return out
}

func (t notation) sizeTable(garment string, sum map[programme.SKU]int) sizeTable {
	own := maps.Clone(sum)
	maps.DeleteFunc(own, func(k programme.SKU, _ int) bool { return k.Garment != garment })
	sizes := t.distinct(own,
		func(k programme.SKU) programme.SKU { return programme.SKU{Garment: garment, Size: k.Size} })
	colours := t.distinct(own,
		func(k programme.SKU) programme.SKU { return programme.SKU{Garment: garment, Colour: k.Colour} })
	table := sizeTable{Garment: t.garment(garment), code: garment}
	for _, s := range sizes {
		table.Sizes = append(table.Sizes, t.sizeName(s))
	}
	for _, c := range colours {
		row := sizeRow{Colour: clean.Short(c.Colour)}
		for _, s := range sizes {
			n := own[programme.SKU{Garment: garment, Colour: c.Colour, Size: s.Size}]
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

// distinct returns what pick leaves of the goods that have pieces, each once, as people look for them.
func (t notation) distinct(sum map[programme.SKU]int, pick func(programme.SKU) programme.SKU) []programme.SKU {
	left := map[programme.SKU]bool{}
	for k, n := range sum {
		if n > 0 {
			left[pick(k)] = true
		}
	}
	return slices.SortedFunc(maps.Keys(left), t.compare)
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
