package main

import (
	"context"
	"fmt"
	"slices"

	"github.com/spf13/cobra"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
)

func newProgrammeListCommand(a *app) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:     "list",
		Short:   "List the clients with a programme",
		Example: "  kitmuster programme list",
		RunE: a.onBooks(func(ctx context.Context, b *books.Books, _ []string) error {
			return a.listProgrammes(ctx, b, asJSON)
		}),
	}
	jsonFlag(c, &asJSON)
	return c
}

// listed is one client in the list.
type listed struct {
	Code    string         `json:"code"`
	Name    string         `json:"name"`
	Trade   string         `json:"trade"`
	Manager string         `json:"manager"`
	Roles   int            `json:"roles"`
	Staff   int            `json:"staff"`
	Applied programme.Date `json:"applied"`
	// Ends is the last day of what was agreed, where it has one.
	Ends programme.Date `json:"ends,omitzero"`
}

func (a *app) listProgrammes(ctx context.Context, b *books.Books, asJSON bool) error {
	rows, err := b.Store.Clients(ctx)
	if err != nil {
		return err
	}
	list := make([]listed, 0, len(rows))
	for _, row := range rows {
		l, err := a.listing(ctx, b, row)
		if err != nil {
			return err
		}
		list = append(list, l)
	}
	if asJSON {
		return writeJSON(a.out, struct {
			Format  int      `json:"format"`
			Clients []listed `json:"clients"`
		}{1, list})
	}
	if len(list) == 0 {
		fmt.Fprintln(a.out, "No programme is applied yet: write one with 'kitmuster programme draft', then 'kitmuster programme apply'.")
		return nil
	}
	heads := []string{"Client", "Name", "Trade", "Looked after by", "#Roles", "#Staff", "Applied"}
	ends := slices.ContainsFunc(list, func(l listed) bool { return !l.Ends.IsZero() })
	if ends {
		heads = append(heads, "Ends")
	}
	t := page.Table{Columns: page.Columns(heads...)}
	for _, l := range list {
		row := []any{l.Code, l.Name, l.Trade, l.Manager, l.Roles, l.Staff, b.Shop.DateStyle.Date(l.Applied)}
		if ends {
			row = append(row, b.Shop.DateStyle.Date(l.Ends))
		}
		t.Row(row...)
	}
	show(a.out, t)
	return nil
}

func (a *app) listing(ctx context.Context, b *books.Books, row store.ClientRow) (listed, error) {
	client, err := b.Client(ctx, row.Code)
	if err != nil {
		return listed{}, err
	}
	people, err := b.Store.People(ctx, row.Code)
	if err != nil {
		return listed{}, err
	}
	l := listed{Code: row.Code, Name: client.Name, Trade: client.Trade, Manager: b.Shop.Owner.Name,
		Roles: len(client.Roles), Staff: len(programme.Roster(people).On(a.today())),
		Applied: programme.DateOf(row.AppliedAt.In(b.Zone())), Ends: client.Ends}
	if m, ok := b.Shop.Manager(client.Manager); ok {
		l.Manager = m.Name
	}
	return l, nil
}
