package reorder

// Propose decides whether a client is due and, if so, what to order. The
// proposal is nil when the client is not due, when nothing is missing, or when
// only protective clothing is; the decision says which. The same input, with
// its lines in any order, gives the same answer. Clients of one round that
// share suppliers or blanks are better settled together: see Settle.
func Propose(in Input) (*Proposal, Decision) {
	c := newSituation(&in)
	d := c.decide()
	c.hold(&d)
	if !d.Due {
		return nil, d
	}
	p := c.proposal(&d)
	if p == nil {
		c.nothingToBuy(&d)
	} else {
		p.Curve = c.curve(p)
	}
	return p, d
}

// proposal works out quantities, names, dates and money; nil when the position
// already holds what the target asks for.
func (c *situation) proposal(d *Decision) *Proposal {
	b := c.buying()
	b.toPacks()
	b.meetTerms()
	return c.write(d, &b)
}

// nothingToBuy takes back that a client is due: the trigger tripped, but what
// is on order, late as it is, fills the need.
func (c *situation) nothingToBuy(d *Decision) {
	d.Due, d.NextDue = false, c.in.nextRound()
	d.Reasons = append(d.Reasons, Reason{Kind: NothingToBuy})
}

// buying prepares the purchases that bring each line to its level.
func (c *situation) buying() buying {
	p := c.planned()
	levels, share := p.levels, c.coverShare(p.weeks)
	b := buying{shop: c.in.Shop, along: c.in.Alongside, lines: make([]purchase, len(levels))}
	for i := range levels {
		l := &c.ordinary[i]
		wanted := levels[i] - l.position()
		if c.later[i] {
			wanted = 0
		}
		if l.RunsOut {
			wanted = min(wanted, max(0, l.Blanks))
		}
		pack := c.in.Shop.PackOf(l.sku())
		b.lines[i] = purchase{
			SKU: l.sku(), curve: NewShortage(share(l).Demand), stock: l.position(),
			wanted: wanted, shelf: min(wanted, max(0, l.Blanks)), pack: pack, list: c.blankCost(l.sku()),
		}
	}
	return b
}
