package simulate

import (
	"math/rand/v2"

	"github.com/kitmuster/kitmuster/programme"
)

// Study is one simulated shop with a few new clients, for comparing ways of ordering.
type Study struct {
	Shop     programme.Shop
	Subjects []Subject
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
func NewStudies(shops, clients int, s Spread, start programme.Date, seed uint64) []Study {
	list := make([]Study, shops)
	for i := range list {
		list[i] = newStudy(clients, s, start, rand.New(rand.NewPCG(seed, uint64(i))))
	}
	return list
}

func newStudy(clients int, s Spread, start programme.Date, rng *rand.Rand) Study {
	st := Study{Shop: catalogue()}
	kinds := trades()
	for i := range kinds {
		st.Shop.Artworks = append(st.Shop.Artworks, kinds[i].artworks...)
	}
	common := newShopRates(s, rng)
	rng.Shuffle(len(kinds), func(a, b int) { kinds[a], kinds[b] = kinds[b], kinds[a] })
	for i := range min(clients, len(kinds)) {
		st.Subjects = append(st.Subjects, newSubject(&st.Shop, kinds[i], common, s, start, rng))
	}
	return st
}

// heads draws a number of people: every other client is a small business of 3
// to 20, the rest have 21 to 45.
func heads(rng *rand.Rand) int {
	if rng.IntN(2) == 0 {
		return 3 + rng.IntN(18)
	}
	return 21 + rng.IntN(25)
}

// newSubject varies a trade: its headcount, and hires in step with it.
func newSubject(shop *programme.Shop, t trade, common *rates, s Spread, start programme.Date, rng *rand.Rand) Subject {
	t.heads = heads(rng)
	t.client.Intake.PerYear = t.client.Leavers.PerYear * float64(t.heads)
	return subjectOf(shop, t, common, s, start, rng)
}

func subjectOf(shop *programme.Shop, t trade, common *rates, s Spread, start programme.Date, rng *rand.Rand) Subject {
	t.client.RecordsStart = start
	truth := drawTruth(shop, &t.client, t.roleShare, common, s, rng)
	terms := UsualTerms()
	for i := range shop.Garments {
		terms.UnitCost[shop.Garments[i].Code] = decoratedCost(shop, &t.client, &shop.Garments[i])
	}
	return Subject{Client: t.client, Truth: truth, Terms: terms, shop: shop, trade: t, seed: rng.Uint64(), start: start, recorded: t.recorded}
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
