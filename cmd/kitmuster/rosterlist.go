package main

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
)

func newRosterListCommand(a *app) *cobra.Command {
	var asOf string
	var all, asJSON bool
	c := &cobra.Command{
		Use:   "list CLIENT",
		Short: "Show a client's staff with roles and sizes",
		Long: `Shows who is there on a day, with role, site and sizes; --all adds who has left or
not yet started. It changes nothing.`,
		Example: "  kitmuster roster list bakery",
		RunE: a.onBooksAsOf(&asOf, func(ctx context.Context, b *books.Books, day programme.Date, args []string) error {
			if _, err := b.Client(ctx, args[0]); err != nil {
				return err
			}
			people, err := b.Store.People(ctx, args[0])
			if err != nil {
				return err
			}
			shown := people
			if !all {
				shown = programme.Roster(people).On(day)
			}
			if asJSON {
				return writeJSON(a.out, map[string]any{"format": 1, "client": args[0], "as_of": day,
					"people": persons(shown)})
			}
			slices.SortStableFunc(shown, func(x, y programme.Person) int { return match.Natural(x.StaffID, y.StaffID) })
			a.printPeople(b, shown, len(people))
			return nil
		}),
	}
	dayFlag(c, &asOf, "as-of", "day to look at")
	c.Flags().BoolVar(&all, "all", false, "also who has left or not yet started")
	jsonFlag(c, &asJSON)
	return c
}

func (a *app) printPeople(b *books.Books, shown []programme.Person, known int) {
	if len(shown) > 0 {
		t := page.Table{Columns: page.Columns("Staff no.", "Name", "Role", "Site", "Since", "Last day", "Sizes")}
		for i := range shown {
			p := &shown[i]
			var sizes []string
			for _, family := range slices.Sorted(maps.Keys(p.Sizes)) {
				sizes = append(sizes, family+" "+p.Sizes[family])
			}
			t.Row(p.StaffID, p.Name, p.Role, p.Site, b.Shop.DateStyle.Date(p.Start), b.Shop.DateStyle.Date(p.End),
				strings.Join(sizes, ", "))
		}
		show(a.out, t)
	}
	fmt.Fprintf(a.out, "%d shown of %d in the roster.\n", len(shown), known)
}
