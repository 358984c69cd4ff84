package reorder

import "github.com/kitmuster/kitmuster/programme"

// Lead is the time between a yes and pieces in hands. Blanks and transfers
// travel at the same time, so the slower of the two counts.
type Lead struct {
	Blanks    int `json:"blanks"`    // calendar days from order to goods in the shop
	Transfers int `json:"transfers"` // calendar days from order to sheets in the shop
	Press     int `json:"press"`     // working days in the shop
	Delivery  int `json:"delivery"`  // calendar days from ready to in hands
	// Closed are days on which nobody works; they count in none of the above.
	Closed programme.ClosedDays `json:"-"`
}

// Arrival returns the day on which pieces are in hands when the yes comes on
// that day: ordered on the next working day, goods received on working days,
// pressed on working days, handed over on a working day.
func (l Lead) Arrival(yes programme.Date) programme.Date {
	c := calendar{l.Closed}
	goods := c.onOrAfter(c.add(c.onOrAfter(yes), max(l.Blanks, l.Transfers)))
	return c.onOrAfter(c.add(c.addWorking(goods, l.Press), l.Delivery))
}

// Days returns the longest lead time in calendar days, over the weekdays on
// which the yes may come and without closed days.
func (l Lead) Days() int {
	l.Closed = nil
	return l.longest(1, 7)
}

// DaysFrom returns the longest lead time of a yes on one of the days from first
// to a week after so many days, closed days and all.
func (l Lead) DaysFrom(first programme.Date, days int) int {
	usual := l.Days()
	last := first.Add(max(0, days) + 6)
	if !l.Closed.Touch(first, last.Add(usual)) {
		return usual
	}
	return max(usual, l.longest(first, last))
}

func (l Lead) longest(first, last programme.Date) (days int) {
	for d := first; d <= last; d++ {
		days = max(days, l.Arrival(d).Sub(d))
	}
	return days
}

// LatestYes returns the last working day on which a yes still brings the
// pieces by the day they are needed; it may lie in the past.
func (l Lead) LatestYes(needed programme.Date) programme.Date {
	c := calendar{l.Closed}
	d := c.onOrBefore(needed.Add(-max(l.Blanks, l.Transfers) - l.Press - l.Delivery))
	for l.Arrival(d) > needed {
		d = c.onOrBefore(d - 1)
	}
	return d
}

// GoodsBy returns the last working day on which goods must be in the shop for
// pieces to be in hands on that day.
func (l Lead) GoodsBy(inHands programme.Date) programme.Date {
	l.Blanks, l.Transfers = 0, 0
	return l.LatestYes(inHands)
}

// LeadOf returns the lead time of one garment of a client: its supplier's, the
// slowest printer's of what the client has on it, then press and delivery.
func LeadOf(shop *programme.Shop, client *programme.Client, garment string) Lead {
	l := Lead{Press: shop.PressDays, Delivery: shop.DeliveryDays, Closed: shop.Closed}
	if client.DeliveryDays > 0 {
		l.Delivery = client.DeliveryDays
	}
	if g, ok := shop.Garment(garment); ok {
		l.Blanks = supplierDays(shop, g.Supplier)
	}
	for _, line := range client.KitLines(garment) {
		for _, d := range line.Decorations {
			l.Transfers = max(l.Transfers, printerDays(shop, d.Artwork))
		}
	}
	return l
}

// LeadOfClient returns the slowest of each step over all garments of the client.
func LeadOfClient(shop *programme.Shop, client *programme.Client) Lead {
	all := Lead{Closed: shop.Closed}
	for _, r := range client.Roles {
		for _, k := range r.Kit {
			l := LeadOf(shop, client, k.Garment)
			all = Lead{max(all.Blanks, l.Blanks), max(all.Transfers, l.Transfers), l.Press, l.Delivery, shop.Closed}
		}
	}
	return all
}

// Horizon is the time for which a client's demand is to be computed, in weeks from
// the date of the muster.
type Horizon struct {
	Trigger  int `json:"trigger"`  // review and lead time, for when to order
	Quantity int `json:"quantity"` // the longest cycle that is looked at in full, and lead time
}

// lookedAt is the weeks of demand that are forecast for quantities; what an
// order lasts beyond them is reckoned at their average.
const lookedAt = 18

// Horizons returns both horizons of a round on that day; started weeks count as
// whole ones, so the stock is never asked for less than it has to last. Where
// the shop closes before an order of the next round could arrive, they reach
// further by as much.
func Horizons(shop *programme.Shop, client *programme.Client, asOf programme.Date) Horizon {
	lead := LeadOfClient(shop, client).DaysFrom(asOf, shop.ReviewDays)
	cycle := lookedAt
	if client.CoverWeeks > 0 {
		cycle = min(cycle, client.CoverWeeks)
	}
	h := Horizon{Trigger: weeks(shop.ReviewDays + lead), Quantity: cycle + weeks(lead)}
	h.Quantity = max(h.Quantity, h.Trigger)
	return h
}

func weeks(days int) int { return (days + 6) / 7 }

func supplierDays(shop *programme.Shop, code string) int {
	if s, ok := shop.Supplier(code); ok {
		return s.LeadDays
	}
	return 0
}

func printerDays(shop *programme.Shop, artwork string) int {
	a, ok := shop.Artwork(artwork)
	if !ok {
		return 0
	}
	k, ok := shop.Kind(a.Kind)
	if !ok {
		return 0
	}
	return supplierDays(shop, k.Printer)
}
