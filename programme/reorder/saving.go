package reorder

import "github.com/kitmuster/kitmuster/programme"

// savings compares blanks and freight apart and together, by what is shared.
func (p *pulling) savings(s *shopper, apart *buying) map[Shared]programme.Money {
	shop := s.in.Shop
	alone, both := newBasket().with(apart), p.basket.with(&s.buys)
	keep := p.terms.Keeping.PerYear() * float64(s.planned().weeks) / 52
	goods := func(b *buying) (needed, ahead programme.Money) {
		for i := range b.lines {
			l := &b.lines[i]
			unit := b.unitCost(l)
			need := min(l.buy, l.wanted-l.shelf)
			needed += unit * programme.Money(need)
			ahead += unit * programme.Money(l.buy-need)
		}
		return needed, ahead.Times(keep)
	}
	needApart, aheadApart := goods(apart)
	need, ahead := goods(&s.buys)
	others := total(p.basket.value(shop)) - (total(both.value(shop)) - s.buys.value(func(*purchase) bool {
		return true
	}))
	return map[Shared]programme.Money{
		SharesMinimum: aheadApart - ahead,
		SharesPrice:   needApart - need + others,
		SharesFreight: total(p.basket.freight(shop)) + total(alone.freight(shop)) - total(both.freight(shop)),
	}
}

// early returns what it costs to have the order now rather than when it is due: the
// goods are kept, and all later orders come sooner, so that in the days of the
// order's cover the saving is had that much less than once.
func (p *pulling) early(s *shopper, order *Proposal, transfers, saving programme.Money) (kept, sooner programme.Money) {
	days := float64(s.decision.NextDue.Sub(s.in.AsOf))
	value := order.Blanks + order.Pressing + transfers
	return value.Times(p.terms.Keeping.PerYear() * days / 365),
		saving.Times(days / float64(7*max(1, s.planned().weeks)))
}

// supplierOf names the supplier whose terms are shared, the one that the
// client buys most from.
func (p *pulling) supplierOf(s *shopper, reason Shared) string {
	if reason == SharesSheet {
		return ""
	}
	best := SupplierOrder{}
	for _, o := range s.buys.freight() {
		if o.Value > best.Value {
			best = o
		}
	}
	return best.Supplier
}

// largest names the greatest saving; of equal ones the first by name.
func largest(save map[Shared]programme.Money) Shared {
	best := Shared("")
	for _, k := range []Shared{SharesFreight, SharesMinimum, SharesPrice, SharesSheet} {
		if best == "" || save[k] > save[best] {
			best = k
		}
	}
	return best
}
