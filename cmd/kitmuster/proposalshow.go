package main

import (
	"context"
	"fmt"
	"io"
	"time"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// proposalJSON is the shape of 'proposal show --json', format 1.
type proposalJSON struct {
	Format   int               `json:"format"`
	Proposal *reorder.Proposal `json:"proposal"`
	History  []stepJSON        `json:"history"`
}

type stepJSON struct {
	At   time.Time     `json:"at"`
	From reorder.State `json:"from,omitempty"`
	To   reorder.State `json:"to"`
	Note string        `json:"note,omitempty"`
}

func (a *app) showProposal(ctx context.Context, b *books.Books, number int64, explain, asJSON bool) error {
	p, err := b.Store.Proposal(ctx, number)
	if err != nil {
		return err
	}
	steps, err := b.Store.Steps(ctx, number)
	if err != nil {
		return err
	}
	if asJSON {
		history := make([]stepJSON, 0, len(steps))
		for _, s := range steps {
			history = append(history, stepJSON(s))
		}
		return writeJSON(a.out, proposalJSON{1, &p, history})
	}
	people, err := b.Store.People(ctx, p.Client)
	if err != nil {
		return err
	}
	page := proposalPage{w: a.out, shop: b.Shop, p: &p, names: namesOf(people)}
	page.head(clientName(ctx, b, p.Client))
	page.lines()
	page.people()
	page.held()
	page.money()
	page.history(steps)
	if explain {
		return a.explainProposal(ctx, b, &p, people)
	}
	return nil
}

// explainProposal prints the arithmetic behind every number.
func (a *app) explainProposal(ctx context.Context, b *books.Books, p *reorder.Proposal, people []programme.Person) error {
	client, err := b.Client(ctx, p.Client)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.out, "\n%s", message.Explain(b.Shop, client, p, people))
	return nil
}

func namesOf(people []programme.Person) map[string]string {
	out := make(map[string]string, len(people))
	for i := range people {
		out[people[i].StaffID] = people[i].Name
	}
	return out
}

// proposalPage writes one proposal for the owner.
type proposalPage struct {
	w     io.Writer
	shop  *programme.Shop
	p     *reorder.Proposal
	names map[string]string
}

func (g *proposalPage) printf(format string, args ...any) { fmt.Fprintf(g.w, format, args...) }

func (g *proposalPage) date(d programme.Date) string { return g.shop.DateStyle.Date(d) }

func (g *proposalPage) in(m programme.Money) string { return m.In(g.shop.Currency) }

func (g *proposalPage) head(client string) {
	p := g.p
	g.printf("Proposal %d for %s: %s\n\n", p.Number, client, p.State)
	g.printf("Decided on %s. A yes by %s brings %d pieces by %s; they are meant to last until %s.\n",
		g.date(p.AsOf), g.date(p.OrderBy), p.Pieces(), g.date(p.Arrives), g.date(p.CoverUntil))
	if p.Late {
		g.printf("Even an order of that day comes late: until it arrives the shelf falls below the target. The sooner the better.\n")
	}
	g.printf("Needs met from the shelf: %s until an order of the next round would arrive, %s over the cover with this order (target %s).\n",
		share(p.FillNow), share(p.FillAfter), share(p.TargetFill))
	if p.Pulled != nil {
		g.printf("Not due before %s; ordering now with the others saves %s (%s)%s.\n", g.date(p.Pulled.NextDue), g.in(p.Pulled.Saving), pulledWords(p.Pulled.Reason), p.Pulled.Words(g.in))
	}
	for _, r := range p.Reasons {
		if r.Kind != reorder.BelowTarget && r.Kind != reorder.AboveTarget {
			g.printf("  %s\n", r.Words(func(k programme.SKU) string { return answer.Name(g.shop, k) }))
		}
	}
}

func pulledWords(reason string) string {
	switch reason {
	case reorder.SharesSheet:
		return "a sheet shared with others"
	case reorder.SharesMinimum:
		return "a supplier's minimum reached together"
	case reorder.SharesFreight:
		return "freight paid once or not at all"
	case reorder.SharesPrice:
		return "a better price for more blanks"
	}
	return reason
}

func share(x float64) string { return fmt.Sprintf("%.0f %%", 100*x) }

func (g *proposalPage) lines() {
	g.printf("\n")
	t := plainTable(g.w)
	t.AppendHeader(table.Row{"Garment", "Colour", "Size", "Expected", "At target", "On hand", "On order", "Owed", "Wanted", "Order", "From shelf", "Buy blanks", "Price each"})
	for i := range g.p.Lines {
		l := &g.p.Lines[i]
		t.AppendRow(table.Row{
			garmentName(g.shop, l.Garment), l.Colour, l.Size, fmt.Sprintf("%.1f", l.Expected), l.AtTarget, l.OnHand, l.OnOrder, blankZero(l.Owed),
			l.Wanted, l.Order, blankZero(l.BlanksOnShelf), blankZero(l.Buy), priced(g.shop, l.UnitPrice),
		})
	}
	alignRight(t, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13)
	t.Render()
}

