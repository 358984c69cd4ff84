package reorder

import "github.com/kitmuster/kitmuster/programme"

// situation is one client's input, sorted and split, while it is worked on.
type situation struct {
	in       *Input
	horizon  Horizon
	lead     Lead
	calendar calendar
	ordinary []Stocked
	held     []Stocked // protective: never ordered by the program
	names    naming
}

func newSituation(in *Input) *situation {
	c := &situation{in: in, horizon: in.horizon(), lead: LeadOfClient(in.Shop, in.Client), calendar: calendar{in.Shop.Closed}, names: newNaming(in)}
	for _, l := range in.sorted() {
		if in.protective(l.sku().Garment) {
			c.held = append(c.held, l)
		} else {
			c.ordinary = append(c.ordinary, l)
		}
	}
	return c
}

// decide applies the trigger to the ordinary lines.
func (c *situation) decide() Decision {
	lines := trigger(c.ordinary, c.horizon)
	d := Decision{Fill: fillOf(lines), Target: c.in.Client.FillRate}
	d.Due = tooLow(d.Fill, d.Target)
	d.Reasons = reasons(lines, d.Due)
	if d.Due {
		d.NextDue = c.in.AsOf
		return d
	}
	spreads, stock := spreadsOf(c.ordinary, c.horizon)
	d.NextDue = NextDue(spreads, stock, c.in.AsOf, c.in.review(), func(round programme.Date) int { return c.lead.DaysFrom(round, c.in.review()) }, d.Target)
	return d
}

// wanted runs the marginal analysis over the quantity horizon and returns the
// level and the curve of each line.
func (c *situation) wanted(lines []Stocked) ([]int, []Spare) {
	spares := make([]Spare, len(lines))
	for i := range lines {
		l := &lines[i]
		spares[i] = Spare{NewShortage(l.Quantity.PMF), l.position(), float64(c.pieceCost(l))}
	}
	return Levels(spares, c.in.Client.FillRate), spares
}

// pieceCost is what one finished piece costs the shop: blank, transfers, press.
func (c *situation) pieceCost(l *Stocked) programme.Money {
	return max(1, c.blankCost(l.sku())+l.TransferCost+c.pressCost(float64(c.presses(l))))
}

func (c *situation) blankCost(k programme.SKU) programme.Money {
	g, ok := c.in.Shop.Garment(k.Garment)
	if !ok {
		return 0
	}
	s, ok := g.Size(k.Size)
	if !ok {
		return 0
	}
	return s.Cost
}

// presses is how often the press closes for one piece; a garment that roles
// decorate differently counts with the most.
func (c *situation) presses(l *Stocked) int {
	n := l.Presses
	if n > 0 {
		return n
	}
	for _, k := range c.in.Client.KitLines(l.sku().Garment) {
		if k.Colour == l.sku().Colour {
			n = max(n, len(k.Decorations))
		}
	}
	return n
}

// pressHours turns presses into hours; a shop that states no rate is taken at
// 60 single-place pieces an hour (common practice, no source: 40 to 80).
func (c *situation) pressHours(presses float64) float64 {
	rate := c.in.Shop.Press.PiecesPerHour
	if rate <= 0 {
		rate = 60
	}
	return presses / rate
}

func (c *situation) pressCost(presses float64) programme.Money {
	return c.in.Shop.Press.CostPerHour.Times(c.pressHours(presses))
}

// hold notes the protective clothing that waits, as data and as a reason.
func (c *situation) hold(d *Decision) {
	d.Holds = c.holds()
	for _, h := range d.Holds {
		d.Reasons = append(d.Reasons, Reason{WaitsForAYes, h.SKU, float64(h.Pieces)})
	}
}

// holds is what the same trigger and the same analysis ask for of protective
// clothing, taken by itself.
func (c *situation) holds() []Hold {
	if !tooLow(fillOf(trigger(c.held, c.horizon)), c.in.Client.FillRate) {
		return nil
	}
	levels, spares := c.wanted(c.held)
	var out []Hold
	for i := range c.held {
		l := &c.held[i]
		pieces := levels[i] - spares[i].Stock
		g, ok := c.in.Shop.Garment(l.sku().Garment)
		if pieces <= 0 || !ok {
			continue
		}
		line := Line{SKU: l.sku(), Order: pieces, OnHand: l.OnHand, OnOrder: l.OnOrder + l.OnOrderLater, Causes: l.Quantity.ByCause}
		named, _ := c.names.share(&line)
		out = append(out, Hold{SKU: l.sku(), Pieces: pieces, Protective: g.Protective, LabelWashes: g.LabelWashes, Named: named})
	}
	return out
}
