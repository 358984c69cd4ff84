package message

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/notify/clean"
	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// orderForm is the paper that the customer signs; it shows what the mail shows.
func (r *Reorder) orderForm(t tongue, d distribution) *document.OrderForm {
	p, m := r.Proposal, r.manager()
	form := &document.OrderForm{
		Head:  document.Head{Shop: r.Shop.Name, Client: clientName(r.Client), Units: r.Shop.Units, AsOf: p.AsOf},
		Title: "Uniform order form",
		Facts: []page.Fact{
			{Label: "Proposal", Value: fmt.Sprintf("%d, made on %s", p.Number, t.date(p.AsOf))}, {Label: "For", Value: r.forWhom()},
			{Label: "Please answer by", Value: t.day(p.OrderBy)}, {Label: "In your hands, if answered by then", Value: t.day(p.Arrives)},
		},
		Lines: r.orderLines(t), ReturnTo: nameAndAddress(m),
		Ref: fmt.Sprintf("%s · proposal %d", clean.Short(r.Shop.Name), p.Number),
	}
	if w := d.poolWords(); w != "" {
		form.Notes = append(form.Notes, w)
	}
	if held := t.holdWords(p.Holds); len(held) > 0 {
		form.Notes = append(form.Notes, "Not part of this order: "+strings.Join(held, " ")+" "+heldForClient)
	}
	form.People = page.Table{Columns: []page.Column{{Head: "Name", Share: 0.25}, {Head: "Site", Share: 0.17}, {Head: "Pieces", Share: 0.3}, {Head: "Why"}}}
	for _, row := range d.people {
		name, site := row.Name, row.Site
		if !document.Shows(name) {
			name += " (" + clean.Short(row.id) + ")" // the number tells who it is where letters are missing
		}
		for _, x := range row.Items {
			form.People.Row(name, site, x.What, x.Why)
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
func (r *Reorder) orderLines(t tongue) page.Table {
	lines := slices.Clone(r.Proposal.Lines)
	slices.SortStableFunc(lines, func(a, b reorder.Line) int { return t.compare(a.SKU, b.SKU) })
	table := page.Table{Columns: []page.Column{{Head: "Garment"}, {Head: "Colour", Share: 0.17}, {Head: "Size", Share: 0.13}, {Head: "Pieces", Share: 0.1, Right: true}}}
	sum := []any{"Together", "", "", r.Proposal.Pieces()}
	priced := r.priced()
	if priced {
		table.Columns = append(table.Columns, page.Column{Head: "Each", Share: 0.12, Right: true}, page.Column{Head: "Amount", Share: 0.14, Right: true})
		sum = append(sum, "", t.money(r.Proposal.Price))
	}
	for i := range lines {
		l := &lines[i]
		if l.Order == 0 {
			continue
		}
		row := []any{t.garment(l.Garment), clean.Short(l.Colour), t.sizeName(l.SKU), l.Order}
		if priced {
			row = append(row, t.money(l.UnitPrice), t.money(l.UnitPrice*programme.Money(l.Order)))
		}
		table.Row(row...)
	}
	table.Sum(sum...)
	return table
}

func (t tongue) sizeName(k programme.SKU) string {
	if t.oneSize(k) {
		return "one size"
	}
	return clean.Short(k.Size)
}
