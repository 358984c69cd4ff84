package main

import (
	"context"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/notify/outbox"
)

func newOrdersCommand(a *app) *cobra.Command {
	var room bool
	c := &cobra.Command{
		Use:   "orders [NUMBER ...]",
		Short: "Write the orders to suppliers for accepted proposals, as drafts",
		Long: `Writes one mail draft to each supplier of blanks and each printer, for all accepted
proposals that are not ordered yet or those numbered, with lists, proofs and print
files attached. Sheets are laid out anew for these proposals alone, after what is on the
shelf: nothing is printed for a client who said no or has not answered. Open a draft
in your mail program, look at it, and send it. Nothing is sent by itself.

Where the sheets have room that is paid anyway, it says what else of the same clients
would be printed at no cost and from when on it would be used. With --room it is
printed too, and goes onto the shelf when the sheets arrive.

Next: 'kitmuster proposal ordered NUMBER' records that it is ordered.`,
		Example: "  kitmuster orders\n  kitmuster orders 12 13 --room",
		RunE: func(cmd *cobra.Command, args []string) error {
			var numbers []int64
			for _, word := range args {
				n, err := readNumber(word)
				if err != nil {
					return err
				}
				numbers = append(numbers, n)
			}
			day, err := a.day("")
			if err != nil {
				return err
			}
			return a.withBooks(cmd.Context(), func(ctx context.Context, b *books.Books) error {
				cfg, err := config.ReadFolder(b.Home, b.Zone())
				if err != nil {
					return err
				}
				b.Search = cfg.Limits.Tries
				ordering, err := round.SupplierOrders(ctx, b, day, room, numbers...)
				if err != nil {
					return err
				}
				mails := ordering.Mails
				if len(mails) == 0 {
					fmt.Fprintln(a.out, "No accepted proposal waits to be ordered. 'kitmuster proposal accept NUMBER' records a yes.")
				}
				if err := a.writeOrders(ctx, b, ordering); err != nil {
					return err
				}
				for i := range ordering.Sheets {
					printRoom(a.out, b.Shop, &ordering.Sheets[i], "'kitmuster orders --room'")
				}
				if len(mails) > 0 {
					fmt.Fprintf(a.out, "\n%s written. Nothing is sent by itself: open each in your mail program, look at it, send it.\nThen: kitmuster proposal ordered NUMBER\n", counted(len(mails), "order"))
				}
				return nil
			})
		},
	}
	c.Flags().BoolVar(&room, "room", false, "print what fits on the sheets at no cost, too")
	return c
}

// writeOrders commits the orders as drafts, writes them, and says where they lie.
func (a *app) writeOrders(ctx context.Context, b *books.Books, ordering *round.Ordering) error {
	mails := ordering.Mails
	letters := make([]outbox.Letter, len(mails))
	for i, m := range mails {
		if len(m.To) == 0 {
			m.To = append(m.To, b.Shop.Owner) // a draft needs somebody; the warning says why
		}
		var err error
		if letters[i], err = delivery.Seal(m, delivery.Envelope{From: b.Shop.Owner, Date: a.clock(), Way: outbox.Draft}); err != nil {
			return err
		}
	}
	if err := b.Store.InTx(ctx, func(tx *store.Tx) error {
		if err := ordering.Commit(tx); err != nil {
			return err
		}
		return tx.EnqueueAll(letters)
	}); err != nil {
		return err
	}
	if err := a.writeFiles(ctx, b); err != nil {
		return err
	}
	for i := range mails {
		to := ""
		if len(mails[i].To) > 0 {
			to = mails[i].To[0].Name + ": "
		}
		fmt.Fprintf(a.out, "%s%s\n", to, filepath.Join(b.Home, books.DraftsDir, folder.DraftName(&letters[i])))
		for _, w := range mails[i].Warnings {
			fmt.Fprintln(a.out, "  "+w)
		}
	}
	return nil
}
