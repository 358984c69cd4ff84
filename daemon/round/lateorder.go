package round

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// lateOrders tells of orders whose goods have not come although the pieces that wait for them could not
// be in hands by their day if they came today.
func (p *Plan) lateOrders(ctx context.Context) ([]message.Trouble, error) {
	shop := p.books.Shop
	orders, err := supply.Orders(ctx, p.books.Store, store.OrderOrdered)
	if err != nil {
		return nil, err
	}
	ready := reorder.Lead{Press: shop.PressDays, Delivery: shop.DeliveryDays, Closed: shop.Closed}.Arrival(p.AsOf)
	var out []message.Trouble
	for i := range orders {
		o := &orders[i]
		late, first := 0, programme.Date(0)
		for _, n := range o.Proposals {
			of, err := p.books.Store.Proposal(ctx, n)
			if err != nil {
				return nil, err
			}
			missed := lateOf(&of, o, ready)
			for _, c := range missed {
				late += c.Pieces
				first = first.Earlier(c.On)
			}
		}
		if late == 0 {
			continue
		}
		out = append(out, message.Trouble{
			Kind: programme.OtherTrouble, On: o.AsOf,
			What: fmt.Sprintf("%s of order %d to %s are not in. Pieces of them are promised for %s; if they came today, those would be in hands by %s.",
				programme.NumberOf(late, "blank"), o.Number, shop.SupplierName(o.Supplier), shop.DateStyle.Date(first),
				shop.DateStyle.Date(ready)),
			Do: fmt.Sprintf("Ask the supplier. What came: kitmuster orders arrived %d; a new day: --back LINE=PIECES@DAY with it.", o.Number),
		})
	}
	return out, nil
}

// lateOf returns the pieces of a proposal that wait for blanks of an order and are promised before they can be
// ready, the earliest day first. Blanks that are missing are those of the pieces that come last.
func lateOf(p *reorder.Proposal, o *supply.Order, ready programme.Date) (out []reorder.Coming) {
	missing := map[programme.SKU]int{}
	for i := range o.Blanks {
		if b := &o.Blanks[i]; b.Proposal == p.Number {
			missing[b.SKU] += b.Pieces - b.Came
		}
	}
	coming := p.Coming()
	slices.SortStableFunc(coming, func(a, b reorder.Coming) int { return cmp.Compare(b.On, a.On) })
	for _, c := range coming {
		c.Pieces = min(c.Pieces, missing[c.SKU])
		missing[c.SKU] -= c.Pieces
		if c.Pieces > 0 && c.On < ready {
			out = append(out, c)
		}
	}
	slices.Reverse(out)
	return out
}
