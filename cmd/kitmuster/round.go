package main

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func newRoundCommand(a *app) *cobra.Command {
	var asOf string
	var dry, asJSON bool
	c := &cobra.Command{
		Use:   "round [CLIENT ...]",
		Short: "Look at every client now: propose reorders, lay out sheets, write the mails",
		Long: `Runs one round now, over all clients or those named: works out who is due, what to
order for whom, and the transfer sheets for all of it; stores the proposals and
puts the mails into the outbox. It orders nothing. What it replaces (proposals
nobody answered) lapses. With --dry-run it shows the result and stores nothing.

Next: 'kitmuster mail list' shows the mails, 'kitmuster proposal list' the proposals.`,
		Example: "  kitmuster round --dry-run\n  kitmuster round",
		RunE: a.onBooksAsOf(&asOf, func(ctx context.Context, b *books.Books, day programme.Date, args []string) error {
			plan, err := a.runRound(ctx, b, day, dry, args)
			if err != nil {
				return err
			}
			if asJSON {
				return writeJSON(a.out, roundJSON(plan))
			}
			printRound(a.out, b.Shop, plan)
			if dry {
				fmt.Fprintln(a.out, "\nNothing was stored: this was a dry run.")
			}
			return nil
		}),
	}
	dayFlag(c, &asOf, "as-of", "date of the round")
	c.Flags().BoolVar(&dry, "dry-run", false, "show what the round would come to and store nothing")
	c.Flags().BoolVar(&asJSON, "json", false, "print the proposals and sheets for other programs")
	return c
}

// runRound makes a round and, unless dry, stores it with its mails.
func (a *app) runRound(ctx context.Context, b *books.Books, day programme.Date, dry bool,
	clients []string) (*round.Plan, error) {
	cfg, err := config.ReadFolder(b.Home, b.Zone())
	if err != nil {
		return nil, err
	}
	b.Search = cfg.Limits.Tries
	if dry {
		return round.Make(ctx, b, day, clients...)
	}
	res, err := round.Run(ctx, b, round.Options{AsOf: day, Clients: clients, From: daemon.From(cfg, b.Shop),
		Now: a.clock()})
	if err != nil {
		return nil, err
	}
	return res.Plan, a.handOut(ctx, b, cfg, res.Messages)
}

// handOut writes mails to the folder at once; what goes to a mail server is
// left to the service, so that two hands never send the same message.
func (a *app) handOut(ctx context.Context, b *books.Books, cfg *config.Config, messages []round.Message) error {
	mails, drafts := lettersOf(messages)
	if cfg.Mail.Server != "" {
		fmt.Fprintf(a.err, "%s put into the outbox; the service sends them, or 'kitmuster mail flush' does.\n",
			programme.NumberOf(mails, "mail"))
		return delivery.WriteFiles(ctx, b, a.now)
	}
	courier := daemon.Courier(b.Home, cfg, b.Store, daemon.Sender(b.Home, cfg), a.now)
	courier.Log = slog.New(slog.DiscardHandler) // what the log would say is said below
	report, err := courier.Run(ctx)
	if err != nil {
		return fmt.Errorf("write the mails: %w", err)
	}
	if why := cmp.Or(report.Why, report.Unwritten); why != "" {
		return fmt.Errorf("the round is stored, but not all of its mails could be written: %s; they wait, and 'kitmuster mail flush' writes them", why)
	}
	words := fmt.Sprintf("%s written to %s", programme.NumberOf(mails, "mail"), config.Under(b.Home, cfg.Mail.Folder))
	if drafts > 0 {
		words += fmt.Sprintf(", %s for customers to %s", programme.NumberOf(drafts, "draft"),
			filepath.Join(b.Home, books.DraftsDir))
	}
	fmt.Fprintln(a.err, words+".")
	return nil
}

// lettersOf counts the mails of a round, and the drafts that people send themselves.
func lettersOf(messages []round.Message) (mails, drafts int) {
	for i := range messages {
		for _, l := range messages[i].Letters {
			if l.Way == outbox.Draft {
				drafts++
			} else {
				mails++
			}
		}
	}
	return mails, drafts
}

// roundDocument is the JSON shape of a round.
type roundDocument struct {
	Format    int                 `json:"format"`
	AsOf      programme.Date      `json:"as_of"`
	Proposals []*reorder.Proposal `json:"proposals"`
	NextDue   map[string]any      `json:"next_due"`
	Sheets    any                 `json:"sheets"`
}

