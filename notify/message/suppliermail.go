package message

import (
	"fmt"
	"strconv"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// ComposeSupplierOrder writes an order to a supplier as a draft: it goes out by
// the owner's hand and never by itself.
func ComposeSupplierOrder(o SupplierOrder) (Mail, error) {
	t := notation{shop: o.Shop}
	s, ok := o.Shop.Supplier(o.Supplier)
	if !ok {
		return Mail{}, fmt.Errorf("compose order: the shop file has no supplier %q", o.Supplier)
	}
	ref := fmt.Sprintf("%s-%d", o.AsOf, o.Number)
	m := Mail{
		Kind: KindSupplier, ID: OrderID(o.Supplier, o.AsOf, o.Number),
		To: []programme.Contact{{Name: s.Name, Email: s.Email}}, Draft: true,
		Subject: fmt.Sprintf("Order %s from %s", ref, clean.Short(o.Shop.Name)),
	}
	if s.Email == "" {
		m.To = nil
		m.Warnings = append(m.Warnings, fmt.Sprintf("The shop file has no mail address for %s.", clean.Short(s.Name)))
	}
	p, err := o.page(t, &m, s, ref)
	if err != nil {
		return Mail{}, fmt.Errorf("compose order to %s: %w", o.Supplier, err)
	}
	return m, m.write(p)
}

// OrderID returns the name of the letter that carries an order.
func OrderID(supplier string, asOf programme.Date, number int64) string {
	return id("order", supplier, asOf, number)
}

// page says what to send, by when, under which reference.
func (o *SupplierOrder) page(t notation, m *Mail, s *programme.Supplier, ref string) (page.Page, error) {
	shop := clean.Short(o.Shop.Name)
	p := letter(shop, m.Subject, m.Subject)
	p.Say("%s", hello(s.Name))
	by := ""
	if !o.NeededBy.IsZero() {
		by = ", to be here by " + t.day(o.NeededBy)
	}
	account := ""
	if number := o.account(); number != "" {
		account = ", our account " + number
	}
	p.Say("Please send us the following under our reference %s%s%s.", ref, account, by)
	if address := clean.Line(o.Shop.Terms.Address); address != "" {
		p.Say("Deliver to: %s.", address)
	}
	if err := o.blanks(t, m, &p, ref); err != nil {
		return p, err
	}
	if err := o.transfers(t, m, &p); err != nil {
		return p, err
	}
	if len(o.Blanks) > 0 {
		substitutes := "Please send nothing else in place of what is out of stock without asking us."
		if s.Substitutes != "" {
			substitutes = "In place of what is out of stock: " + clean.Line(s.Substitutes)
		}
		p.Say("%s", substitutes)
	}
	p.Say("Please confirm the order and the day of delivery.")
	p.Add(regards(clean.Short(o.Shop.Owner.Name), shop, clean.Line(o.Shop.Owner.Email)))
	return p, nil
}

func (o *SupplierOrder) transfers(t notation, m *Mail, p *page.Page) error {
	if len(o.Sheets) == 0 {
		return nil
	}
	p.Heading(2, "Transfers")
	for i := range o.Sheets {
		v := t.sheetView(&o.Sheets[i])
		p.Heading(3, v.title)
		if err := t.layouts(m, p, &o.Sheets[i], i); err != nil {
			return err
		}
		p.Say("By our list, without freight: %s.%s", v.price, o.Sheets[i].attached())
		m.Attachments = append(m.Attachments, o.Sheets[i].proofs()...)
		for _, part := range o.Sheets[i].Prints {
			m.Attachments = append(m.Attachments, part.named())
		}
		m.Warnings = append(m.Warnings, o.Sheets[i].Unprinted...)
	}
	return nil
}

// attached says which files go with the sheets.
func (s *SheetToOrder) attached() string {
	switch {
	case len(s.Prints) > 0 && len(s.Proofs) > 0:
		return " Attached: to print, the art alone at exact size on pages of the sheet; to compare, the proof at true scale and the list."
	case len(s.Proofs) > 0:
		return " The proof at true scale and the list are attached."
	default:
		return ""
	}
}

// blankRow is a line of the order with its reference.
type blankRow struct {
	BlankLine
	known              programme.Item
	ref, item, account string
	unitCost           string // nothing for a price that is not known
	neededBy           programme.Date
}

var blankColumns = []document.Column[blankRow]{
	{Heading: "order", Value: func(r blankRow) string { return r.ref }},
	{Heading: "account", Value: func(r blankRow) string { return r.account }},
	{Heading: "item_number", Value: func(r blankRow) string { return r.known.Number }},
	{Heading: "gtin", Value: func(r blankRow) string { return r.known.GTIN }},
	{Heading: "garment", Value: func(r blankRow) string { return r.Garment }},
	{Heading: "item", Value: func(r blankRow) string { return r.item }},
	{Heading: "colour", Value: func(r blankRow) string { return r.Colour }},
	{Heading: "size", Value: func(r blankRow) string { return r.Size }},
	{Heading: "pieces", Value: func(r blankRow) string { return strconv.Itoa(r.Pieces) }},
	{Heading: "unit_cost", Value: func(r blankRow) string { return r.unitCost }},
	{Heading: "wanted_by", Value: func(r blankRow) string {
		if r.neededBy.IsZero() {
			return ""
		}
		return r.neededBy.String()
	}},
}

// account returns the shop's number with the supplier; empty when it has none.
func (o *SupplierOrder) account() string {
	s, ok := o.Shop.Supplier(o.Supplier)
	if !ok {
		return ""
	}
	return clean.Short(s.Account)
}

// blanks adds up the blanks and attaches them as a list.
func (o *SupplierOrder) blanks(t notation, m *Mail, p *page.Page, ref string) error {
	if len(o.Blanks) == 0 {
		return nil
	}
	var rows []blankRow
	var pieces []tally
	var value programme.Money
	n := 0
	for _, b := range o.Blanks {
		row := blankRow{
			BlankLine: b, known: o.Shop.Item(b.SKU), ref: ref, item: t.garment(b.Garment), account: o.account(),
			neededBy: o.NeededBy,
		}
		if b.UnitCost != 0 {
			row.unitCost = b.UnitCost.Plain(t.shop.Currency)
		}
		rows = append(rows, row)
		pieces = append(pieces, tally{b.SKU, b.Pieces})
		value += b.UnitCost * programme.Money(b.Pieces)
		n += b.Pieces
	}
	p.Heading(2, "Blanks: "+programme.NumberOf(n, "piece"))
	addTables(p, t.sizeTables(pieces))
	if value > 0 {
		p.Say("By our list they come to %s without freight; please tell us if a price has changed.", t.money(value))
	}
	p.Say("The same as a list is attached (CSV).")
	csv, err := document.CSV(blankColumns, rows)
	if err != nil {
		return err
	}
	m.Attachments = append(m.Attachments, Part{Name: "order-" + ref + "-blanks.csv", Type: typeCSV, Data: csv})
	return nil
}
