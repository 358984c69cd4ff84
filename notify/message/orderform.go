package message

import (
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// form returns the paper that the customer signs; it shows what the mail shows.
func (o *offer) form() *document.OrderForm {
	p := o.Proposal
	form := &document.OrderForm{
		Head:  o.head(),
		Title: "Uniform order form",
		Facts: []page.Fact{
			{Label: "Proposal", Value: o.formNumber()}, {Label: "For", Value: o.forName()},
			{Label: "Please answer by", Value: o.t.day(p.OrderBy)},
			{Label: "In your hands, if answered by then", Value: o.t.day(p.Arrives)},
		},
		Lines: o.orderLines(), Notes: append(o.purpose(), o.terms()...), ReturnTo: nameAndAddress(o.manager()),
		OrderNumber: clean.Short(o.Client.OrderNumber), Approver: clean.Short(o.Client.Approver.Name),
		Pieces: programme.NumberOf(p.Pieces(), "piece"), Seller: []string{clean.Line(o.Shop.Terms.Address),
			clean.Line(o.Shop.Terms.Registration)},
		Ref: clean.Short(o.Shop.Name) + " · " + o.said(),
	}
	if held := o.t.holdWords(p.Holds); len(held) > 0 {
		form.Notes = append(form.Notes, "Not part of this order: "+strings.Join(held, " ")+" "+heldForClient)
	}
	form.Questions = o.questions()
	form.People = o.peopleTable()
	return form
}

// formNumber tells one form of a proposal from another.
func (o *offer) formNumber() string {
	p := o.Proposal
	if p.Form() > 1 {
		return fmt.Sprintf("%d, form %d of %s", p.Number, p.Form(), o.t.date(p.AsOf))
	}
	return fmt.Sprintf("%d, made on %s", p.Number, o.t.date(p.AsOf))
}

func (o *offer) head() document.Head {
	return document.NewHead(o.Shop, clientName(o.Client), o.Proposal.AsOf)
}

// whyOnForm is the greatest number of people who have each piece on a line of its own with its reason on the form.
// Where there are more, a person has one line, and the reasons stand in the list.
const whyOnForm = 40

// peopleTable returns everybody who gets something, in the order of the mail; a
// person's further pieces stand below the first.
func (o *offer) peopleTable() page.Table {
	t := page.Table{Columns: []page.Column{{Head: "Name", Share: 0.21}, {Head: "Site and role", Share: 0.2},
		{Head: "Pieces", Share: 0.39}, {Head: "Why"}}}
	short := len(o.d.people) > whyOnForm
	if short {
		t.Columns = append(t.Columns[:2], page.Column{Head: "Pieces; why stands in the list"})
	}
	head := o.head()
	for i := range o.d.people {
		row := &o.d.people[i]
		name := row.Name
		if !head.Shows(name) {
			name += " (" + clean.Short(row.StaffID) + ")" // the number tells who it is where letters are missing
		}
		if short {
			t.Row(name, row.Group, row.pieces(o.t))
			continue
		}
		var what, why []string
		for j := range row.named {
			n := &row.named[j]
			what = append(what, fmt.Sprintf("%d × %s", n.Pieces, row.what(o.t, n.SKU)))
			why = append(why, o.t.reason(o.People, n))
		}
		t.Row(name, row.Group, strings.Join(what, "\n"), strings.Join(why, "\n"))
	}
	return t
}

// heldForClient stands where a customer reads of protective clothing.
const heldForClient = "These are probably due too. We do not order protective clothing without a word from you: please look at the garments and their labels, ask their maker, and follow your local safety rules."

func (r *Reorder) forName() string {
	if n := clean.Short(r.Client.Customer.Name); n != "" {
		return clientName(r.Client) + ", " + n
	}
	return clientName(r.Client)
}

// orderLines returns a line a garment, colour and size, with prices where they are shown.
func (o *offer) orderLines() page.Table {
	lines := slices.Clone(o.Proposal.Lines)
	slices.SortStableFunc(lines, func(a, b reorder.Line) int { return o.t.compare(a.SKU, b.SKU) })
	table := page.Table{Columns: []page.Column{{Head: "Garment"}, {Head: "Colour", Share: 0.17},
		{Head: "Size", Share: 0.13}, {Head: "Pieces", Share: 0.1, Right: true}}}
	if o.priced {
		table.Columns = append(table.Columns, page.Column{Head: "Each", Share: 0.12, Right: true},
			page.Column{Head: "Amount", Share: 0.14, Right: true})
	}
	for i := range lines {
		l := &lines[i]
		if l.Order == 0 {
			continue
		}
		row := []any{o.t.garment(l.Garment), clean.Short(l.Colour), o.t.sizeName(l.SKU), l.Order}
		if o.priced {
			row = append(row, o.t.money(l.UnitPrice), o.t.money(l.UnitPrice*programme.Money(l.Order)))
		}
		table.Row(row...)
	}
	if !o.priced {
		table.Sum("Together", "", "", o.Proposal.Pieces())
		return table
	}
	if o.sale.Delivery > 0 {
		table.Row("Delivery", "", "", "", "", o.t.money(o.sale.Delivery))
	}
	for _, x := range o.sale.Taxes {
		table.Row(clean.Sentence(o.taxWords(&x)), "", "", "", "on "+o.t.money(x.On), o.t.money(x.Amount))
	}
	table.Sum("Together", "", "", o.Proposal.Pieces(), "", o.t.money(o.sale.Total))
	return table
}

func (t notation) sizeName(k programme.SKU) string {
	if t.oneSize(k) {
		return oneSizeName
	}
	return clean.Short(k.Size)
}
