package main

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// orderJSON is an order of 'orders list --json', format 1.
type orderJSON struct {
	Number   int64            `json:"number"`
	Supplier string           `json:"supplier"`
	AsOf     programme.Date   `json:"as_of"`
	State    store.OrderState `json:"state"`
	supply.Contents
}

func newOrdersList(a *app) *cobra.Command {
	var all, asJSON bool
	c := &cobra.Command{
		Use:   "list",
		Short: "List the orders to suppliers that are written or on their way",
		Long: `Lists the orders to suppliers: what each holds for which proposals, and how many
blanks are still to come.`,
		Example: "  kitmuster orders list",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, _ []string) error {
			states := []store.OrderState{store.OrderWritten, store.OrderOrdered}
			if all {
				states = nil
			}
			list, err := supply.Orders(ctx, b.Store, states...)
			if err != nil {
				return err
			}
			return a.printOrders(b, list, asJSON)
		}),
	}
	c.Flags().BoolVar(&all, "all", false, "those that have come or were dropped as well")
	jsonFlag(c, &asJSON)
	return c
}

func (a *app) printOrders(b *books.Books, list []supply.Order, asJSON bool) error {
	if asJSON {
		out := []orderJSON{}
		for i := range list {
			o := &list[i]
			out = append(out, orderJSON{o.Number, o.Supplier, o.AsOf, o.State, o.Contents})
		}
		return writeJSON(a.out, map[string]any{"format": 1, "orders": out})
	}
	t := page.Table{
		Columns: page.Columns("#Order", "Supplier", "Of", "State", "For proposals", "What", "Still to come"),
		Empty:   "There are no such orders. 'kitmuster orders' writes them for accepted proposals.",
	}
	for i := range list {
		o := &list[i]
		left := ""
		if o.State == store.OrderOrdered {
			left = strconv.Itoa(o.Outstanding())
			if o.Outstanding() == 0 { // else it would have come whole
				left = sheetsWord
			}
		}
		t.Row(o.Number, b.Shop.SupplierName(o.Supplier), b.Shop.DateStyle.Date(o.AsOf), string(o.State),
			programme.Numbers(o.Proposals), o.Words(), left)
	}
	show(a.out, t)
	return nil
}

func newOrdersSent(a *app) *cobra.Command {
	var on string
	var try bool
	c := &cobra.Command{
		Use:   "sent [ORDER ...]",
		Short: "Record that orders went to their suppliers",
		Long: `Records that the written orders were sent, all of them or those numbered. A proposal
of which every order is sent is ordered: its pieces count as on their way. 'kitmuster
undo' takes it back.`,
		Example:           "  kitmuster orders sent\n  kitmuster orders sent 7 8 --on 2026-03-03",
		ValidArgsFunction: a.completeOrders(store.OrderWritten),
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, args []string) error {
			numbers, err := readEach(args, readOrder)
			if err != nil {
				return err
			}
			day, err := a.past(on)
			if err != nil {
				return err
			}
			done, err := answer.Sent(ctx, b, day, numbers, try)
			if err != nil {
				return err
			}
			a.printSent(ctx, b, &done, try)
			return delivery.WriteFiles(ctx, b, a.now)
		}),
	}
	dayFlag(c, &on, "on", "the day on which they were sent")
	tryFlag(c, &try)
	return c
}

func (a *app) printSent(ctx context.Context, b *books.Books, done *answer.OrderDone, try bool) {
	for i := range done.Orders {
		o := &done.Orders[i]
		fmt.Fprintf(a.out, "Order %d to %s is sent: %s\n", o.Number, b.Shop.SupplierName(o.Supplier), o.Words())
	}
	for _, n := range done.Moved {
		p, err := b.Store.Proposal(ctx, n)
		if err == nil {
			fmt.Fprintf(a.out, "Proposal %d for %s is ordered: %s on their way.\n", n, b.ClientName(ctx, p.Client),
				programme.NumberOf(p.Pieces(), "piece"))
		}
	}
	a.printNotices(done.Notices, try)
	if !try {
		fmt.Fprintln(a.out, "When goods come: kitmuster orders arrived ORDER")
	}
}

func (a *app) printNotices(list []hint.Text, try bool) {
	for _, n := range list {
		fmt.Fprintln(a.out, "Note: "+n.Command)
	}
	if try {
		fmt.Fprintln(a.out, "This was a trial: nothing was recorded.")
	}
}

// readOrder reads the number of an order: 7, #7, or as it stands in the mail, 2026-03-02-7.
func readOrder(word string) (int64, error) {
	digits := strings.TrimPrefix(word, "#")
	if len(digits) > 11 && strings.Count(digits, "-") == 3 {
		digits = digits[strings.LastIndex(digits, "-")+1:]
	}
	n, err := strconv.ParseInt(digits, 10, 64)
	if err != nil || n < 1 {
		return 0, usagef("%q is no number of an order to a supplier; 'kitmuster orders list' shows them", word)
	}
	return n, nil
}

// sheetsWord says on the command line that the sheets of an order came.
const sheetsWord = "sheets"

