package message

import (
	"fmt"

	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Curve shows the plans that a proposal was chosen from, for the owner: it shows costs.
func Curve(shop *programme.Shop, client string, p *reorder.Proposal, choices []reorder.Choice) page.Page {
	t := notation{shop: shop}
	var out page.Page
	out.Say("Proposal %d for %s, decided on %s", p.Number, client, t.date(p.AsOf))
	out.Add(t.curve(choices))
	for i := range choices {
		if choices[i].Kind == reorder.WithinMoney {
			t.budget(&out, p, &choices[i])
		}
	}
	for _, w := range t.curveWords(p) {
		out.Say("%s", w)
	}
	return out
}

// curve returns a row for each plan.
func (t notation) curve(choices []reorder.Choice) page.Table {
	table := page.Table{Columns: page.Columns("Plan", "#Pieces", "#For starters", "#Spare", "#Cost", "#Price",
		"Next order about", "#Cost a year besides goods")}
	for _, c := range choices {
		price := ""
		if c.Price > 0 {
			price = t.money(c.Price)
		}
		next, year := "", ""
		if c.Kind != reorder.WithinMoney {
			next, year = t.day(c.NextOrder), t.money(c.CostYear)
		}
		table.Row(c.Kind.Words(), c.Pieces, c.Starters, c.Unnamed-c.Starters, t.money(c.Cost), price, next, year)
	}
	return table
}

// budget says which pieces are best for a sum of money, and what those left out are
// missed for.
func (t notation) budget(out *page.Page, p *reorder.Proposal, c *reorder.Choice) {
	if c.Pieces == 0 {
		out.Say("That money buys nothing: freight alone comes to %s.", t.money(p.Freight))
		return
	}
	var lines []tally
	for _, l := range c.Lines {
		lines = append(lines, tally{l.SKU, l.Pieces})
	}
	out.Say("For that money: %s.", sentence(t.pieceWords(lines)))
	if left := p.Pieces() - c.Pieces; left > 0 {
		out.Say("Going without the other %s would cost %s in missing pieces until %s, if no other order follows sooner.",
			programme.NumberOf(left, "piece"), t.about(c.Missed), t.day(p.CoverUntil))
	}
}

// curveWords say what the plans are weighed by.
func (t notation) curveWords(p *reorder.Proposal) []string {
	o := p.OrderCost
	if o.Sum() == 0 {
		return nil // a proposal from before this was reckoned
	}
	out := []string{fmt.Sprintf("An order of this client costs %s whatever is in it (%s of your time, %s freight, %s set-ups).",
		t.money(o.Sum()), t.money(o.Handling), t.money(o.Freight), t.money(o.SetUp))}
	if p.LateWeek > 0 {
		out = append(out, fmt.Sprintf("Each week that this order comes later costs %s in missing pieces.",
			t.about(p.LateWeek)))
	}
	return out
}

// since says what has made an order necessary in the cover of the last one.
func (t notation) since(p *reorder.Proposal, people []programme.Person) []string {
	name := func(staff string) string { return personName(people, staff) }
	var out []string
	for _, h := range p.Events {
		out = append(out, h.Words(name, t.day, t.what))
	}
	return out
}
