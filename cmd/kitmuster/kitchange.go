package main

import (
	"context"
	"errors"
	"fmt"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/kitchange"
	"github.com/kitmuster/kitmuster/programme/setup"
)

// kitEdit holds the changes that a programme file makes to its client's kits.
type kitEdit struct {
	raised []kitchange.Raise
	steps  []kitchange.Step
}

// editOf compares the kits of a programme with those of the applied one, on today's records. before is nil for a
// new client, to whom nothing is owed yet.
func (a *app) editOf(ctx context.Context, b *books.Books, before, after *programme.Client) (e kitEdit, err error) {
	if before == nil {
		return e, nil
	}
	today := a.today()
	rec, err := b.Records(ctx, after.Code, today)
	if err != nil {
		return e, err
	}
	stock, err := b.Store.Stock(ctx)
	if err != nil {
		return e, err
	}
	old, err := demand.Stand(b.Shop, before, rec.People, rec.Movements, today)
	if _, much := errors.AsType[*demand.TooMuch](err); much { // the round and check say so already
		return e, nil
	}
	if err != nil {
		return e, err
	}
	next, err := demand.Stand(b.Shop, after, rec.People, rec.Movements, today)
	if err != nil {
		return e, err
	}
	return kitEdit{kitchange.Raised(old, next), kitchange.Steps(next, stock)}, nil
}

// says returns the sentences about the changes that apply and check print.
func (e *kitEdit) says(shop *programme.Shop, today programme.Date) []string {
	var out []string
	for i := range e.steps {
		out = append(out, e.steps[i].Words(shop, today))
	}
	for i := range e.raised {
		out = append(out, "more is owed: "+e.raised[i].Words(shop))
	}
	if sum := kitchange.Sum(e.raised); sum.Pieces > 0 {
		out = append(out, fmt.Sprintf("in all %s more, %s. Where a line takes the place of another, say so with instead_of and from: then old pieces are worn on ('kitmuster help changes')",
			programme.NumberOf(sum.Pieces, "piece"), sum.Money(shop)))
	}
	return out
}

// edits looks at each programme file: what applying it would make people owed, and which kits change on a day to
// come.
func (r *review) edits(ctx context.Context, b *books.Books) error {
	today := r.a.today()
	for _, client := range r.clients {
		applied, err := b.Client(ctx, client.Code)
		if errors.Is(err, store.ErrNoClient) || err != nil && applied == nil {
			continue // not applied yet, or told above
		}
		e, err := r.a.editOf(ctx, b, applied, client)
		if err != nil {
			return err
		}
		if len(setup.Diff(applied, client)) == 0 {
			e.raised = nil
		} else if len(e.raised) > 0 {
			r.look("%s: the file is not applied yet, and would make more owed:", client.Code)
		}
		for _, s := range e.says(b.Shop, today) {
			r.look("%s: %s", client.Code, s)
		}
	}
	return nil
}
