package main

import (
	"context"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/stock"
)

func newStockCommand(a *app) *cobra.Command {
	c := group("stock", "Take and give out what lies on the shelves and is on order",
		"  kitmuster stock import stock.csv --dry-run")
	c.AddCommand(newStockImportCommand(a), newStockListCommand(a), newStockExportCommand(a))
	return c
}

func newStockImportCommand(a *app) *cobra.Command {
	var f handoverFlags
	c := &cobra.Command{
		Use:   "import FILE",
		Short: "Take a statement of stock: blanks, finished pieces, transfers",
		Long: `Takes a statement of stock: kind (blank, finished or transfer), code (garment, or
artwork of a transfer), colour, size, pieces, expected_on (empty = on the shelf, else
on order), client (finished pieces only) and, for transfers, made_on. A column as_of
says of which day it is; without one it is that of --as-of, else today. Finished
pieces that somebody wore before may have a column washes; where it is missing, as
many as are known to have been worn still count as worn.

It replaces what was stated before of each kind it names, and for finished pieces
of each client it names: what is not in the file is no longer there. Orders of
proposals are counted by themselves and do not belong in it.`,
		Example:           "  kitmuster stock import stock.csv --dry-run",
		ValidArgsFunction: completeList,
		RunE: func(cmd *cobra.Command, args []string) error {
			return f.take(a, cmd, args[0], handover.Stock)
		},
	}
	f.register(c)
	return c
}

func newStockListCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "list",
		Short: "Show what lies on the shelves and what is on order",
		Long: `Shows what was stated as stock, less what was taken since: blanks, finished pieces by
client, transfers. It changes nothing; 'kitmuster stock export' writes the same as CSV.`,
		Example: "  kitmuster stock list",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, _ []string) error {
			lines, err := b.Store.Stock(ctx)
			if err != nil {
				return err
			}
			show(a.out, stockTable(b.Shop, lines))
			return nil
		}),
	}
}

func stockTable(shop *programme.Shop, lines []programme.StockLine) page.Table {
	t := page.Table{Columns: page.Columns("Kind", "What", "Client", "#Pieces", "Expected"),
		Empty: "No stock is on record; kitmuster stock import takes it in."}
	for _, l := range lines {
		if l.Pieces == 0 {
			continue
		}
		what := l.Code
		for _, part := range []string{l.Colour, l.Size} {
			if part != "" {
				what += ", " + part
			}
		}
		expected := "on the shelf"
		if !l.Expected.IsZero() {
			expected = shop.DateStyle.Date(l.Expected)
		}
		t.Row(l.Kind, what, l.Client, l.Pieces, expected)
	}
	return t
}

func newStockExportCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "export",
		Short: "Write the stock as CSV",
		Long: `Writes what was stated as stock, less what was taken since, to the screen; send it
to a file with >. Correct it in a spreadsheet and take it back with 'kitmuster stock
import'. It changes nothing.`,
		Example: "  kitmuster stock export > stock.csv",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, _ []string) error {
			lines, err := b.Store.Stock(ctx)
			if err != nil {
				return err
			}
			return stock.Write(unfolded(a.out), lines)
		}),
	}
}
