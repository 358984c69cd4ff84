package reorder

import "github.com/kitmuster/kitmuster/programme"

// write turns fitted purchases into the proposal, with lines, names, dates and
// money; nil when there is nothing to press.
func (c *situation) write(d *Decision, b *buying) *Proposal {
	p := &Proposal{
		Client: c.in.Client.Code, AsOf: c.in.AsOf, State: Drafted,
		TargetFill: d.Target, FillNow: d.Fill, Holds: d.Holds, Reasons: d.Reasons,
		OrderCost: c.policy.cost, LateWeek: c.policy.lateWeek(), Events: d.Events,
	}
	c.names().cover = c.in.AsOf.Add(7 * c.planned().weeks)
	levels := make([]int, len(c.ordinary))
	for i := range levels {
		levels[i] = c.ordinary[i].position() + b.lines[i].order()
	}
	lines := c.linesAt(levels, c.planned().weeks)
	for i, part := range c.names().parted(lines) {
		p.Ending += lines[i].Endings.Sum()
		c.addLine(p, &lines[i], part, b, i)
	}
	if p.Pieces() == 0 {
		return nil
	}
	p.FillAfter = c.fillAfter(b)
	c.date(p)
	c.price(p, b)
	return p
}

// addLine writes the line with all its reasons, and names its pieces.
func (c *situation) addLine(p *Proposal, line *Line, part parting, b *buying, i int) {
	l, buy := &c.ordinary[i], &b.lines[i]
	order := buy.order()
	if order == 0 && buy.buy == 0 {
		return
	}
	price, _ := c.in.Client.PriceOf(l.sku().Garment, l.sku().Size, c.in.AsOf)
	line.AtTarget, line.Wanted, line.Order, line.Rounding = buy.stock+buy.wanted, buy.wanted, order, buy.words()
	line.BlanksOnShelf, line.Buy, line.StayBlank = buy.shelf, buy.buy, buy.shelf+buy.buy-order
	line.UnitCost, line.UnitPrice = b.unitCost(buy), price
	line.ShortBefore, line.ShortAfter = buy.curve.At(buy.stock), buy.curve.At(buy.stock+order)
	line.LineCost, line.Saves = c.policy.costs[i], c.policy.saves(i, buy.stock, order)
	named, pool := c.names().share(line, part)
	p.Lines = append(p.Lines, *line)
	p.Named = append(p.Named, named...)
	if pool.ForStarters+pool.Spare > 0 {
		p.Pool = append(p.Pool, pool)
	}
}

// fillAfter returns the expected fill rate over cover and lead time with the order.
func (c *situation) fillAfter(b *buying) float64 {
	short, needed := 0.0, 0.0
	for i := range b.lines {
		buy := &b.lines[i]
		short += buy.curve.At(buy.stock + buy.order())
		needed += buy.curve.Mean() + float64(max(0, -buy.stock))
	}
	return FillRate(short, needed)
}

// price adds up what the shop pays and what the client pays.
func (c *situation) price(p *Proposal, b *buying) {
	presses := 0.0
	at := map[programme.SKU]*Stocked{}
	for i := range c.ordinary {
		at[c.ordinary[i].sku()] = &c.ordinary[i]
	}
	for i := range p.Lines {
		l := &p.Lines[i]
		stocked := at[l.SKU]
		p.Blanks += l.UnitCost * programme.Money(l.Buy)
		p.Transfers += stocked.TransferCost * programme.Money(l.Order)
		p.Price += l.UnitPrice * programme.Money(l.Order)
		presses += float64(c.presses(stocked) * l.Order)
	}
	p.PressHours = pressHours(c.in.Shop, presses)
	p.Pressing = c.pressCost(presses)
	p.Suppliers = b.freight()
	for _, s := range p.Suppliers {
		p.Freight += s.Freight
	}
}
