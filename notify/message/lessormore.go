package message

import (
	"fmt"

	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// lessOrMore is the due clients' plans together in three rows: what must be,
// what is suggested, what lasts longer. A client without a plan of a kind counts
// with what is suggested.
func (r *Round) lessOrMore(p *page.Page, t notation) {
	table := page.Table{Columns: page.Columns("Plan", "#Pieces, "+noName, "#Price, cost")}
	choice := false
	for _, kind := range reorder.ChoiceKinds() {
		var sum reorder.Choice
		priced := true
		for i := range r.Due {
			c, found := planOf(r.Due[i].Proposal, kind)
			choice = choice || found
			sum.Pieces, sum.Unnamed, sum.Cost, sum.Price = sum.Pieces+c.Pieces, sum.Unnamed+c.Unnamed, sum.Cost+c.Cost,
				sum.Price+c.Price
			priced = priced && c.Price > 0
		}
		price := "not all known"
		if priced {
			price = t.money(sum.Price)
		}
		table.Row(kind.Words(), page.Plain(fmt.Sprint(sum.Pieces)).Below(page.Quiet(fmt.Sprint(sum.Unnamed))),
			page.Plain(price).Below(page.Quiet(t.money(sum.Cost))))
	}
	if choice {
		p.Say("Less or more:")
		p.Add(table)
	}
}

// planOf returns a proposal's plan of a kind; what is suggested is the proposal
// itself, at the prices of the sheets that were laid out, as is a kind that it lacks.
func planOf(p *reorder.Proposal, kind reorder.ChoiceKind) (c reorder.Choice, found bool) {
	if c, ok := p.Plan(kind); ok && kind != reorder.Suggested {
		return c, true
	}
	n := nobodyOf(p)
	return reorder.Choice{Pieces: p.Pieces(), Unnamed: n.starters + n.spare, Cost: p.Cost(), Price: p.Price}, false
}