func roundJSON(p *round.Plan) roundDocument {
	doc := roundDocument{Format: 1, AsOf: p.AsOf, Proposals: []*reorder.Proposal{}, NextDue: map[string]any{},
		Sheets: p.Sheets}
	for i := range p.Entries {
		e := &p.Entries[i]
		if e.Proposal != nil {
			doc.Proposals = append(doc.Proposals, e.Proposal)
		} else {
			doc.NextDue[e.Client.Code] = e.Decision.NextDue
		}
	}
	return doc
}

// printRound writes the round for a person at a terminal.
func printRound(w io.Writer, shop *programme.Shop, p *round.Plan) {
	money := func(m programme.Money) string { return m.In(shop.Currency) }
	due := 0
	var cost, price programme.Money
	known := true
	t := page.Table{Columns: page.Columns("Due", "Client", "#Pieces", "Yes by", "In hands", "#Cost", "#Price",
		"#Margin", "")}
	for i := range p.Entries {
		e := &p.Entries[i]
		if e.Proposal == nil {
			continue
		}
		due++
		cost, price = cost+e.Proposal.Cost(), price+e.Proposal.Price
		number := "new"
		if e.Proposal.Number > 0 {
			number = fmt.Sprintf("no. %d", e.Proposal.Number)
		}
		known = known && e.Proposal.Priced()
		row := []any{number, e.Client.Name, e.Proposal.Pieces(), shop.DateStyle.Date(e.Proposal.OrderBy),
			shop.DateStyle.Date(e.Proposal.Arrives), money(e.Proposal.Cost())}
		t.Row(append(append(row, income(shop, e.Proposal.Priced(), e.Proposal.Price, e.Proposal.Margin())...),
			urgency(shop, e.Proposal))...)
	}
	verb := "are"
	if due == 1 || len(p.Entries) == 1 {
		verb = "is"
	}
	fmt.Fprintf(w, "Round of %s: %d of %s %s due.\n", shop.DateStyle.Date(p.AsOf), due,
		programme.NumberOf(len(p.Entries), "client"), verb)
	if due > 0 {
		fmt.Fprintln(w)
		t.Sum(append(append([]any{"", "together", "", "", "", money(cost)}, income(shop, known, price, price-cost)...),
			"")...)
		show(w, t)
	}
	for i := range p.Sheets.Orders {
		o := &p.Sheets.Orders[i]
		amount, of := programme.NumberOf(o.Sheets(), "sheet"), "sheets"
		if o.Length > 0 {
			amount, of = shop.Units.Length(o.Length)+" of roll", "roll"
		}
		fmt.Fprintf(w, "\nTransfers, %s: %s in %s for %s, %.0f %% of the %s used.\n", o.Kind, amount,
			programme.NumberOf(len(o.Layouts), "layout"), money(o.Cost.Total()), 100*o.Fill, of)
	}
	printNext(w, shop, p)
}

// income returns price and margin, where every piece has a selling price.
func income(shop *programme.Shop, known bool, price, margin programme.Money) []any {
	if !known {
		return []any{"not known", ""}
	}
	return []any{price.In(shop.Currency), margin.In(shop.Currency)}
}

// urgency marks what is late, and what could wait but is better ordered now.
func urgency(shop *programme.Shop, p *reorder.Proposal) string {
	switch {
	case p.Late:
		return "already late"
	case p.Pulled != nil:
		return "early: saves " + p.Pulled.Saving.In(shop.Currency)
	}
	return ""
}

func printNext(w io.Writer, shop *programme.Shop, p *round.Plan) {
	var next []*round.Entry
	for i := range p.Entries {
		if p.Entries[i].Proposal == nil {
			next = append(next, &p.Entries[i])
		}
	}
	if len(next) == 0 {
		return
	}
	slices.SortStableFunc(next,
		func(a, b *round.Entry) int { return cmp.Compare(a.Decision.NextDue, b.Decision.NextDue) })
	fmt.Fprintln(w, "\nNot due yet:")
	for _, e := range next {
		on := "not within two years"
		if !e.Decision.NextDue.IsZero() {
			on = "probably " + shop.DateStyle.Date(e.Decision.NextDue)
		}
		if remark := e.Remark(); remark != "" {
			on += "; " + remark
		}
		fmt.Fprintf(w, "  %s: %s\n", e.Client.Name, on)
	}
}
