package market

import (
	"math/rand/v2"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// Study is one simulated shop with a few new clients, for comparing ways of ordering.
type Study struct {
	Shop     programme.Shop
	Subjects []Subject
}

// Subject is one client of a study with the terms on which pieces are made for it.
type Subject struct {
	simulate.Newcomer
	Terms Terms
	shop  *programme.Shop
}

// UsualTerms returns the terms that studies run on unless told otherwise: a
// fortnight from order to pieces in hand, a week for rush orders at a third more,
// a quarter of a piece's cost a year for keeping it (common practice, no source).
func UsualTerms() Terms {
	return Terms{
		LeadDays: 14, RushDays: 7, OrderCost: 5500, RushExtra: 0.35, RushCost: 4500, HoldingPerYear: 0.25,
		UnitCost: map[string]programme.Money{},
	}
}

// NewStudies invents shops with new clients whose truths scatter as told.
func NewStudies(shops, clients int, s simulate.Spread, start programme.Date, seed uint64) []Study {
	list := make([]Study, shops)
	for i := range list {
		list[i] = newStudy(simulate.NewShop(clients, s, start, rand.New(rand.NewPCG(seed, uint64(i)))))
	}
	return list
}

// NewHouse is the study of the demo's clients and two small ones (see simulate.NewHouse).
func NewHouse(s simulate.Spread, start programme.Date, seed uint64) Study {
	return newStudy(simulate.NewHouse(s, start, seed))
}

func newStudy(shop *programme.Shop, clients []simulate.Newcomer) Study {
	st := Study{Shop: *shop}
	for _, n := range clients {
		terms := UsualTerms()
		for i := range shop.Garments {
			terms.UnitCost[shop.Garments[i].Code] = decoratedCost(shop, &n.Client, &shop.Garments[i])
		}
		st.Subjects = append(st.Subjects, Subject{Newcomer: n, Terms: terms, shop: shop})
	}
	return st
}

// decoratedCost returns a blank of the middle size with its transfers, printed in
// quantity, and the pressing.
func decoratedCost(shop *programme.Shop, c *programme.Client, g *programme.Garment) programme.Money {
	cost := g.Sizes[len(g.Sizes)/2].Cost
	for i := range c.Roles {
		for _, line := range c.Roles[i].Kit {
			if line.Garment != g.Code {
				continue
			}
			for _, d := range line.Decorations {
				a, _ := shop.Artwork(d.Artwork)
				// About 2.50 for a printed sheet of 13 by 19 inches.
				cost += programme.Money(250 * a.Width.Inches() * a.Height.Inches() / (13 * 19))
				cost += shop.Press.CostPerHour.Times(1 / shop.Press.PiecesPerHour)
			}
			return cost
		}
	}
	return cost
}