// priced leaves the place of a price that nobody has set empty.
func priced(shop *programme.Shop, m programme.Money) string {
	if m == 0 {
		return ""
	}
	return m.In(shop.Currency)
}

func (g *proposalPage) people() {
	if len(g.p.Named) > 0 {
		g.printf("\nWho gets what:\n\n")
		t := plainTable(g.w)
		t.AppendHeader(table.Row{"Staff no.", "Name", "Garment", "Pieces", "Why", "Washes", "Half such pieces end by"})
		for _, n := range g.p.Named {
			t.AppendRow(table.Row{n.StaffID, g.names[n.StaffID], answer.Name(g.shop, n.SKU), n.Pieces, whyWords(n.Why), washWords(n), g.date(n.By)})
		}
		t.Render()
	}
	if len(g.p.Pool) > 0 {
		g.printf("\nFor the shelf:\n\n")
		t := plainTable(g.w)
		t.AppendHeader(table.Row{"Garment", "For new starters", "Spare"})
		for _, n := range g.p.Pool {
			t.AppendRow(table.Row{answer.Name(g.shop, n.SKU), blankZero(n.ForStarters), blankZero(n.Spare)})
		}
		t.Render()
	}
}

func whyWords(why string) string {
	switch why {
	case "worn":
		return "worn out"
	case "print":
		return "print going"
	case "mishap":
		return "may be lost or spoilt"
	case reorder.Owing:
		return "missing today"
	}
	return why
}

func washWords(n reorder.Named) string {
	if n.Why == reorder.Owing {
		return ""
	}
	return fmt.Sprintf("%.0f", n.Washes)
}

// held names the protective clothing that waits for a person.
func (g *proposalPage) held() {
	if len(g.p.Holds) == 0 {
		return
	}
	g.printf("\nHeld for a person's yes, not part of this order (protective clothing: its label, the maker and local rules decide on decoration and washes):\n")
	for _, h := range g.p.Holds {
		limit := ""
		if h.LabelWashes > 0 {
			limit = fmt.Sprintf(", label limit %.0f washes", h.LabelWashes)
		}
		g.printf("  %d × %s (%s%s)\n", h.Pieces, answer.Name(g.shop, h.SKU), h.Protective, limit)
	}
}

func (g *proposalPage) money() {
	p := g.p
	g.printf("\nCost %s: blanks %s, transfers %s, pressing %s (%.1f h), freight %s.", g.in(p.Cost()), g.in(p.Blanks), g.in(p.Transfers), g.in(p.Pressing), p.PressHours, g.in(p.Freight))
	if p.Priced() {
		g.printf(" Price %s, margin %s.\n", g.in(p.Price), g.in(p.Margin()))
	} else {
		g.printf(" Not every piece has a selling price in the programme, so no margin is stated.\n")
	}
	for _, s := range p.Suppliers {
		if s.ToFreeFreight > 0 {
			g.printf("%s more from %s in this round would make its freight free.\n", g.in(s.ToFreeFreight), g.supplier(s.Supplier))
		}
		if s.ToMinimum > 0 {
			g.printf("The round is %s short of the smallest order that %s takes.\n", g.in(s.ToMinimum), g.supplier(s.Supplier))
		}
	}
}

func (g *proposalPage) supplier(code string) string {
	if s, ok := g.shop.Supplier(code); ok && s.Name != "" {
		return s.Name
	}
	return code
}

func (g *proposalPage) history(steps []store.Step) {
	zone := zoneOf(g.shop)
	g.printf("\n")
	for _, s := range steps {
		note := ""
		if s.Note != "" {
			note = " (" + s.Note + ")"
		}
		at := s.At.In(zone)
		g.printf("%s %s: %s%s\n", g.date(programme.DateOf(at)), at.Format("15:04"), s.To, note)
	}
	switch g.p.State {
	case reorder.Drafted, reorder.Sent:
		g.printf("Next: kitmuster proposal accept %d, or decline\n", g.p.Number)
	case reorder.Accepted:
		g.printf("Next: kitmuster proposal ordered %d\n", g.p.Number)
	case reorder.Ordered:
		g.printf("Next: kitmuster proposal received %d\n", g.p.Number)
	case reorder.Declined, reorder.Received, reorder.Lapsed:
	}
}

// alignRight sets columns of figures to the right.
func alignRight(t table.Writer, columns ...int) {
	configs := make([]table.ColumnConfig, 0, len(columns))
	for _, n := range columns {
		configs = append(configs, table.ColumnConfig{Number: n, Align: text.AlignRight, AlignHeader: text.AlignRight})
	}
	t.SetColumnConfigs(configs)
}
