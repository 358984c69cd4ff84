package reorder

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// OrderCost is the cost of one order, whatever is in it.
type OrderCost struct {
	Handling programme.Money `json:"handling"` // the shop's ordering term
	Freight  programme.Money `json:"freight"`  // of suppliers and printers whose free limit is not reached
	SetUp    programme.Money `json:"set_up"`   // of one layout of each kind of transfer
}

// Sum returns the sum of all costs.
func (o OrderCost) Sum() programme.Money { return o.Handling + o.Freight + o.SetUp }

// LineCost holds the costs that the policy weighs for one garment, colour and size.
type LineCost struct {
	// KeptPerYear is the yearly cost of keeping a piece as a share of its cost. NeverNeeded is the part of it for
	// the chance that its size goes out of use, given the Wearers.
	KeptPerYear float64 `json:"kept_per_year"`
	NeverNeeded float64 `json:"never_needed"`
	Wearers     int     `json:"wearers"`
	// MissingWeek is the cost of a week without a needed piece.
	MissingWeek programme.Money `json:"missing_week"`
}

const weeksPerYear = 365.25 / 7

// usualMarkUp is price over cost where a programme states no price (common
// practice, no source).
const usualMarkUp = 1.8

// wearers counts, by line, the people who hold it, are owed it or will be issued
// it on a day that is known.
func wearers(in *Input) map[programme.SKU]int {
	seen := map[programme.SKU]map[string]bool{}
	add := func(k programme.SKU, who string) {
		if seen[k] == nil {
			seen[k] = map[string]bool{}
		}
		seen[k][who] = true
	}
	for i := range in.Outlooks {
		add(in.Outlooks[i].Replacement(), in.Outlooks[i].StaffID)
	}
	for _, list := range [][]Owed{in.Owed, in.Coming} {
		for i := range list {
			add(list[i].SKU, list[i].StaffID)
		}
	}
	out := make(map[programme.SKU]int, len(seen))
	for k, people := range seen {
		out[k] = len(people)
	}
	return out
}

// lineCost reckons one line.
func (c *situation) lineCost(l *Stocked) LineCost {
	k := l.sku()
	out := LineCost{Wearers: c.wearers[k]}
	price := c.priceOf(l)
	out.NeverNeeded = neverNeeded(out.Wearers, c.in.Leaving, c.startersAYear(l))
	keep := c.in.Shop.Keeping
	out.KeptPerYear = keep.CostPerYear + 1 - (1-keep.LossPerYear)*(1-out.NeverNeeded)
	out.MissingWeek = price.Times(missingShare(c.in.Shop.Missing, l.Quantity.ByCause))
	return out
}

// priceOf returns what the client pays for a piece, or about that.
func (c *situation) priceOf(l *Stocked) programme.Money {
	if p, ok := c.in.Client.PriceOf(l.sku().Garment, l.sku().Size, c.in.AsOf); ok && p > 0 {
		return p
	}
	return c.pieceCost(l).Times(usualMarkUp)
}

// neverNeeded returns the chance that in a year all who wear a size are gone, each
// leaving by themselves at the rate of leaving, and that nobody new of that size
// has come.
func neverNeeded(wearers int, leaving, starters float64) float64 {
	return math.Pow(-math.Expm1(-leaving), float64(wearers)) * math.Exp(-starters)
}

// startersAYear returns how many starters are expected to need the line in a year.
func (c *situation) startersAYear(l *Stocked) float64 {
	each := 1
	for _, k := range c.in.Client.KitLines(l.sku().Garment) {
		if k.Colour == "" || k.Colour == l.sku().Colour {
			each = max(each, k.Each)
		}
	}
	return l.Quantity.ByCause.Hires / float64(each) * weeksPerYear / float64(max(1, c.horizon.Quantity))
}

// missingShare weighs what a missing piece costs by what pieces are needed for. Whoever
// needs another size wears what they have until it comes: half as bad as a worn-out
// piece (common practice, no source).
func missingShare(m programme.Missing, by programme.Causes) float64 {
	sum := by.Sum()
	if sum <= 0 {
		return m.Starter
	}
	return (m.Worn*(by.Endings.Sum()+by.Resize/2) + m.Starter*by.Hires + m.Kit*by.Kit) / sum
}

// orderCost reckons what an order of this client causes. Freight counts where an
// order of the usual size, the economic order quantity, is not free of it.
func (c *situation) orderCost() OrderCost {
	shop := c.in.Shop
	out := OrderCost{Handling: shop.Ordering}
	suppliers, kinds := map[string]float64{}, map[string]int{}
	for i := range c.ordinary {
		l := &c.ordinary[i]
		if g, ok := shop.Garment(l.sku().Garment); ok && l.Quantity.Mean > 0 {
			suppliers[g.Supplier] += l.Quantity.Mean * float64(c.blankCost(l.sku()))
		}
	}
	for _, r := range c.in.Client.Roles {
		for _, k := range r.Kit {
			for _, d := range k.Decorations {
				if a, ok := shop.Artwork(d.Artwork); ok {
					kinds[a.Kind] = max(kinds[a.Kind], a.Inks)
				}
			}
		}
	}
	for i := range shop.Kinds {
		k := &shop.Kinds[i]
		inks, used := kinds[k.Code]
		if !used {
			continue
		}
		out.SetUp += k.SetUp + k.SetUpPerInk*programme.Money(inks)
		if _, there := suppliers[k.Printer]; !there {
			suppliers[k.Printer] = 0
		}
	}
	span := float64(max(1, c.horizon.Quantity)) / weeksPerYear
	for i := range shop.Suppliers {
		s := &shop.Suppliers[i]
		value, used := suppliers[s.Code]
		if used && (s.FreeFreightFrom == 0 || usualOrder(value/span, float64(shop.Ordering+s.Freight),
			shop.Keeping.PerYear()) < float64(s.FreeFreightFrom)) {
			out.Freight += s.Freight
		}
	}
	return out
}

// usualOrder returns the value of an economic order quantity, from value used a year.
func usualOrder(aYear, ordering, keeping float64) float64 {
	return math.Sqrt(2 * aYear * ordering / math.Max(keeping, 0.01))
}
