package message

import (
	"cmp"
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// ComposeReorder writes one client's reorder: to the manager who looks after
// the client, with a line on what to do above a rule, and below it what the
// customer reads. Forward is the same without that line.
func ComposeReorder(r Reorder) (Mail, error) {
	o, err := r.offer()
	if err != nil {
		return Mail{}, fmt.Errorf("compose proposal %d: %w", r.Proposal.Number, err)
	}
	m := Mail{Kind: KindReorder, ID: r.name(), To: []programme.Contact{r.manager()}, Subject: o.subject()}
	if err := o.papers(&m); err != nil {
		return Mail{}, fmt.Errorf("compose proposal %d: %w", r.Proposal.Number, err)
	}
	letter := page.Page{Title: m.Subject}
	o.letter(&letter)
	forward := m
	forward.Warnings, forward.To = nil, o.recipients()
	if err := forward.write(letter); err != nil {
		return Mail{}, err
	}
	m.Forward = &forward
	note := page.Page{Title: m.Subject}
	note.Aside("%s", o.toForward())
	note.Add(page.Rule{})
	note.Add(letter.Blocks...)
	return m, m.write(note)
}

// offer is a reorder as the customer is to see it.
type offer struct {
	*Reorder
	t notation
	d distribution
	// sale is the order with its tax and total; priced reports that prices may be shown.
	sale   programme.Sale
	priced bool
}

func (r *Reorder) offer() (*offer, error) {
	t := notation{shop: r.Shop, client: r.Client, near: r.Proposal.AsOf}
	d, err := r.distribute(t)
	if err != nil {
		return nil, err
	}
	var sold []programme.Sold
	for i := range r.Proposal.Lines {
		l := &r.Proposal.Lines[i]
		sold = append(sold, programme.Sold{Garment: l.Garment, Amount: l.UnitPrice * programme.Money(l.Order)})
	}
	return &offer{Reorder: r, t: t, d: d, sale: r.Shop.Sale(r.Client, sold), priced: r.priced()}, nil
}

// priced reports whether the customer reads prices: every piece must have one.
func (r *Reorder) priced() bool { return r.Client.ShowPrices && r.Proposal.Priced() }

// manager returns the person of the shop who looks after the client; the owner where nobody is named.
func (r *Reorder) manager() programme.Contact { return managerOf(r.Shop, r.Client) }

func managerOf(shop *programme.Shop, client *programme.Client) programme.Contact {
	if m, ok := shop.Manager(client.Manager); ok && m.Email != "" {
		return m.Contact
	}
	return shop.Owner
}

// recipients returns the contacts of the customer to whom the offer goes: who says yes,
// and the contacts for all sites.
func (r *Reorder) recipients() []programme.Contact {
	out := []programme.Contact{r.Client.Customer}
	for _, c := range r.Client.Contacts {
		if c.Site == "" {
			out = append(out, c.Contact)
		}
	}
	return out
}

func (o *offer) subject() string {
	price := ""
	if o.priced {
		price = ", " + o.t.money(o.sale.Total)
	}
	form := ""
	if o.Before != nil {
		form = fmt.Sprintf(" (form %d)", o.Proposal.Form())
	}
	return fmt.Sprintf("%s: %s%s. Yes by %s?%s", clientName(o.Client), programme.NumberOf(o.Proposal.Pieces(), "piece"),
		price, o.t.day(o.Proposal.OrderBy), form)
}

// toForward tells the manager what to do with the mail.
func (o *offer) toForward() string {
	var names []string
	for _, c := range o.recipients() {
		names = append(names, nameAndAddress(c))
	}
	return fmt.Sprintf("Please send what is below the line to %s. The attached draft is the same, ready to go. %s.%s",
		strings.Join(names, "; "), o.numbered(), o.unanswered())
}

// letter says what the customer reads: nothing in it is a cost, a margin or a note of the shop.
func (o *offer) letter(p *page.Page) {
	p.Aside("%s", clean.Short(o.Shop.Name))
	p.Say("%s", hello(o.Client.Customer.Name))
	o.since(p)
	here := "here"
	if o.Before != nil {
		here = "Here"
	}
	if o.byName() {
		p.Say("%s is what %s.", here, o.stillNeed())
	} else if o.onlyMissing() {
		p.Say("%s is what is missing from your people's kits.", here)
	} else {
		p.Say("%s is what your people will probably need until %s.", here, o.t.day(o.Proposal.CoverUntil))
	}
	p.Add(o.goods())
	for _, s := range o.purpose() {
		p.Say("%s", s)
	}
	p.Add(page.Facts{Pairs: []page.Fact{
		{Label: "Answer by", Value: o.t.day(o.Proposal.OrderBy), Strong: true},
		{Label: "In your hands", Value: o.t.day(o.Proposal.Arrives), Strong: true},
	}}, o.answers())
	if late := o.waiting(); late != "" {
		p.Aside("%s", late)
	}
	if !o.byName() && !o.onlyMissing() {
		p.Aside("When it comes: swap one for one; what still looks good stays.")
	}
	o.why(p)
	o.forWhom(p)
	o.fewer(p)
	o.held(p)
	o.conditions(p)
	p.Aside("Attached: the order form to sign (PDF), who gets what (CSV), both dates for your calendar.")
	p.Add(regards(clean.Short(o.manager().Name), clean.Short(o.Shop.Name)))
}

// goods returns the order in a line a garment, with what it comes to.
func (o *offer) goods() page.Table {
	t := page.Table{Columns: page.Columns("#", "")}
	if o.priced {
		t.Columns = page.Columns("#", "", "#")
	}
	amount := func(m programme.Money) []any {
		if !o.priced {
			return nil
		}
		return []any{o.t.money(m)}
	}
	for _, g := range o.garments() {
		t.Row(append([]any{g.n, o.t.garment(g.code)}, amount(g.price)...)...)
	}
	if !o.priced {
		t.Sum(o.Proposal.Pieces(), "together")
		return t
	}
	if o.sale.Delivery > 0 {
		t.Row("", "delivery", o.t.money(o.sale.Delivery))
	}
	for _, x := range o.sale.Taxes {
		t.Row("", o.taxWords(&x), o.t.money(x.Amount))
	}
	t.Sum(o.Proposal.Pieces(), "together", o.t.money(o.sale.Total))
	return t
}

func (o *offer) taxWords(x *programme.TaxDue) string {
	if o.sale.TaxIncluded {
		return fmt.Sprintf("of this %s, %s", clean.Short(x.Name), percent(x.Percent))
	}
	return fmt.Sprintf("%s, %s", clean.Short(x.Name), percent(x.Percent))
}

// ofGarment is the pieces of one garment in the order.
type ofGarment struct {
	code  string
	n     int
	price programme.Money
}

func (o *offer) garments() []ofGarment {
	var out []ofGarment
	for _, table := range o.t.sizeTables(orders(o.Proposal)) {
		g := ofGarment{code: table.code, n: table.Total}
		for i := range o.Proposal.Lines {
			if l := &o.Proposal.Lines[i]; l.Garment == g.code {
				g.price += l.UnitPrice * programme.Money(l.Order)
			}
		}
		out = append(out, g)
	}
	return out
}

// answers returns the ways to answer, each with its mail filled in.
func (o *offer) answers() page.Answers {
	to, p := clean.Line(cmp.Or(o.ReturnTo.Address, o.manager().Email)), o.Proposal
	mark := ""
	if o.ReturnTo.Mark != "" {
		mark = " [" + clean.Line(o.ReturnTo.Mark) + "]"
	}
	number := "Order number, if any: " + clean.Short(o.Client.OrderNumber)
	all := fmt.Sprintf("Yes, all %d", p.Pieces())
	opens := "Each opens a filled-in mail to " + cmp.Or(clean.Short(o.manager().Name), clean.Line(o.manager().Email)) +
		"."
	return page.Answers{Links: opens, List: []page.Answer{
		{Words: all, To: to, Subject: "Yes to " + o.said() + mark,
			Body: fmt.Sprintf("Yes, please go ahead with %s: %s.\n\nName:\n%s\n", o.said(),
				programme.NumberOf(p.Pieces(), "piece"), number)},
		{Words: "Change something", To: to, Subject: "Changes to " + o.said() + mark,
			Body: fmt.Sprintf("Yes to %s, with these changes:\n\n\n(Or attach the list with other numbers in it.)\nName:\n%s\n", o.said(), number)},
		{Words: "Not now", To: to, Subject: fmt.Sprintf("Not now: proposal %d", p.Number) + mark,
			Body: fmt.Sprintf("Not now, thank you. Please ask again about proposal %d on:\n\nBecause:\n", p.Number)},
	}}
}

// waiting says what a week's delay may leave missing.
func (o *offer) waiting() string {
	var parts []string
	for _, x := range o.t.reasonPieces(o.Proposal, reorder.ShortestLine) {
		parts = append(parts, fmt.Sprintf("%d × %s", x.n, o.t.what(x.SKU)))
	}
	if len(parts) == 0 {
		return ""
	}
	return "Waiting a week may leave about " + sentence(parts) + " missing."
}

func hello(name string) string {
	if name = clean.Short(name); name != "" {
		return "Dear " + name + ","
	}
	return "Good day,"
}

// held names protective clothing that is probably due and not in the order.
func (o *offer) held(p *page.Page) {
	held := o.t.holdWords(o.Proposal.Holds)
	if len(held) == 0 {
		return
	}
	p.Heading(2, "Not part of this order")
	p.List(held)
	p.Add(page.Caution{Words: heldForClient})
}

// conditions are the terms of the sale and who else must say yes.
func (o *offer) conditions(p *page.Page) {
	for _, s := range o.terms() {
		p.Aside("%s", s)
	}
}

func (o *offer) terms() []string {
	var out []string
	add := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	terms, c := &o.Shop.Terms, o.Client
	if o.priced && len(terms.Taxes) > 0 && !c.TaxFree {
		if terms.TaxIncluded {
			add("Prices include tax.")
		} else {
			add("Prices are without tax, which is added in the total.")
		}
	}
	if from := o.Proposal.NewPrice(o.Client, o.Proposal.AsOf.Add(NewPriceDays)); o.priced && !from.IsZero() {
		add("These are the prices for a yes before %s; from that day on others hold.", o.t.day(from))
	}
	if terms.Payment != "" {
		add("Payment: %s.", strings.TrimSuffix(clean.Line(terms.Payment), "."))
	}
	if c.Budget > 0 && o.priced {
		add("%s", o.againstBudget())
	}
	if c.Approver.Name != "" {
		add("A second yes is needed from %s.", nameAndAddress(c.Approver))
	}
	return out
}

func (o *offer) againstBudget() string {
	b := o.Client.Budget
	if over := o.sale.Total - b; over > 0 {
		return fmt.Sprintf("This is %s above your budget of %s an order.", o.t.money(over), o.t.money(b))
	}
	return fmt.Sprintf("Within your budget of %s an order.", o.t.money(b))
}
