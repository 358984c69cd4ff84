package reorder

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// Propose decides whether a client is due and, if so, what to order. The
// proposal is nil when the client is not due, when nothing is missing, or when
// only protective clothing is; the decision says which. The same input, with
// its lines in any order, gives the same answer.
func Propose(in Input) (*Proposal, Decision) {
	c := newCase(&in)
	d := c.decide()
	d.Holds = c.holds()
	if !d.Due {
		return nil, d
	}
	p := c.proposal(&d)
	if p == nil {
		d.Due, d.NextDue = false, in.nextRound()
		d.Reasons = append(d.Reasons, Reason{Kind: NothingToBuy})
	}
	return p, d
}

// ProposeAnyway proposes to a client that may not be due, for orders pulled
// forward; nil when nothing is wanted.
func ProposeAnyway(in Input) (*Proposal, Decision) {
	c := newCase(&in)
	d := c.decide()
	d.Holds = c.holds()
	return c.proposal(&d), d
}

// situation is one client's input, sorted and split, while it is worked on.
type situation struct {
	in       *Input
	horizon  Horizon
	lead     Lead
	ordinary []Stocked
	held     []Stocked // protective: never ordered by the program
	names    naming
}

func newCase(in *Input) *situation {
	c := &situation{in: in, horizon: in.horizon(), lead: LeadOfClient(in.Shop, in.Client), names: newNaming(in)}
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
	d.NextDue = NextDue(spreads, stock, c.in.AsOf, c.in.review(), c.lead.Days(), d.Target)
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
	for _, k := range kitLines(c.in.Client, l.sku().Garment) {
		if k.Colour == "" || k.Colour == l.sku().Colour {
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

// proposal works out quantities, names, dates and money; nil when the position
// already holds what the target asks for.
func (c *situation) proposal(d *Decision) *Proposal {
	levels, spares := c.wanted(c.ordinary)
	b := c.buying(levels, spares)
	b.fit()
	p := &Proposal{Client: c.in.Client.Code, AsOf: c.in.AsOf, State: Drafted, TargetFill: d.Target, FillNow: d.Fill, Holds: d.Holds, Reasons: d.Reasons}
	for i := range c.ordinary {
		c.addLine(p, &c.ordinary[i], &b, i)
	}
	if len(p.Lines) == 0 {
		return nil
	}
	p.FillAfter = c.fillAfter(&b)
	c.date(p)
	c.price(p, &b)
	return p
}

func (c *situation) buying(levels []int, spares []Spare) buying {
	b := buying{shop: c.in.Shop, along: c.in.Alongside, lines: make([]purchase, len(levels))}
	for i := range levels {
		l := &c.ordinary[i]
		wanted := levels[i] - spares[i].Stock
		pack := 1
		if g, ok := c.in.Shop.Garment(l.sku().Garment); ok {
			pack = max(1, g.Pack)
		}
		b.lines[i] = purchase{
			SKU: l.sku(), curve: spares[i].Shortage, stock: spares[i].Stock,
			wanted: wanted, shelf: min(wanted, max(0, l.Blanks)), pack: pack, list: c.blankCost(l.sku()),
		}
	}
	return b
}

// addLine writes the line with all its reasons, and names its pieces.
func (c *situation) addLine(p *Proposal, l *Stocked, b *buying, i int) {
	buy := &b.lines[i]
	order := buy.order()
	if order == 0 && buy.buy == 0 {
		return
	}
	q := &l.Quantity
	price, _ := c.in.Client.PriceOf(l.sku().Garment, l.sku().Size)
	line := Line{
		SKU: l.sku(), Expected: q.Mean,
		Worn: q.ByCause.Worn, Print: q.ByCause.Print, Mishap: q.ByCause.Mishap, Hires: q.ByCause.Hires,
		AtTarget: buy.stock + buy.wanted, OnHand: l.OnHand, OnOrder: l.OnOrder + l.OnOrderLater, Owed: l.Owed,
		Wanted: buy.wanted, Order: order, Rounding: buy.words(),
		BlanksOnShelf: buy.shelf, Buy: buy.buy, StayBlank: buy.shelf + buy.buy - order,
		UnitCost: b.unitCost(buy), UnitPrice: price,
		ShortBefore: buy.curve.At(buy.stock), ShortAfter: buy.curve.At(buy.stock + order),
		Demand: q.PMF,
	}
	named, pool := c.names.share(&line)
	p.Lines = append(p.Lines, line)
	p.Named = append(p.Named, named...)
	if pool.ForStarters+pool.Spare > 0 {
		p.Pool = append(p.Pool, pool)
	}
}

// fillAfter is the expected fill rate over cover and lead time with the order.
func (c *situation) fillAfter(b *buying) float64 {
	short, needed := 0.0, 0.0
	for i := range b.lines {
		buy := &b.lines[i]
		short += buy.curve.At(buy.stock + buy.order())
		needed += buy.curve.Mean() + float64(max(0, -buy.stock))
	}
	return FillRate(short, needed)
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
		line := Line{SKU: l.sku(), Order: pieces, OnHand: l.OnHand, OnOrder: l.OnOrder + l.OnOrderLater, Worn: l.Quantity.ByCause.Worn, Print: l.Quantity.ByCause.Print, Mishap: l.Quantity.ByCause.Mishap, Hires: l.Quantity.ByCause.Hires}
		named, _ := c.names.share(&line)
		out = append(out, Hold{SKU: l.sku(), Pieces: pieces, Protective: g.Protective, LabelWashes: g.LabelWashes, Named: named})
	}
	return out
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
	p.PressHours = c.pressHours(presses)
	p.Pressing = c.pressCost(presses)
	p.Suppliers = b.freight()
	for _, s := range p.Suppliers {
		p.Freight += s.Freight
	}
}

// date sets the promise: the last day for a yes, when the pieces arrive then,
// and how far the order reaches.
func (c *situation) date(p *Proposal) {
	p.LeadDays = c.lead.Days()
	p.OrderBy, p.Late = c.orderBy()
	p.Arrives = c.lead.Arrival(p.OrderBy)
	p.CoverUntil = c.in.AsOf.Add(7 * c.horizon.Quantity)
	for i := range p.Lines {
		l := &p.Lines[i]
		own := LeadOf(c.in.Shop, c.in.Client, l.Garment)
		own.Transfers = 0
		l.OrderBlanksBy = max(own.LatestYes(p.Arrives), onOrAfter(c.in.AsOf))
	}
}

// orderBy returns the last working day before the next round on which an order
// still keeps the fill rate at the target until it arrives, and whether even
// the first such day comes too late.
func (c *situation) orderBy() (programme.Date, bool) {
	first := onOrAfter(c.in.AsOf + 1)
	last := max(first, onOrBefore(c.in.nextRound()-1))
	lines := c.aheadOfNow()
	for d := last; d > first; d = onOrBefore(d - 1) {
		if c.keeps(lines, d) {
			return d, false
		}
	}
	return first, !c.keeps(lines, first)
}

func (c *situation) aheadOfNow() []ahead {
	lines := make([]ahead, len(c.ordinary))
	for i := range c.ordinary {
		l := &c.ordinary[i]
		lines[i] = ahead{NewSpread(l.Quantity, c.horizon.Quantity), l.nearPosition()}
	}
	return lines
}

// keeps reports whether the stock alone holds the target until an order of
// that day arrives; between whole weeks the shortage is taken as straight.
func (c *situation) keeps(lines []ahead, yes programme.Date) bool {
	days := c.lead.Arrival(yes).Sub(c.in.AsOf)
	w, part := days/7, float64(days%7)/7
	short, needed := 0.0, 0.0
	for _, l := range lines {
		from, to := l.short(w, l.stock), l.short(w+1, l.stock)
		short += from + part*(to-from)
		needed += l.Mean(w) + part*(l.Mean(w+1)-l.Mean(w)) + math.Max(0, -float64(l.stock))
	}
	return !tooLow(FillRate(short, needed), c.in.Client.FillRate)
}
