package supply

import (
	"context"
	"time"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/outbox"
)

// Seal returns the orders as the letters that they become, each a draft for the owner to
// look at and send.
func (o *Ordering) Seal(b *books.Books, now time.Time) ([]outbox.Letter, error) {
	letters := make([]outbox.Letter, len(o.Orders))
	for i := range o.Orders {
		m := o.Orders[i].Mail
		if len(m.To) == 0 {
			m.To = append(m.To, b.Shop.Owner) // a draft needs somebody; the warning says why
		}
		var err error
		if letters[i], err = delivery.Seal(m,
			delivery.Envelope{From: b.Shop.Owner, Date: now, Way: outbox.Draft}); err != nil {
			return nil, err
		}
	}
	return letters, nil
}

// Keep commits the orders and their letters, all or nothing; delivery.WriteFiles writes the drafts.
func (o *Ordering) Keep(ctx context.Context, b *books.Books, now time.Time) ([]outbox.Letter, error) {
	letters, err := o.Seal(b, now)
	if err != nil {
		return nil, err
	}
	err = b.Store.InTx(ctx, func(tx *store.Tx) error {
		if err := tx.TakeForm(0); err != nil {
			return err
		}
		if err := o.Commit(tx); err != nil {
			return err
		}
		return tx.EnqueueAll(letters)
	})
	return letters, err
}
