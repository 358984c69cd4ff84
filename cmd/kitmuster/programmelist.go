package main

import (
	"context"
	"fmt"

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
	t := page.Table{Columns: page.Columns("Client", "Name", "Trade", "Looked after by", "#Roles", "#Staff", "Applied")}
	for _, l := range list {
		t.Row(l.Code, l.Name, l.Trade, l.Manager, l.Roles, l.Staff, b.Shop.DateStyle.Date(l.Applied))
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
		Applied: programme.DateOf(row.AppliedAt.In(b.Zone()))}
	if m, ok := b.Shop.Manager(client.Manager); ok {
		l.Manager = m.Name
	}
	return l, nil
}
