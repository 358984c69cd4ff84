package message

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/notify/clean"
	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// orderForm is the paper that the customer signs; it shows what the mail shows.
func (r *Reorder) orderForm(t tongue, d distribution, v *clientView) *document.OrderForm {
	p, m := r.Proposal, r.manager()
	form := &document.OrderForm{
		Head:  document.Head{Shop: r.Shop.Name, Client: clientName(r.Client), Units: r.Shop.Units, AsOf: p.AsOf},
		Title: "Uniform order form",
		Facts: [][2]string{
			{"Proposal", fmt.Sprintf("%d, made on %s", p.Number, t.date(p.AsOf))}, {"For", r.forWhom()},
			{"Please answer by", t.day(p.OrderBy)}, {"In your hands, if answered by then", t.day(p.Arrives)},
		},
		Lines: r.orderLines(t), ReturnTo: strings.TrimPrefix(clean.Short(m.Name)+", "+clean.Line(m.Email), ", "),
		Ref: fmt.Sprintf("%s · proposal %d", clean.Short(r.Shop.Name), p.Number),
	}
	if v.Pool != "" {
		form.Notes = append(form.Notes, v.Pool)
	}
	if len(v.Held) > 0 {
		form.Notes = append(form.Notes, "Not part of this order: "+strings.Join(v.Held, " ")+" "+heldForClient)
	}
	form.People = document.Table{Head: []string{"Name", "Site", "Pieces", "Why"}, Shares: []float64{0.25, 0.17, 0.3, 0.28}}
	for _, row := range d.people {
		name, site := row.Name, row.Site
		if !document.Shows(name) {
			name += " (" + clean.Short(row.id) + ")" // the number tells who it is where letters are missing
		}
		for _, x := range row.Items {
			form.People.Rows = append(form.People.Rows, []string{name, site, x.What, x.Why})
			name, site = "", "" // a person's further pieces stand below the first
		}
	}
	return form
}

// heldForClient stands where a customer reads of protective clothing.
const heldForClient = "These are probably due too. We do not order protective clothing without a word from you: please look at the garments and their labels, ask their maker, and follow your local safety rules."

func (r *Reorder) forWhom() string {
	if n := clean.Short(r.Client.Customer.Name); n != "" {
		return clientName(r.Client) + ", " + n
	}
	return clientName(r.Client)
}

// orderLines is a line a garment, colour and size, with prices where the programme shows them.
func (r *Reorder) orderLines(t tongue) document.Table {
	lines := slices.Clone(r.Proposal.Lines)
	slices.SortStableFunc(lines, func(a, b reorder.Line) int { return t.compare(a.SKU, b.SKU) })
	table := document.Table{Head: []string{"Garment", "Colour", "Size", "Pieces"}, Shares: []float64{0.46, 0.24, 0.15, 0.15}, Right: []bool{false, false, false, true}}
	priced := r.priced()
	if priced {
		table = document.Table{Head: []string{"Garment", "Colour", "Size", "Pieces", "Each", "Amount"}, Shares: []float64{0.34, 0.17, 0.13, 0.1, 0.12, 0.14}, Right: []bool{false, false, false, true, true, true}}
	}
	for i := range lines {
		l := &lines[i]
		if l.Order == 0 {
			continue
		}
		row := []string{t.garment(l.Garment), clean.Short(l.Colour), t.sizeName(l.SKU), fmt.Sprint(l.Order)}
		if priced {
			row = append(row, t.money(l.UnitPrice), t.money(l.UnitPrice*programme.Money(l.Order)))
		}
		table.Rows = append(table.Rows, row)
	}
	table.Foot = []string{"Together", "", "", fmt.Sprint(r.Proposal.Pieces())}
	if priced {
		table.Foot = append(table.Foot, "", t.money(r.Proposal.Price))
	}
	return table
}

func (t tongue) sizeName(k programme.SKU) string {
	if t.oneSize(k) {
		return "one size"
	}
	return clean.Short(k.Size)
}
