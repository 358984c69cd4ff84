package reorder

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// date sets the promise: the last day for a yes, when the pieces arrive then,
// and how far the order reaches.
func (c *situation) date(p *Proposal) {
	p.LeadDays = c.lead.DaysFrom(c.in.AsOf, c.in.review())
	p.OrderBy, p.Late = c.orderBy()
	p.Arrives = c.lead.Arrival(p.OrderBy)
	p.CoverUntil = max(p.Arrives+1, c.in.AsOf.Add(7*c.planned().weeks))
	for i := range p.Lines {
		l := &p.Lines[i]
		own := LeadOf(c.in.Shop, c.in.Client, l.Garment)
		own.Transfers = 0
		l.OrderBlanksBy = max(own.LatestYes(p.Arrives), c.calendar.onOrAfter(c.in.AsOf))
	}
}

// SheetsBy returns the last working day on which a printer must have the order, so
// that the transfers of the proposal are there with all else it needs; it is never before
// the last day for a yes.
func (p *Proposal) SheetsBy(shop *programme.Shop, client *programme.Client, printer string) programme.Date {
	own := LeadOfClient(shop, client)
	own.Blanks, own.Transfers = 0, supplierDays(shop, printer)
	return max(p.OrderBy, own.LatestYes(p.Arrives))
}

// replyDays is the number of working days that a client is given to answer, however late
// the order is (common practice, no source).
const replyDays = 2

// orderBy returns the last working day before the next round on which an order
// still comes soon enough, and whether even one of the first day on which an
// answer can be expected does not.
func (c *situation) orderBy() (programme.Date, bool) {
	first := c.calendar.addWorking(c.in.AsOf, replyDays)
	last := max(first, c.calendar.onOrBefore(c.in.nextRound()-1))
	lines := c.aheadOfNow()
	for d := last; d > first; d = c.calendar.onOrBefore(d - 1) {
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
	return !tooLow(FillRate(short, needed), max(c.in.Client.FillRate, soonEnough))
}

// soonEnough is the share of needs met until an order arrives below which it
// comes late (common practice, no source).
const soonEnough = 0.9
