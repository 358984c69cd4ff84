package round

import (
	"context"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// HeldOf is a client's clothing that waits for a person's yes.
type HeldOf struct {
	Client *programme.Client
	Staff  programme.Roster
	Holds  []reorder.Hold
	// Said lists the answers given before that still stand.
	Said []store.HeldAnswer
}

// Held works out what waits for a person's yes on a day, of the named clients
// (all when none is named).
func Held(ctx context.Context, b *books.Books, asOf programme.Date, only ...string) ([]HeldOf, error) {
	f, err := forecast.New(ctx, b, asOf)
	if err != nil {
		return nil, err
	}
	clients, err := f.Clients(only...)
	if err != nil {
		return nil, err
	}
	var out []HeldOf
	for _, c := range clients {
		if !WearsProtective(b.Shop, c) {
			continue
		}
		in, err := f.Inspect(ctx, c)
		if err != nil {
			return nil, err
		}
		ready, _ := reorder.Prepare(in.Input)
		ready.NextRound, ready.Last = asOf.Add(b.Shop.ReviewDays), in.Last
		said, err := b.Store.HeldAnswers(ctx, c.Code)
		if err != nil {
			return nil, err
		}
		out = append(out, HeldOf{Client: c, Staff: in.Staff, Holds: unanswered(c, reorder.Holds(&ready), said, asOf),
			Said: said})
	}
	return out, nil
}

// WearsProtective reports whether a kit of the client has protective clothing.
func WearsProtective(shop *programme.Shop, c *programme.Client) bool {
	for i := range c.Roles {
		for _, l := range c.Roles[i].Kit {
			if g, ok := shop.Garment(l.Garment); ok && g.Protective != programme.NotProtective {
				return true
			}
		}
	}
	return false
}

func unanswered(c *programme.Client, holds []reorder.Hold, said []store.HeldAnswer,
	asOf programme.Date) []reorder.Hold {
	list := make([]reorder.HoldAnswer, len(said))
	for i, a := range said {
		list[i] = reorder.HoldAnswer{SKU: a.SKU, Yes: a.Yes, Pieces: a.Pieces, On: a.On}
	}
	return reorder.Unanswered(holds, list, asOf, reorder.AnswerDays(c))
}

// keepHeld takes out of the round what was answered already of clothing that
// waits for a person's yes.
func (p *Plan) keepHeld(ctx context.Context) error {
	all, err := p.books.Store.HeldAnswers(ctx, "")
	if err != nil || len(all) == 0 {
		return err
	}
	said := map[string][]store.HeldAnswer{}
	for _, a := range all {
		said[a.Client] = append(said[a.Client], a)
	}
	for i := range p.Entries {
		e := &p.Entries[i]
		list := said[e.Client.Code]
		e.Decision.Holds = unanswered(e.Client, e.Decision.Holds, list, p.AsOf)
		if e.Proposal != nil {
			e.Proposal.Holds = unanswered(e.Client, e.Proposal.Holds, list, p.AsOf)
		}
	}
	return nil
}
