package main

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
)

func newLedgerCommand(a *app) *cobra.Command {
	c := group("ledger", "Take and give out what happened to pieces",
		"  kitmuster ledger import bakery pieces.csv --dry-run")
	c.AddCommand(newLedgerImportCommand(a), newExportCommand(a, "ledger",
		"Write what happened to a client's pieces as CSV",
		func(ctx context.Context, a *app, b *books.Books, client string) error {
			moves, err := b.Store.Movements(ctx, client)
			if err != nil {
				return err
			}
			return ledger.Write(unfolded(a.out), moves)
		}))
	return c
}

func newLedgerImportCommand(a *app) *cobra.Command {
	var f handoverFlags
	c := &cobra.Command{
		Use:   "import CLIENT FILE",
		Short: "Take what happened to a client's pieces: issued, ended, counted",
		Long: `Takes a ledger: date, movement (issued, ended or counted), staff_id, garment,
colour, size, pieces, reason and ref. The reason of an ending is one of these:
` + strings.Join(programme.WrittenReasons(), ", ") + `.
A row that was imported before is known again by its ref, or else by all
of it, so the same file may be imported twice. washes, where it is there, says how
many washes pieces had behind them when issued; assumed and old_kept say yes in an
exported ledger where a piece was only assumed, or issued beside old ones that stay.
Other words for movements, garments, colours, sizes and reasons are mapped as headings
are: --map "movement:handed out=issued" --map "colour:navy blue=navy".
A count form that comes back filled in is taken as it is.

With --orders the file is a list of past orders instead (date, garment, colour,
size, pieces; staff_id where it is known). They are spread over the roster of each
day and marked as assumed: a start for a shop that has kept no ledger.

With one bad row nothing is changed. A list that leaves more than a hundred pieces
of one garment, and twenty times the kit, in somebody's hands needs --yes.
'kitmuster muster' shows what follows.`,
		Example: "  kitmuster ledger import bakery pieces.csv --dry-run\n" +
			"  kitmuster ledger import bakery orders.xlsx --orders",
		RunE: func(cmd *cobra.Command, args []string) error {
			return f.takeOf(a, cmd, args[0], args[1], handover.Ledger)
		},
	}
	f.register(c)
	c.Flags().BoolVar(&f.yes, "yes", false, "let somebody hold far more pieces than a kit has")
	c.Flags().BoolVar(&f.orders, "orders", false,
		"the file is a list of past orders: spread it over the roster, marked as assumed")
	return c
}
