package reorder

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
)

// meetTerms meets each garment's minimum, takes price breaks that pay for
// themselves, and meets suppliers' minimum orders. It never lowers a quantity.
func (b *buying) meetTerms() {
	for i := range b.shop.Garments {
		b.fitGarment(&b.shop.Garments[i])
	}
	for i := range b.shop.Suppliers {
		b.fitSupplier(&b.shop.Suppliers[i])
	}
}

func (b *buying) fitGarment(g *programme.Garment) {
	own := func(p *purchase) bool { return p.Garment == g.Code }
	others := b.along.Garments[g.Code]
	if b.pieces(own) == 0 {
		return
	}
	why := fmt.Sprintf("the supplier sells no fewer than %d of this garment", g.Minimum)
	b.topUp(own, why, func() bool { return b.pieces(own)+others >= g.Minimum })
	b.tryBreaks(g, own, others)
}

// tryBreaks buys up to a price break where the whole garment then costs less
// than without it.
func (b *buying) tryBreaks(g *programme.Garment, own func(*purchase) bool, others int) {
	best := b.cost(own, g, b.pieces(own)+others)
	lines := b.lines
	for _, br := range g.Breaks {
		trial := buying{shop: b.shop, along: b.along, lines: append([]purchase(nil), b.lines...)}
		why := fmt.Sprintf("from %d pieces on each costs %g %% less, and the larger order costs less in all",
			br.From, br.Percent)
		trial.topUp(own, why, func() bool { return trial.pieces(own)+others >= br.From })
		if cost := trial.cost(own, g, trial.pieces(own)+others); cost < best {
			best, lines = cost, trial.lines
		}
	}
	b.lines = lines
}

func (b *buying) fitSupplier(s *programme.Supplier) {
	own := func(p *purchase) bool { return p.list > 0 && b.supplier(p.Garment) == s.Code } // what is free fills nothing
	if b.pieces(own) == 0 {
		return
	}
	why := "the supplier's smallest order is " + s.MinimumOrder.In(b.shop.Currency)
	b.topUp(own, why, func() bool { return b.value(own)+b.along.Suppliers[s.Code] >= s.MinimumOrder })
}

// mostPacks ends a top-up that no quantity would satisfy, such as a minimum
// value of goods that a break makes free.
const mostPacks = 10000

// topUp adds a pack at a time to the line where it does most good for the
// money, until done.
func (b *buying) topUp(own func(*purchase) bool, why string, done func() bool) {
	for n := 0; n < mostPacks && !done(); n++ {
		best := -1
		for i := range b.lines {
			p := &b.lines[i]
			if own(p) && p.useful() && (best < 0 || p.nextWorth() > b.lines[best].nextWorth()) {
				best = i
			}
		}
		if best < 0 {
			return
		}
		b.lines[best].buy += b.lines[best].pack
		b.lines[best].note(why)
	}
}
