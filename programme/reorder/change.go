package reorder

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// LineChange asks for another number of pieces of one garment, colour and size;
// none is 0. A line that the proposal does not have is added.
type LineChange struct {
	programme.SKU
	Pieces int
}

// Without is pieces that a change takes from one person.
type Without struct {
	Named
	Pieces int
}

// Change sets other numbers of pieces, and with them names, blanks, work and money; it returns the people from whom
// pieces are taken. Pieces are taken from the pool first, then from the people of least need; added pieces go to
// the pool. Freight stays as it was: it is settled with all orders of the day. On an error nothing is changed.
func (p *Proposal) Change(shop *programme.Shop, client *programme.Client, list []LineChange) ([]Without, error) {
	if len(list) == 0 {
		return nil, nil
	}
	seen := map[programme.SKU]bool{}
	for _, c := range list {
		switch {
		case seen[c.SKU]:
			return nil, fmt.Errorf("%s is named twice", c.SKU)
		case c.Pieces < 0 || c.Pieces > mostPieces:
			return nil, fmt.Errorf("%s: %d pieces; give 0 to %d", c.SKU, c.Pieces, mostPieces)
		case p.Line(c.SKU) == nil && len(client.KitLines(c.Garment)) == 0:
			return nil, fmt.Errorf("%s is in no kit of %s, so nobody knows what to print on it; add it to the programme first", c.SKU, client.Code)
		}
		seen[c.SKU] = true
	}
	presses := p.presses(client)
	var out []Without
	for _, c := range list {
		out = append(out, p.set(shop, client, c)...)
	}
	p.reprice(shop, client, presses)
	return out, nil
}

// mostPieces of one line is more than a small shop ever presses for a client.
const mostPieces = 10000

func (p *Proposal) set(shop *programme.Shop, client *programme.Client, c LineChange) []Without {
	l := p.Line(c.SKU)
	if l == nil {
		p.Lines = append(p.Lines, newLine(shop, client, c.SKU, p.PriceDay()))
		l = &p.Lines[len(p.Lines)-1]
		l.OrderBlanksBy = p.OrderBy
		l.Changed = true
	}
	if !l.Changed {
		l.Changed, l.Offered = true, l.Order
	}
	more := c.Pieces - l.Order
	l.Order = c.Pieces
	l.buyFor(shop)
	if more >= 0 {
		if more > 0 {
			p.poolOf(c.SKU).Spare += more
		}
		return nil
	}
	return p.takeAway(c.SKU, -more)
}

// newLine returns an empty line at the list prices of a day.
func newLine(shop *programme.Shop, client *programme.Client, k programme.SKU, on programme.Date) Line {
	l := Line{SKU: k}
	l.UnitPrice, _ = client.PriceOf(k.Garment, k.Size, on)
	l.UnitCost, _ = shop.BlankCost(k)
	return l
}

// buyFor works out how many blanks the line's order needs: those of the shelf
// that were meant for it first, the others in whole packs.
func (l *Line) buyFor(shop *programme.Shop) {
	l.BlanksOnShelf = min(l.BlanksOnShelf, l.Order)
	pack := shop.PackOf(l.SKU)
	missing := l.Order - l.BlanksOnShelf
	l.Buy = (missing + pack - 1) / pack * pack
	l.StayBlank = l.BlanksOnShelf + l.Buy - l.Order
}

// takeAway takes pieces from the pool, then from named people, those of least need first.
func (p *Proposal) takeAway(k programme.SKU, pieces int) []Without {
	pool := p.poolOf(k)
	for _, n := range []*int{&pool.Spare, &pool.ForStarters} {
		off := min(*n, pieces)
		*n -= off
		pieces -= off
	}
	var out []Without
	at := p.byNeed(k)
	for i := len(at) - 1; i >= 0 && pieces > 0; i-- {
		n := &p.Named[at[i]]
		off := min(n.Pieces, pieces)
		if off == 0 {
			continue
		}
		out = append(out, Without{Named: *n, Pieces: off})
		n.Pieces -= off
		pieces -= off
	}
	p.Named = slices.DeleteFunc(p.Named, func(n Named) bool { return n.Pieces == 0 })
	return out
}

// presses returns how often the press closes for the whole proposal.
func (p *Proposal) presses(client *programme.Client) (n int) {
	for i := range p.Lines {
		n += p.Lines[i].Order * pressesOf(client, p.Lines[i].SKU)
	}
	return n
}

func pressesOf(client *programme.Client, k programme.SKU) (n int) {
	for _, line := range client.KitLines(k.Garment) {
		if line.Colour == "" || line.Colour == k.Colour {
			n = max(n, len(line.Decorations))
		}
	}
	return n
}

// reprice adds up the money of changed lines. The transfers' share of the
// sheets, which depends on what else is printed, goes by the number of presses.
func (p *Proposal) reprice(shop *programme.Shop, client *programme.Client, pressesBefore int) {
	c := situation{in: &Input{Shop: shop, Client: client}}
	p.Blanks, p.Price = 0, 0
	values := map[string]programme.Money{}
	for i := range p.Lines {
		l := &p.Lines[i]
		cost := l.UnitCost * programme.Money(l.Buy)
		p.Blanks += cost
		p.Price += l.UnitPrice * programme.Money(l.Order)
		if g, ok := shop.Garment(l.Garment); ok {
			values[g.Supplier] += cost
		}
	}
	now := p.presses(client)
	if pressesBefore > 0 {
		p.Transfers = p.Transfers.Times(float64(now) / float64(pressesBefore))
	} else {
		p.Transfers = 0
	}
	p.PressHours = pressHours(c.in.Shop, float64(now))
	p.Pressing = c.pressCost(float64(now))
	p.shareOut(shop, values)
}

