package message

import (
	"fmt"

	"github.com/kitmuster/kitmuster/notify/clean"
	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/programme"
)

// supplierView is what a supplier reads: what to send, by when, under which reference.
type supplierView struct {
	Subject string
	Shop    string
	Hello   string
	Ref     string
	Needed  string
	Pieces  int
	Value   string
	Tables  []sizeTable
	Sheets  []sheetView
	Owner   string
	Email   string
}

// ComposeSupplierOrder writes an order to a supplier as a draft: it goes out by
// the owner's hand and never by itself.
func ComposeSupplierOrder(o SupplierOrder) (Mail, error) {
	t := tongue{shop: o.Shop}
	s, ok := o.Shop.Supplier(o.Supplier)
	if !ok {
		return Mail{}, fmt.Errorf("compose order: the shop file has no supplier %q", o.Supplier)
	}
	ref := fmt.Sprintf("%s-%d", o.AsOf, o.Number)
	m := Mail{Kind: KindSupplier, ID: id("order", o.Supplier, o.AsOf, o.Number), To: []programme.Contact{{Name: s.Name, Email: s.Email}}, Draft: true}
	v := supplierView{
		Subject: fmt.Sprintf("Order %s from %s", ref, clean.Short(o.Shop.Name)), Shop: clean.Short(o.Shop.Name), Hello: hello(s.Name), Ref: ref,
		Owner: clean.Short(o.Shop.Owner.Name), Email: clean.Line(o.Shop.Owner.Email),
	}
	m.Subject = v.Subject
	if !o.NeededBy.IsZero() {
		v.Needed = t.day(o.NeededBy)
	}
	if err := o.blanks(t, &m, &v); err != nil {
		return Mail{}, fmt.Errorf("compose order to %s: %w", o.Supplier, err)
	}
	r := Round{Shop: o.Shop, Sheets: o.Sheets}
	v.Sheets = r.sheetViews(t)
	if err := r.pictures(&m, &roundView{Sheets: v.Sheets}); err != nil {
		return Mail{}, fmt.Errorf("compose order to %s: %w", o.Supplier, err)
	}
	for i := range o.Sheets {
		m.Attachments = append(m.Attachments, o.Sheets[i].proofs()...)
	}
	if s.Email == "" {
		m.To = nil
		m.Warnings = append(m.Warnings, fmt.Sprintf("The shop file has no mail address for %s.", clean.Short(s.Name)))
	}
	var err error
	m.HTML, m.Text, err = render("supplier", v)
	return m, err
}

// blanks adds up the blanks and attaches them as a list.
func (o *SupplierOrder) blanks(t tongue, m *Mail, v *supplierView) error {
	if len(o.Blanks) == 0 {
		return nil
	}
	rows := [][]string{{"order", "garment", "item", "colour", "size", "pieces", "unit_cost"}}
	var pieces []tally
	var value programme.Money
	for _, b := range o.Blanks {
		cost := ""
		if b.UnitCost > 0 {
			cost = b.UnitCost.Decimal()
		}
		rows = append(rows, []string{v.Ref, b.Garment, t.garment(b.Garment), b.Colour, b.Size, fmt.Sprint(b.Pieces), cost})
		pieces = append(pieces, tally{b.SKU, b.Pieces})
		value += b.UnitCost * programme.Money(b.Pieces)
		v.Pieces += b.Pieces
	}
	v.Tables = t.sizeTables(pieces)
	if value > 0 {
		v.Value = t.money(value)
	}
	csv, err := document.CSV(rows)
	if err != nil {
		return err
	}
	m.Attachments = append(m.Attachments, Part{Name: "order-" + v.Ref + "-blanks.csv", Type: typeCSV, Data: csv})
	return nil
}
