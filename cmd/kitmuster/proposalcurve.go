package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// curveJSON is the shape of 'proposal curve --json', format 1.
type curveJSON struct {
	Format   int              `json:"format"`
	Proposal int64            `json:"proposal"`
	Plans    []reorder.Choice `json:"plans"`
	LateWeek programme.Money  `json:"late_week"`
}

func newProposalCurve(a *app) *cobra.Command {
	var budget string
	var asJSON bool
	c := &cobra.Command{
		Use:   "curve NUMBER",
		Short: "Show what less and what more than the proposal would cost, or the best for a sum of money",
		Long: `Shows three plans beside one another: what must be ordered until an order of the next
round would arrive, what is suggested, and what lasts longer. Each with its pieces and
how many of them nobody is named for, cost, price, when the next order would follow,
and what ordering so costs a year besides the goods: orders, keeping, missing pieces.
With --budget it adds the pieces of the proposal that are best for that money, freight
included, and what going without the others would cost. It changes nothing: 'kitmuster
proposal change' takes another plan with --plan must or longer, or with --budget, and so
does 'kitmuster proposal accept' with the client's yes.`,
		Example: "  kitmuster proposal curve 12\n  kitmuster proposal curve 12 --budget 400.00",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, args []string) error {
			number, err := readNumber(args[0])
			if err != nil {
				return err
			}
			var most programme.Money
			if budget != "" {
				if most, err = readBudget(budget); err != nil {
					return err
				}
			}
			return a.showCurve(ctx, b, number, most, asJSON)
		}),
	}
	c.Flags().StringVar(&budget, "budget", "", "add the best part of the proposal for this much money")
	jsonFlag(c, &asJSON)
	return c
}

func (a *app) showCurve(ctx context.Context, b *books.Books, number int64, budget programme.Money, asJSON bool) error {
	p, err := b.Store.Proposal(ctx, number)
	if err != nil {
		return err
	}
	plans := append([]reorder.Choice{}, p.Curve...)
	if budget > 0 {
		plans = append(plans, p.Within(budget))
	}
	if len(plans) == 0 {
		return fmt.Errorf("proposal %d is from before plans were compared; run a round for its client", number)
	}
	if asJSON {
		return writeJSON(a.out, curveJSON{1, number, plans, p.LateWeek})
	}
	return draw(a.out, message.Curve(b.Shop, b.ClientName(ctx, p.Client), &p, plans))
}