func newOrdersArrived(a *app) *cobra.Command {
	var on string
	var back []string
	var try bool
	c := &cobra.Command{
		Use:   "arrived ORDER [LINE=PIECES ... | sheets]",
		Short: "Record goods that came from a supplier, against the order's number",
		Long: `Records what came of an order: without more, everything that is still to come, apart
from what is on back-order until a later day. With LINE=PIECES only those blanks came,
with the word sheets only the sheets. Blanks and transfers stay reserved for the
proposals that they were bought for; what is left over of the sheets goes to the shelf.

--back LINE=PIECES@DAY is blanks that come on that day and not before: the least urgent
pieces that wait for them get a new day, and the rounds count on it. 'kitmuster undo'
takes it back.

Next, when the pieces are pressed: kitmuster proposal arrived NUMBER`,
		Example:           "  kitmuster orders arrived 7\n  kitmuster orders arrived 7 polo/navy/M=12 --back polo/navy/L=2@2026-04-13",
		ValidArgsFunction: a.completeOrders(store.OrderOrdered),
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, args []string) error {
			number, err := readOrder(args[0])
			if err != nil {
				return err
			}
			day, err := a.past(on)
			if err != nil {
				return err
			}
			g := answer.Goods{Order: number, Day: day}
			if err := a.fillGoods(ctx, b, &g, args[1:], back); err != nil {
				return err
			}
			done, err := answer.Arrived(ctx, b, g, try)
			if err != nil {
				return err
			}
			a.printArrived(b, &done, try)
			return nil
		}),
	}
	dayFlag(c, &on, "on", "the day on which they came")
	c.Flags().StringArrayVar(&back, "back", nil, "blanks on back-order and their day, LINE=PIECES@DAY; may be repeated")
	tryFlag(c, &try)
	return c
}

// linesOf lists the lines of an order as GARMENT/COLOUR/SIZE.
func linesOf(p *reorder.Proposal) string {
	if len(p.Lines) == 0 {
		return "no blanks"
	}
	return programme.Listing(p.Lines, func(l reorder.Line) string { return l.String() })
}

// fillGoods reads the words and --back flags of 'orders arrived' into g.
func (a *app) fillGoods(ctx context.Context, b *books.Books, g *answer.Goods, words, back []string) error {
	list, err := supply.Orders(ctx, b.Store)
	if err != nil {
		return err
	}
	p := &reorder.Proposal{Number: g.Order}
	for i := range list {
		for _, x := range list[i].Blanks {
			if list[i].Number == g.Order && p.Line(x.SKU) == nil {
				p.Lines = append(p.Lines, reorder.Line{SKU: x.SKU})
			}
		}
	}
	read := func(word string) (reorder.LineChange, error) {
		c, err := answer.ReadLine(b.Shop, p, word)
		if err != nil || p.Line(c.SKU) == nil {
			return c, usagef("%q is no line of order %d, written as GARMENT/COLOUR/SIZE=PIECES. On it are %s. What came and was not ordered goes back to the supplier, or onto the shelf with 'kitmuster receive blank GARMENT/COLOUR/SIZE PIECES'; what is missing stays to come",
				word, g.Order, linesOf(p))
		}
		return c, nil
	}
	for _, w := range words {
		if w == sheetsWord {
			g.Sheets = true
			continue
		}
		c, err := read(w)
		if err != nil {
			return err
		}
		g.Came = append(g.Came, c)
	}
	for _, w := range back {
		line, on, err := cutDay(w)
		if err != nil {
			return err
		}
		if !g.BackOn.IsZero() && g.BackOn != on {
			return usagef("--back names two days; enter those of the later one by themselves")
		}
		c, err := read(line)
		if err != nil {
			return err
		}
		g.Back, g.BackOn = append(g.Back, c), on
	}
	return nil
}

func (a *app) printArrived(b *books.Books, done *answer.OrderDone, try bool) {
	for i := range done.Orders {
		o := &done.Orders[i]
		if o.State == store.OrderArrived {
			fmt.Fprintf(a.out, "Order %d to %s has come whole: %s\n", o.Number,
				b.Shop.SupplierName(o.Supplier), o.Words())
		} else {
			fmt.Fprintf(a.out, "Order %d to %s: %s still to come.\n", o.Number, b.Shop.SupplierName(o.Supplier),
				programme.NumberOf(o.Outstanding(), "blank"))
		}
	}
	a.printNotices(done.Notices, try)
}

// goodsWords offers what is still to come of an order.
func goodsWords(b *books.Books, o *supply.Order) []string {
	words := []string{sheetsWord}
	for i := range o.Blanks {
		x := &o.Blanks[i]
		if n := x.Pieces - x.Came; n > 0 {
			words = append(words, fmt.Sprintf("%s=%d\t%s", x.SKU, n, answer.Name(b.Shop, x.SKU)))
		}
	}
	return words
}

// completeOrders offers orders in a state.
func (a *app) completeOrders(state store.OrderState) cobra.CompletionFunc {
	return func(cmd *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
		return a.offer(cmd, func(ctx context.Context, b *books.Books) ([]string, error) {
			list, err := supply.Orders(ctx, b.Store, state)
			var words []string
			for i := range list {
				o := &list[i]
				if state == store.OrderOrdered && len(args) > 0 {
					if n, _ := readOrder(args[0]); n == o.Number {
						words = append(words, goodsWords(b, o)...)
					}
					continue
				}
				words = append(words, fmt.Sprintf("%d\t%s, %s", o.Number, b.Shop.SupplierName(o.Supplier), o.Words()))
			}
			return words, err
		})
	}
}
