package delivery

import (
	"context"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/outbox"
)

// settle leaves in the folder of drafts what waits for a person to send it. A
// proposal that is answered, lapsed or has a younger form, and an order that was sent
// or dropped, go out no more: a draft of them that somebody forwards asks a customer
// for a second yes, or a supplier for goods that nobody wants.
func (c *Courier) settle(ctx context.Context) error {
	if c.Drafts == nil {
		return nil
	}
	drafts, err := c.Store.Drafts(ctx)
	if err != nil || len(drafts) == 0 {
		return err
	}
	orders, err := c.Store.SupplierOrders(ctx)
	if err != nil {
		return err
	}
	written := map[string]bool{} // by the name of its letter
	for i := range orders {
		o := &orders[i]
		written[message.OrderID(o.Supplier, o.AsOf, o.Number)] = o.State == store.OrderWritten
	}
	newest := map[int64]string{}
	for i := range drafts {
		newest[drafts[i].Proposal] = drafts[i].FileName()
	}
	over := map[string]bool{}
	for i := range drafts {
		d := &drafts[i]
		waits, isOrder := written[d.FileName()]
		switch {
		case isOrder:
		case d.Proposal != 0:
			waits = d.State.Open() && newest[d.Proposal] == d.FileName()
		default:
			continue
		}
		over[folder.DraftName(&outbox.Letter{Name: d.FileName()})] = !waits
	}
	return c.Drafts.Settle(over)
}
