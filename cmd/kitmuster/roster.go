package main

import (
	"context"
	"slices"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/roster"
)

func newRosterCommand(a *app) *cobra.Command {
	c := group("roster", "Take and give out lists of staff", "  kitmuster roster import bakery staff.csv --dry-run")
	c.AddCommand(newRosterImportCommand(a), newExportCommand(a, "roster",
		"Write a client's staff as CSV, leavers included",
		func(ctx context.Context, a *app, b *books.Books, client string) error {
			people, err := b.Store.People(ctx, client)
			if err != nil {
				return err
			}
			// Who is forgotten has no name to write, and a roster without one is refused.
			named := slices.DeleteFunc(people, func(p programme.Person) bool { return p.Name == "" })
			return roster.Write(unfolded(a.out), named)
		}), newRosterListCommand(a), newRosterForgetCommand(a))
	return c
}

func newRosterImportCommand(a *app) *cobra.Command {
	var f handoverFlags
	c := &cobra.Command{
		Use:   "import CLIENT FILE",
		Short: "Take a client's list of staff: joiners, leavers, changed roles and sizes",
		Long: `Takes a list of staff as the client has it: CSV or XLSX, with any separator and
order of columns. It needs name, role and start_date; staff_id, site, end_date and
size_FAMILY (size_top, size_bottom, ...) are used where they are there. Headings in
other words are asked about and mapped with --map, and so are roles, sites and sizes
(--map "role:Line Cook=cook"; with nothing behind = such people are left out). What a
client always writes so can stand under headings: in its programme.

Titles between the rows, sums, notes and headings that come again are left out, and each
is named with its line. What may be somebody is not: --map "Upstairs=" says that a line
with nothing but Upstairs is a title.

People missing from the list are left alone, unless --full says that it names
everybody. With one bad row nothing is changed. Who is in the list without a size that
their kit needs is named; that is no error. Start with --dry-run; the ledger of their
pieces comes next ('kitmuster ledger import').`,
		Example: "  kitmuster roster import bakery staff.csv --dry-run\n" +
			"  kitmuster roster import bakery staff.xlsx --full --map \"Hire date=start_date\"",
		RunE: func(cmd *cobra.Command, args []string) error {
			return f.takeOf(a, cmd, args[0], args[1], handover.Roster)
		},
	}
	f.register(c)
	c.Flags().BoolVar(&f.full, "full", false, "the list names everybody: who is missing has left")
	c.Flags().BoolVar(&f.yes, "yes", false, "let more than a quarter of the staff leave at once, or people join who look like known ones under other numbers")
	return c
}

// group is a command that only holds others.
func group(name, short, example string) *cobra.Command {
	return &cobra.Command{Use: name, Short: short, Example: example,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() }}
}

// newExportCommand writes records as a file that the import of the same name reads.
func newExportCommand(a *app, kind, short string,
	write func(context.Context, *app, *books.Books, string) error) *cobra.Command {
	return &cobra.Command{
		Use:   "export CLIENT",
		Short: short,
		Long: "Writes CSV to the screen; send it to a file with >. What it writes can be\nchanged in a spreadsheet and taken back with 'kitmuster " + kind + " import'.\n" +
			"It changes nothing.",
		Example: "  kitmuster " + kind + " export bakery > " + kind + ".csv",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, args []string) error {
			if _, err := b.Client(ctx, args[0]); err != nil {
				return err
			}
			return write(ctx, a, b, args[0])
		}),
	}
}

// completeClientThenFile offers clients for the first word and files after it.
func (a *app) completeClientThenFile(cmd *cobra.Command, args []string,
	start string) ([]string, cobra.ShellCompDirective) {
	if len(args) == 0 {
		return a.completeClient(cmd, args, start)
	}
	return completeList(cmd, args, start)
}

// completeList offers files that may hold a list.
func completeList(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return []string{"csv", "xlsx", "txt", "tsv"}, cobra.ShellCompDirectiveFilterFileExt
}
