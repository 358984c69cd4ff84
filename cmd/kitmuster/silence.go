package main

import (
	"context"
	"fmt"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/programme"
)

// silentWeeks is the number of weeks without an entry that a client's records may have
// before what rests on them is doubtful: of pieces that ended since nobody
// knows, so they look as if they lasted.
const silentWeeks = 8

// saySilence warns on the error stream when a client's records stop well before the day.
func (a *app) saySilence(ctx context.Context, b *books.Books, code string, day programme.Date) error {
	moves, err := b.Store.Movements(ctx, code)
	if err != nil {
		return err
	}
	var last programme.Date
	for i := range moves {
		if d := moves[i].Date; d <= day && !moves[i].Assumed {
			last = max(last, d)
		}
	}
	if weeks := day.Sub(last) / 7; !last.IsZero() && weeks >= silentWeeks {
		fmt.Fprintf(a.err, "Note: the last entry for %s is of %s, %d weeks before %s. What ended since is not known, and most of it counts as still worn; --as-of %s looks from that day.\n",
			b.ClientName(ctx, code), b.Shop.DateStyle.Date(last), weeks, b.Shop.DateStyle.Date(day), last)
	}
	return nil
}
