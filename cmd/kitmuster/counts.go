package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
)

func newCountsCommand(a *app) *cobra.Command {
	c := group("counts", "See which counts are asked for, and stop one",
		"  kitmuster counts list\n  kitmuster counts drop bakery")
	c.AddCommand(newCountsListCommand(a), newCountsDropCommand(a))
	return c
}

func newCountsListCommand(a *app) *cobra.Command {
	var asOf string
	c := &cobra.Command{
		Use:   "list",
		Short: "Show the newest count of each client: what it asks for, and what it saves",
		Long: `Shows for each client the newest count that a round has announced: how many rows it
asks for, when its forms go out and are to be back, what it is expected to save in the
order after it, the minutes it takes paid, and whether it came back. A count asks for
a part only: the people and garments of which knowing more is worth most.
'kitmuster ledger import CLIENT FORM.xlsx' takes a form that came back.
'kitmuster counts drop CLIENT' stops one.`,
		Example: "  kitmuster counts list",
		RunE: a.onBooksAsOf(&asOf, func(ctx context.Context, b *books.Books, day programme.Date, _ []string) error {
			return a.listCounts(ctx, b, day)
		}),
	}
	dayFlag(c, &asOf, "as-of", "date")
	return c
}

func (a *app) listCounts(ctx context.Context, b *books.Books, day programme.Date) error {
	clients, err := b.Store.Clients(ctx)
	if err != nil {
		return err
	}
	t := page.Table{Columns: page.Columns("Client", "#Rows", "Forms go out", "Back by", "#Saves about", "State"),
		Empty: "No count is asked for."}
	for _, c := range clients {
		plan, ok, err := b.Store.LastCountPlan(ctx, c.Code, day)
		if err != nil {
			return err
		}
		if !ok {
			continue
		}
		state, err := countState(ctx, b, &plan, day)
		if err != nil {
			return err
		}
		saves := ""
		if !plan.Asks.Assumed {
			saves = plan.Asks.Saving.In(b.Shop.Currency)
		}
		t.Row(b.ClientName(ctx, c.Code), len(plan.Asks.Rows), b.Shop.DateStyle.Date(plan.SendOn),
			b.Shop.DateStyle.Date(plan.ReturnBy), saves, state)
	}
	show(a.out, t)
	return nil
}

// countState returns the state of a count in words.
func countState(ctx context.Context, b *books.Books, plan *store.CountPlan, day programme.Date) (string, error) {
	sent, err := b.Store.LastCountForm(ctx, plan.Client, day)
	if err != nil {
		return "", err
	}
	moves, err := b.Store.Movements(ctx, plan.Client)
	if err != nil {
		return "", err
	}
	came := plan.Came(moves, day)
	switch {
	case plan.Back(came):
		return "came back", nil
	case came > 0:
		return fmt.Sprintf("%d of %d rows came", came, len(plan.Asks.Rows)), nil
	case plan.Dropped:
		return "stopped", nil
	case sent < plan.Announced:
		return "announced", nil
	case day > plan.ReturnBy:
		return "overdue", nil
	}
	return "out", nil
}

func newCountsDropCommand(a *app) *cobra.Command {
	var asOf string
	c := &cobra.Command{
		Use:   "drop CLIENT",
		Short: "Stop the count that is announced for a client",
		Long: `Stops the newest count of a client: its forms do not go out, no order waits for it, and
the next one comes a cycle later. Forms that went out already are not called back; what
comes back is taken all the same.`,
		Example: "  kitmuster counts drop bakery",
		RunE: a.onBooksAsOf(&asOf, func(ctx context.Context, b *books.Books, day programme.Date, args []string) error {
			if _, err := b.Client(ctx, args[0]); err != nil {
				return err
			}
			plan, ok, err := b.Store.LastCountPlan(ctx, args[0], day)
			if err != nil {
				return err
			}
			if !ok || plan.Dropped {
				return fmt.Errorf("no count is announced for %s", b.ClientName(ctx, args[0]))
			}
			if err := b.Store.InTx(ctx,
				func(tx *store.Tx) error { return tx.DropCountPlan(args[0], plan.Announced) }); err != nil {
				return err
			}
			fmt.Fprintf(a.out, "The count of %s announced on %s is stopped.\n", b.ClientName(ctx, args[0]),
				b.Shop.DateStyle.Date(plan.Announced))
			return nil
		}),
	}
	dayFlag(c, &asOf, "as-of", "date")
	return c
}
