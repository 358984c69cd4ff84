package main

import (
	"context"
	"fmt"
	"path/filepath"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/notify/wholefile"
	"github.com/kitmuster/kitmuster/programme"
)

func newDaySheetCommand(a *app) *cobra.Command {
	c := group("day-sheet", "Write the sheet of a week on which a client's happenings are noted, and take it back",
		"  kitmuster day-sheet write bakery\n  kitmuster day-sheet import bakery day-sheet--bakery--2026-03-09.xlsx")
	c.AddCommand(newDaySheetWriteCommand(a), newDaySheetImportCommand(a))
	return c
}

func newDaySheetWriteCommand(a *app) *cobra.Command {
	var asOf, out string
	c := &cobra.Command{
		Use:   "write CLIENT",
		Short: "Write the day sheet of a week as a workbook",
		Long: `Writes a workbook for the week of a day: a row for each person and garment, columns to
write numbers in (worn out, print gone, torn, lost, back, handed out), and room at the
foot for people and garments that are missing. It can be filled in on a screen or
printed and hung up.

With 'day_sheet: weekly' in the client's programme it goes out by mail each week by
itself. 'kitmuster day-sheet import' takes it back; so does the drop folder, under the
name that it has, and the mail that it is attached to.`,
		Example: "  kitmuster day-sheet write bakery\n  kitmuster day-sheet write bakery --as-of 2026-03-16 --out next-week.xlsx",
		RunE: a.onBooksAsOf(&asOf, func(ctx context.Context, b *books.Books, day programme.Date, args []string) error {
			client, err := b.Client(ctx, args[0])
			if err != nil {
				return err
			}
			d, err := round.DaySheet(ctx, b, client, day)
			if err != nil {
				return err
			}
			if len(d.Rows) == 0 {
				return fmt.Errorf("nobody of %s is on the roster in that week; import it first with 'kitmuster roster import %s'",
					b.ClientName(ctx, client.Code), client.Code)
			}
			data, err := d.Workbook()
			if err != nil {
				return err
			}
			if out == "" {
				out = d.File()
			}
			if err := wholefile.Write(out, data); err != nil {
				return err
			}
			fmt.Fprintf(a.out, "Written: %s, %s, for the week from %s.\n", filepath.Clean(out),
				programme.NumberOf(len(d.Rows), "row"), b.Shop.DateStyle.Date(d.Week))
			return nil
		}),
	}
	dayFlag(c, &asOf, "as-of", "a day of the week")
	c.Flags().StringVar(&out, "out", "", "file to write (default: day-sheet--CLIENT--WEEK.xlsx in this folder)")
	return c
}

func newDaySheetImportCommand(a *app) *cobra.Command {
	var f handoverFlags
	c := &cobra.Command{
		Use:   "import CLIENT FILE",
		Short: "Take a filled day sheet: each number is an entry",
		Long: `Takes a day sheet that was filled in. Each number counts as if it had been entered by
hand: endings with their reason, pieces handed out (from the shelf, as far as there are
any) and pieces back. They are dated on the last day of the sheet's week, or today
while the week lasts. A name at the foot that nobody has is put on the roster, with the
role beside it.

A sheet may come as often as you like: its numbers are sums of the week, and what is in
already is not entered again. With one bad row nothing is changed. 'kitmuster undo
CLIENT' takes the whole sheet back.`,
		Example: "  kitmuster day-sheet import bakery day-sheet--bakery--2026-03-09.xlsx --dry-run",
		RunE: func(cmd *cobra.Command, args []string) error {
			return f.takeOf(a, cmd, args[0], args[1], record.DaySheet)
		},
	}
	f.register(c)
	return c
}
