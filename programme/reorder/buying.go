package reorder

import (
	"fmt"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// purchase is one line on its way from what is wanted to what is bought.
type purchase struct {
	programme.SKU
	curve   Shortage
	stock   int             // position before the order
	wanted  int             // pieces the target asks for
	shelf   int             // blanks of the shelf that are used
	pack    int             // bought in multiples of it, at least 1
	list    programme.Money // price of one blank without break
	buy     int
	because []string
}

// order returns how many of the blanks are pressed for the client: what is
// wanted, and of the rest what one more cover would use up. A decorated piece
// fits one client alone; a blank keeps its worth.
func (p *purchase) order() int {
	return min(p.shelf+p.buy, p.wanted+p.oneMoreCover())
}

// nextWorth is the expected shortage that one more pack takes away per unit of money.
func (p *purchase) nextWorth() float64 {
	level := p.stock + p.shelf + p.buy
	return worth(p.curve.At(level)-p.curve.At(level+p.pack), float64(p.list)*float64(p.pack))
}

// useful reports whether more of the line could be pressed for the client.
func (p *purchase) useful() bool { return p.buy > 0 || p.oneMoreCover() > 0 }

// oneMoreCover is the expected demand of another horizon in whole pieces.
func (p *purchase) oneMoreCover() int { return int(p.curve.Mean() + 1e-9) }

// toPacks buys what the shelf does not give, in whole packs.
func (p *purchase) toPacks() {
	missing := p.wanted - p.shelf
	p.buy = (missing + p.pack - 1) / p.pack * p.pack
	if p.buy > missing {
		p.because = append(p.because, fmt.Sprintf("sold in packs of %d", p.pack))
	}
}

// buying fits the purchases of one proposal to what suppliers sell.
type buying struct {
	shop  *programme.Shop
	along Alongside
	lines []purchase
}

// toPacks rounds every line to whole packs.
func (b *buying) toPacks() {
	for i := range b.lines {
		b.lines[i].toPacks()
	}
}

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
	bought := b.pieces(own)
	if bought == 0 {
		return
	}
	if bought+others < g.Minimum {
		why := fmt.Sprintf("the supplier sells no fewer than %d of this garment", g.Minimum)
		b.topUp(own, why, func() bool { return b.pieces(own)+others >= g.Minimum })
	}
	b.tryBreaks(g, own, others)
}

// tryBreaks buys up to a price break where the whole garment then costs less
// than without it.
func (b *buying) tryBreaks(g *programme.Garment, own func(*purchase) bool, others int) {
	best := b.cost(own, g, b.pieces(own)+others)
	lines := b.lines
	for _, br := range g.Breaks {
		before := b.pieces(own)
		if before+others >= br.From {
			continue
		}
		trial := buying{shop: b.shop, along: b.along, lines: append([]purchase(nil), b.lines...)}
		why := fmt.Sprintf("from %d pieces on each costs %g %% less, and the larger order costs less in all", br.From, br.Percent)
		trial.topUp(own, why, func() bool { return trial.pieces(own)+others >= br.From })
		if cost := trial.cost(own, g, trial.pieces(own)+others); cost < best {
			best, lines = cost, trial.lines
		}
	}
	b.lines = lines
}

func (b *buying) fitSupplier(s *programme.Supplier) {
	own := func(p *purchase) bool { return b.supplier(p.Garment) == s.Code }
	if b.pieces(own) == 0 || b.value(own)+b.along.Suppliers[s.Code] >= s.MinimumOrder {
		return
	}
	why := "the supplier's smallest order is " + s.MinimumOrder.In(b.shop.Currency)
	b.topUp(own, why, func() bool { return b.value(own)+b.along.Suppliers[s.Code] >= s.MinimumOrder })
}

// mostPacks ends a top-up that no quantity would satisfy, such as a minimum
// value of goods that cost nothing.
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

// note remembers a reason once; the slice is copied, since trials share it.
func (p *purchase) note(why string) {
	for _, w := range p.because {
		if w == why {
			return
		}
	}
	p.because = append(append([]string(nil), p.because...), why)
}

func (b *buying) pieces(own func(*purchase) bool) int {
	n := 0
	for i := range b.lines {
		if own(&b.lines[i]) {
			n += b.lines[i].buy
		}
	}
	return n
}

// cost is what the garment's purchases come to at the price of that many pieces.
func (b *buying) cost(own func(*purchase) bool, g *programme.Garment, pieces int) programme.Money {
	sum := programme.Money(0)
	for i := range b.lines {
		if p := &b.lines[i]; own(p) {
			sum += unitCost(p.list, g, pieces) * programme.Money(p.buy)
		}
	}
	return sum
}

// value is what the purchases come to, each garment at its own break.
func (b *buying) value(own func(*purchase) bool) programme.Money {
	sum := programme.Money(0)
	for i := range b.lines {
		if p := &b.lines[i]; own(p) {
			sum += b.unitCost(p) * programme.Money(p.buy)
		}
	}
	return sum
}

// unitCost is what one blank of the line costs in this round.
func (b *buying) unitCost(p *purchase) programme.Money {
	g, ok := b.shop.Garment(p.Garment)
	if !ok {
		return p.list
	}
	return unitCost(p.list, g, b.pieces(func(o *purchase) bool { return o.Garment == p.Garment })+b.along.Garments[p.Garment])
}

// unitCost takes off the best break that the number of pieces reaches.
func unitCost(list programme.Money, g *programme.Garment, pieces int) programme.Money {
	off := 0.0
	for _, br := range g.Breaks {
		if pieces >= br.From {
			off = max(off, br.Percent)
		}
	}
	return list.Times(1 - off/100)
}

func (b *buying) supplier(garment string) string {
	if g, ok := b.shop.Garment(garment); ok {
		return g.Supplier
	}
	return ""
}

// words says in one sentence why the order is not just what is wanted.
func (p *purchase) words() string {
	why := strings.Join(p.because, "; ")
	if rest := p.shelf + p.buy - p.order(); rest > 0 {
		stay := fmt.Sprintf("%d stay blank on the shelf", rest)
		if why == "" {
			return stay
		}
		why += "; " + stay
	}
	return why
}

// freight splits the blanks by supplier and adds what their way costs, shared
// with the rest of the round by value.
func (b *buying) freight() []SupplierOrder {
	var out []SupplierOrder
	for i := range b.shop.Suppliers {
		s := &b.shop.Suppliers[i]
		value := b.value(func(p *purchase) bool { return b.supplier(p.Garment) == s.Code })
		if value == 0 {
			continue
		}
		whole := value + b.along.Suppliers[s.Code]
		o := SupplierOrder{Supplier: s.Code, Value: value, ToMinimum: max(0, s.MinimumOrder-whole)}
		if s.FreeFreightFrom == 0 || whole < s.FreeFreightFrom {
			o.Freight = s.Freight.Times(float64(value) / float64(whole))
			o.ToFreeFreight = max(0, s.FreeFreightFrom-whole)
		}
		out = append(out, o)
	}
	return out
}
