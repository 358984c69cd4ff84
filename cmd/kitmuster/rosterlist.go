package main

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
)

func newRosterListCommand(a *app) *cobra.Command {
	var asOf string
	var all, asJSON bool
	c := &cobra.Command{
		Use:   "list CLIENT",
		Short: "Show a client's staff with roles and sizes",
		Long: `Shows who is there on a day, with role, site and sizes; --all adds who has left or
not yet started. It changes nothing.`,
		Example:           "  kitmuster roster list bakery",
		Args:              exactlyOne("CLIENT"),
		ValidArgsFunction: a.completeClient,
		RunE: func(cmd *cobra.Command, args []string) error {
			day, err := a.day(asOf)
			if err != nil {
				return err
			}
			return a.withBooks(cmd.Context(), func(ctx context.Context, b *books.Books) error {
				if _, err := b.Client(ctx, args[0]); err != nil {
					return err
				}
				people, err := b.Store.People(ctx, args[0])
				if err != nil {
					return err
				}
				shown := make([]programme.Person, 0, len(people))
				for i := range people {
					if all || people[i].ActiveOn(day) {
						shown = append(shown, people[i])
					}
				}
				if asJSON {
					return writeJSON(a.out, map[string]any{"format": 1, "client": args[0], "as_of": day, "people": persons(shown)})
				}
				a.printPeople(b, shown, len(people))
				return nil
			})
		},
	}
	c.Flags().StringVar(&asOf, "as-of", "", "day to look at, year-month-day (default: today)")
	c.Flags().BoolVar(&all, "all", false, "also who has left or not yet started")
	c.Flags().BoolVar(&asJSON, "json", false, "print for other programs")
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
			t.Row(p.StaffID, p.Name, p.Role, p.Site, b.Shop.DateStyle.Date(p.Start), b.Shop.DateStyle.Date(p.End), strings.Join(sizes, ", "))
		}
		show(a.out, t)
	}
	fmt.Fprintf(a.out, "%d shown of %d in the roster.\n", len(shown), known)
}

func newRosterForgetCommand(a *app) *cobra.Command {
	var yes bool
	c := &cobra.Command{
		Use:   "forget CLIENT",
		Short: "Remove the names of people who left long ago",
		Long: `Removes name and site of people who left longer ago than the programme keeps names
(forget_after_days). Their pieces stay in the ledger under the staff number, so the
forecast loses nothing. Names in files that were handed over are not touched.
Without --yes it only says how many there are. It cannot be undone.`,
		Example:           "  kitmuster roster forget bakery --yes",
		Args:              exactlyOne("CLIENT"),
		ValidArgsFunction: a.completeClient,
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.withBooks(cmd.Context(), func(ctx context.Context, b *books.Books) error {
				return a.forget(ctx, b, args[0], yes)
			})
		},
	}
	c.Flags().BoolVar(&yes, "yes", false, "remove them")
	return c
}

func (a *app) forget(ctx context.Context, b *books.Books, code string, yes bool) error {
	client, err := b.Client(ctx, code)
	if err != nil {
		return err
	}
	if client.ForgetAfterDays <= 0 {
		return fmt.Errorf("the programme of %s does not say how long names are kept; set forget_after_days in it", client.Name)
	}
	leftBy := a.today().Add(-client.ForgetAfterDays)
	people, err := b.Store.People(ctx, code)
	if err != nil {
		return err
	}
	n := 0
	for i := range people {
		if p := &people[i]; p.Name != "" && !p.End.IsZero() && p.End <= leftBy {
			n++
		}
	}
	until := b.Shop.DateStyle.Date(leftBy)
	if !yes {
		fmt.Fprintf(a.out, "%d people left by %s; their names are removed with --yes.\n", n, until)
		return nil
	}
	if n > 0 {
		if err := b.Store.InTx(ctx, func(tx *store.Tx) error { _, err := tx.ForgetLeavers(code, leftBy); return err }); err != nil {
			return err
		}
	}
	fmt.Fprintf(a.out, "Removed the names of %d people who left by %s.\n", n, until)
	return nil
}
