package main

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func newOrdersCommand(a *app) *cobra.Command {
	var with []string
	var try, room bool
	var on string
	c := &cobra.Command{
		Use:   "orders [NUMBER ...]",
		Short: "Write the orders to suppliers for accepted proposals, as drafts",
		Long: `Writes one mail draft to each supplier of blanks and each printer, for all accepted
proposals that are not ordered yet and all pieces that must be made again, or for the
proposals numbered, with lists, proofs and print files attached. Each order has a
number of its own. Sheets are laid out anew for these proposals alone, after what is
set aside for them: nothing is bought for a client who said no or has not answered.

It also says what the transfers of each undecided client would add now, and what they
would cost later by themselves; --with NUMBER prints them on the same sheets (blanks
are bought after the yes). Open a draft in your mail program, look at it, and send it.
Nothing is sent by itself, and writing the orders again replaces the drafts.

Where the sheets have room that is paid anyway, it says what else of the same clients
would be printed at no cost and from when on it would be used. With --room it is
printed too, and goes onto the shelf when the sheets arrive.

Next: 'kitmuster orders sent' once they are sent.`,
		Example:           "  kitmuster orders\n  kitmuster orders 12 13 --with 14 --room",
		ValidArgsFunction: a.completeProposals(reorder.Accepted),
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, args []string) error {
			w := supply.Wish{Try: try, Room: room}
			var err error
			if w.Numbers, err = readEach(args, readNumber); err != nil {
				return err
			}
			if w.With, err = readEach(with, readNumber); err != nil {
				return err
			}
			day, err := a.day(on)
			if err != nil {
				return err
			}
			cfg, err := config.ReadFolder(b.Home, b.Zone())
			if err != nil {
				return err
			}
			b.Search = cfg.Limits.Tries
			w.Spares = round.SparesOn(b, day)
			o, err := supply.Drafts(ctx, b, day, w)
			if err != nil {
				return err
			}
			return a.writeOrders(ctx, b, o, try)
		}),
	}
	dayFlag(c, &on, "on", "the day of the orders")
	c.Flags().StringSliceVar(&with, "with", nil,
		"a proposal without an answer whose transfers are printed as well; may be repeated")
	c.Flags().BoolVar(&room, "room", false, "print what fits on the sheets at no cost, too")
	c.Flags().BoolVar(&try, "dry-run", false, "show what would be ordered and write nothing")
	_ = c.RegisterFlagCompletionFunc("with", a.completeProposals(reorder.Unsettled()...))
	c.AddCommand(newOrdersList(a), newOrdersSent(a), newOrdersArrived(a))
	return c
}

// writeOrders commits the orders as drafts, writes them, and says where they lie.
func (a *app) writeOrders(ctx context.Context, b *books.Books, o *supply.Ordering, try bool) error {
	if len(o.Orders) == 0 {
		for _, n := range o.Proposals() {
			fmt.Fprintf(a.out, "Nothing is to be bought for proposal %d: all it needs is set aside. Next: kitmuster proposal ordered %d\n", n, n)
		}
		if len(o.Proposals()) == 0 {
			fmt.Fprintln(a.out,
				"No accepted proposal waits to be ordered. 'kitmuster proposal accept NUMBER' records a yes.")
		}
		return nil
	}
	var letters []outbox.Letter
	var err error
	if try {
		letters, err = o.Seal(b, a.clock())
	} else {
		if letters, err = o.Keep(ctx, b, a.clock()); err == nil {
			err = delivery.WriteFiles(ctx, b, a.now)
		}
	}
	if err != nil {
		return err
	}
	for i := range o.Orders {
		d := &o.Orders[i]
		when := d.When(d.AsOf, b.Shop.DateStyle.Date)
		if when != "" {
			when = "; " + when
		}
		fmt.Fprintf(a.out, "%s%s: %s%s\n", orderName(d, try), b.Shop.SupplierName(d.Supplier), d.Words(), when)
		if !try && letters[i].Name != "" {
			fmt.Fprintf(a.out, "  %s\n", filepath.Join(b.Home, books.DraftsDir, folder.DraftName(&letters[i])))
		}
		for _, w := range d.Mail.Warnings {
			fmt.Fprintln(a.out, "  "+w)
		}
		for _, so := range d.SheetOrders() {
			printRoom(a.out, b.Shop, &so.Plan.Order, "'kitmuster orders --room'")
		}
	}
	if len(o.Replaced) > 0 {
		fmt.Fprintf(a.out, "These take the place of drafts written before: do not send order %s.\n",
			programme.Numbers(o.Replaced))
	}
	a.printUndecided(ctx, b, o.Undecided)
	if try {
		fmt.Fprintln(a.out, "This was a trial: nothing was written.")
		return nil
	}
	fmt.Fprintf(a.out, "\n%s written. Nothing is sent by itself: open each in your mail program, look at it, send it.\nThen: kitmuster orders sent\n",
		programme.NumberOf(len(o.Orders), "order"))
	return nil
}

func orderName(d *supply.Draft, try bool) string {
	if try {
		return ""
	}
	return fmt.Sprintf("Order %d to ", d.Number)
}

// printUndecided says what each open proposal adds or saves on the sheets.
func (a *app) printUndecided(ctx context.Context, b *books.Books, list []supply.Undecided) {
	money := func(m programme.Money) string { return m.In(b.Shop.Currency) }
	for _, u := range list {
		more, alone, saves := money(u.More), money(u.Alone), money(u.Alone-u.More)
		until := "until " + b.Shop.DateStyle.Date(u.Until)
		if u.Until <= a.today() {
			until = "today"
		}
		name, stands := b.ClientName(ctx, u.Client), "has no answer"
		if !u.PutOff.IsZero() {
			stands = "is put off until " + b.Shop.DateStyle.Date(u.PutOff)
		}
		switch {
		case u.With:
			fmt.Fprintf(a.out, "Proposal %d (%s) %s: its transfers are printed with the others for %s; by themselves they would cost %s.\n",
				u.Number, name, stands, more, alone)
		case u.Alone <= u.More:
			fmt.Fprintf(a.out,
				"Proposal %d (%s) %s; on the same sheets it would save nothing (%s now, %s by itself).\n",
				u.Number, name, stands, more, alone)
		default:
			fmt.Fprintf(a.out, "Proposal %d (%s) %s: on the same sheets its transfers would cost %s, later by themselves %s; that saves %s. An answer %s still shares them, or: kitmuster orders --with %d\n",
				u.Number, name, stands, more, alone, saves, until, u.Number)
		}
	}
}

// completeProposals offers proposals in those states.
func (a *app) completeProposals(states ...reorder.State) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
		return a.offer(cmd, func(ctx context.Context, b *books.Books) ([]string, error) {
			return proposalWords(ctx, b,
				func(p *reorder.Proposal) bool { return !slices.Contains(args, fmt.Sprint(p.Number)) }, states...)
		})
	}
}

// proposalWords offers the proposals in those states, or in any, that are wanted.
func proposalWords(ctx context.Context, b *books.Books, wanted func(*reorder.Proposal) bool,
	states ...reorder.State) (words []string, err error) {
	list, err := b.Store.Proposals(ctx, "", states...)
	for i := range list {
		if p := &list[i]; wanted(p) {
			words = append(words, fmt.Sprintf("%d\t%s, %s, %s", p.Number, b.ClientName(ctx, p.Client),
				programme.NumberOf(p.Pieces(), "piece"), p.State))
		}
	}
	return words, err
}
