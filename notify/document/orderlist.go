package document

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// OrderList is the list of transfers to order, as CSV: a row for each layout
// and artwork on it, so that a printer can check every count.
func OrderList(shop *programme.Shop, plan *sheet.Plan) ([]byte, error) {
	rows := [][]string{{"printer", "kind", "sheet", "layout", "copies", "width_mm", "height_mm", "artwork", "client", "artwork_width_mm", "artwork_height_mm", "on_each", "printed", "needed", "over"}}
	lines := map[string]*sheet.Line{}
	for i := range plan.Lines {
		lines[plan.Lines[i].Artwork] = &plan.Lines[i]
	}
	for i := range plan.Orders {
		o := &plan.Orders[i]
		for j := range o.Layouts {
			rows = append(rows, layoutRows(shop, o, &o.Layouts[j], lines)...)
		}
	}
	return CSV(rows)
}

func layoutRows(shop *programme.Shop, o *sheet.Order, l *sheet.Layout, lines map[string]*sheet.Line) (rows [][]string) {
	on := map[string]int{}
	var order []string
	for _, it := range l.Items {
		if on[it.Artwork] == 0 {
			order = append(order, it.Artwork)
		}
		on[it.Artwork]++
	}
	for _, code := range order {
		line := lines[code]
		art, ok := shop.Artwork(code)
		if !ok || line == nil {
			continue
		}
		rows = append(rows, []string{
			o.Printer, o.Kind, o.Sheet.Code, l.Name, fmt.Sprint(l.Copies), mm(l.Width.Millimetres()), mm(l.Height.Millimetres()),
			code, art.Client, mm(art.Width.Millimetres()), mm(art.Height.Millimetres()),
			fmt.Sprint(on[code]), fmt.Sprint(on[code] * l.Copies), fmt.Sprint(line.Print), fmt.Sprint(line.Over()),
		})
	}
	return rows
}
