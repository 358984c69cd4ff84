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
	for _, w := range t.curveWords(p) {
		out.Say("%s", w)
	}
	return out
}

// curve returns a row for each plan.
func (t notation) curve(choices []reorder.Choice) page.Table {
	table := page.Table{Columns: page.Columns("Plan", "#Pieces", "#For starters", "#Spare", "#Cost", "#Price", "Next order about", "#Cost a year besides goods")}
	for _, c := range choices {
		price := ""
		if c.Price > 0 {
			price = t.money(c.Price)
		}
		table.Row(c.Kind.Words(), c.Pieces, c.Starters, c.Unnamed-c.Starters, t.money(c.Cost), price, t.day(c.NextOrder), t.money(c.CostYear))
	}
	return table
}

// curveWords say what the plans are weighed by.
func (t notation) curveWords(p *reorder.Proposal) []string {
	o := p.OrderCost
	if o.Sum() == 0 {
		return nil // a proposal from before this was reckoned
	}
	out := []string{fmt.Sprintf("An order of this client costs %s whatever is in it (%s of your time, %s freight, %s set-ups).", t.money(o.Sum()), t.money(o.Handling), t.money(o.Freight), t.money(o.SetUp))}
	if p.LateWeek > 0 {
		out = append(out, fmt.Sprintf("Each week that this order comes later costs about %s in missing pieces.", t.money(p.LateWeek)))
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