// shareOut writes what each supplier of blanks is to deliver now; a supplier
// that has nothing to deliver any more asks for no freight. Printers stay.
func (p *Proposal) shareOut(shop *programme.Shop, values map[string]programme.Money) {
	var out []SupplierOrder
	p.Freight = 0
	for i := range shop.Suppliers {
		code := shop.Suppliers[i].Code
		was := p.supplier(code)
		value, blanks := values[code]
		switch {
		case was == nil && value == 0:
			continue
		case was == nil:
			was = &SupplierOrder{Supplier: code, Freight: shop.Suppliers[i].Freight}
		case blanks && value == 0:
			continue
		}
		o := *was
		if blanks {
			o.Value = value
		}
		out = append(out, o)
		p.Freight += o.Freight
	}
	p.Suppliers = out
}

// WithoutPrinters takes off what the printers of the last plan of sheets ask for
// bringing them, so that another plan's can be added.
func (p *Proposal) WithoutPrinters(shop *programme.Shop) {
	blanks := map[string]bool{}
	for i := range p.Lines {
		if g, ok := shop.Garment(p.Lines[i].Garment); ok && p.Lines[i].Buy > 0 {
			blanks[g.Supplier] = true
		}
	}
	p.Suppliers = slices.DeleteFunc(p.Suppliers, func(s SupplierOrder) bool {
		if blanks[s.Supplier] {
			return false
		}
		p.Freight -= s.Freight
		return true
	})
}

func (p *Proposal) supplier(code string) *SupplierOrder {
	for i := range p.Suppliers {
		if p.Suppliers[i].Supplier == code {
			return &p.Suppliers[i]
		}
	}
	return nil
}

// Direct proposes pieces for people by name, outside a round: a starter's kit,
// or protective clothing that somebody has said yes to. There is no forecast
// behind it. The result is in state drafted and has no number yet.
func Direct(shop *programme.Shop, client *programme.Client, asOf programme.Date, named []Named,
	spare []LineChange) (*Proposal, error) {
	lead := LeadOfClient(shop, client)
	c := calendar{shop.Closed}
	p := &Proposal{
		Client: client.Code, AsOf: asOf, Asked: asOf, State: Drafted, Revision: 1, TargetFill: client.FillRate,
		OrderBy: c.addWorking(asOf, replyDays), LeadDays: lead.DaysFrom(asOf, max(1, shop.ReviewDays)),
	}
	p.Arrives = lead.Arrival(p.OrderBy)
	p.CoverUntil = p.Arrives.Add(7 * client.CoverWeeks)
	return p, p.Add(shop, client, named, spare)
}

// Add puts pieces for people, and spares, beside what the proposal holds.
func (p *Proposal) Add(shop *programme.Shop, client *programme.Client, named []Named, spare []LineChange) error {
	more := map[programme.SKU]int{}
	var order []programme.SKU
	count := func(k programme.SKU, n int) {
		if _, seen := more[k]; !seen {
			order = append(order, k)
		}
		more[k] += n
	}
	for _, n := range named {
		count(n.SKU, n.Pieces)
	}
	for _, s := range spare {
		count(s.SKU, s.Pieces)
	}
	list := make([]LineChange, 0, len(order))
	for _, k := range order {
		now := 0
		if l := p.Line(k); l != nil {
			now = l.Order
		}
		list = append(list, LineChange{k, now + more[k]})
	}
	if _, err := p.Change(shop, client, list); err != nil {
		return err
	}
	for _, n := range named { // Change put them into the pool
		p.poolOf(n.SKU).Spare -= n.Pieces
		p.Named = append(p.Named, n)
	}
	return nil
}

// PriceDay returns the day whose prices hold: the day of the yes, and before a yes the day on which the proposal
// was worked out.
func (p *Proposal) PriceDay() programme.Date { return cmp.Or(p.Answered, p.AsOf) }

// NewPrice returns the first day after the proposal's own, up to and including until, from which a piece in it has
// another price; no date = none.
func (p *Proposal) NewPrice(client *programme.Client, until programme.Date) programme.Date {
	for _, n := range client.NewPrices(p.AsOf, until) {
		for i := range p.Lines {
			l := &p.Lines[i]
			is, _ := client.PriceOf(l.Garment, l.Size, p.AsOf)
			if then, _ := client.PriceOf(l.Garment, l.Size, n.From); l.Order > 0 && l.Garment == n.Garment &&
				then != is {
				return n.From
			}
		}
	}
	return 0
}

// PriceAnew takes the selling prices that the programme states for the day of the
// yes and returns what the price was before.
func (p *Proposal) PriceAnew(client *programme.Client) (was programme.Money) {
	was, p.Price = p.Price, 0
	for i := range p.Lines {
		l := &p.Lines[i]
		if price, ok := client.PriceOf(l.Garment, l.Size, p.PriceDay()); ok {
			l.UnitPrice = price
		}
		p.Price += l.UnitPrice * programme.Money(l.Order)
	}
	return was
}

// bySKU counts pieces by line.
func (p *Proposal) bySKU() map[programme.SKU]int {
	out := make(map[programme.SKU]int, len(p.Lines))
	for i := range p.Lines {
		out[p.Lines[i].SKU] += p.Lines[i].Order
	}
	return out
}

// Since returns the day since which an answer is missing.
func (p *Proposal) Since() programme.Date { return cmp.Or(p.Asked, p.AsOf) }

// Form returns the number of the form that is with the customer, from 1.
func (p *Proposal) Form() int { return max(1, p.Revision) }
