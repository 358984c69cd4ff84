package document

import (
	"cmp"
	"strconv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// ordered is an artwork on a layout, with what is asked for of it.
type ordered struct {
	order  *sheet.Order
	layout *sheet.Layout
	line   *sheet.Line
	art    *programme.Artwork
	// What people call them.
	printer, kind, client string
	onEach                int
}

func orderColumns(u programme.Units) []Column[ordered] {
	of := func(heading string, l func(ordered) programme.Length) Column[ordered] {
		return Column[ordered]{heading + "_" + u.Suffix(), func(r ordered) string { return u.Bare(l(r)) }}
	}
	count := func(heading string, n func(ordered) int) Column[ordered] {
		return Column[ordered]{heading, func(r ordered) string { return strconv.Itoa(n(r)) }}
	}
	return []Column[ordered]{
		{"printer", func(r ordered) string { return r.printer }},
		{"kind", func(r ordered) string { return r.kind }},
		{"sheet_or_roll", func(r ordered) string { return sheetOrRoll(r.order) }},
		{"layout", func(r ordered) string { return r.layout.Name }},
		count("copies", func(r ordered) int { return r.layout.Copies }),
		of("width", func(r ordered) programme.Length { return r.layout.Width }),
		of("height", func(r ordered) programme.Length { return r.layout.Height }),
		{"artwork", func(r ordered) string { return r.art.Called() }},
		{"client", func(r ordered) string { return r.client }},
		of("artwork_width", func(r ordered) programme.Length { return r.art.Width }),
		of("artwork_height", func(r ordered) programme.Length { return r.art.Height }),
		count("on_each", func(r ordered) int { return r.onEach }),
		count("printed", func(r ordered) int { return r.onEach * r.layout.Copies }),
		count("needed", func(r ordered) int { return r.line.Print }),
		count("over", func(r ordered) int { return r.line.Over() }),
		{"code", func(r ordered) string { return r.art.Code }},
	}
}

// OrderList returns the list of transfers to order, as CSV: a row for each layout
// and artwork on it, so that a printer can check every count. Measures are in
// the shop's units. Clients go by the names that are given by code, else by their codes.
func OrderList(shop *programme.Shop, plan *sheet.Plan, clients map[string]string) ([]byte, error) {
	lines := map[string]*sheet.Line{}
	for i := range plan.Lines {
		lines[plan.Lines[i].Artwork] = &plan.Lines[i]
	}
	var rows []ordered
	for i := range plan.Orders {
		o := &plan.Orders[i]
		for j := range o.Layouts {
			rows = append(rows, orderedOn(shop, o, &o.Layouts[j], lines, clients)...)
		}
	}
	return CSV(orderColumns(shop.Units), rows)
}

// orderedOn counts each artwork of a layout, in the order in which they lie on it.
func orderedOn(shop *programme.Shop, o *sheet.Order, l *sheet.Layout, lines map[string]*sheet.Line,
	clients map[string]string) (rows []ordered) {
	for code, n := range l.Artworks() {
		line := lines[code]
		art, ok := shop.Artwork(code)
		if !ok || line == nil {
			continue
		}
		rows = append(rows, ordered{o, l, line, art, shop.SupplierName(o.Printer), shop.KindName(o.Kind),
			cmp.Or(clients[art.Client], art.Client), n})
	}
	return rows
}

// sheetOrRoll says what a layout is printed on.
func sheetOrRoll(o *sheet.Order) string {
	if o.Sheet.Roll {
		return "roll"
	}
	return "sheet"
}
