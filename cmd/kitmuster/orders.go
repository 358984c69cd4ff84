package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/round"
)

func newOrdersCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "orders [NUMBER ...]",
		Short: "Write the orders to suppliers for accepted proposals, as drafts",
		Long: `Writes one mail draft to each supplier of blanks and each printer, for all accepted
proposals that are not ordered yet or those numbered, with lists and proofs
attached. Open a draft in your mail program, look at it, and send it. Nothing is
sent by itself.

Next: 'kitmuster proposal ordered NUMBER' records that it is ordered.`,
		Example: "  kitmuster orders\n  kitmuster orders 12 13",
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
				mails, err := round.SupplierOrders(ctx, b, day, numbers...)
				if err != nil {
					return err
				}
				if len(mails) == 0 {
					fmt.Fprintln(a.out, "No accepted proposal waits to be ordered. 'kitmuster proposal accept NUMBER' records a yes.")
				}
				for _, m := range mails {
					to := ""
					if len(m.To) > 0 {
						to = m.To[0].Name + ": "
					} else {
						m.To = append(m.To, b.Shop.Owner) // a draft needs somebody; the warning says why
					}
					path, err := round.WriteDraft(b.Home, m, b.Shop.Owner, a.clock())
					if err != nil {
						return err
					}
					fmt.Fprintf(a.out, "%s%s\n", to, path)
					for _, w := range m.Warnings {
						fmt.Fprintln(a.out, "  "+w)
					}
				}
				if len(mails) > 0 {
					fmt.Fprintf(a.out, "\n%s written. Nothing is sent by itself: open each in your mail program, look at it, send it.\nThen: kitmuster proposal ordered NUMBER\n", counted(len(mails), "order"))
				}
				return nil
			})
		},
	}
}
