package choose

import (
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// printCost returns the cost of one transfer of an artwork when need of them are
// ordered together, ganged with nothing else; ok is false when no sheet of the
// kind holds it.
func printCost(k *programme.TransferKind, a *programme.Artwork, need int) (cost float64, ok bool) {
	guess, ok := sheet.Estimate(k, a, need)
	return guess.Each() / 100, ok
}

// blankCost returns the mean cost of a blank over the sizes people wear.
func blankCost(shop *programme.Shop, g *programme.Garment) float64 {
	mix := shop.SizeMix[g.SizeFamily]
	if len(mix) == 0 {
		mix = programme.DefaultSizeMix()
	}
	sum, weight := 0.0, 0.0
	for _, m := range mix {
		if s, ok := g.Size(m.Size); ok {
			sum += m.Share * sizeCost(shop, g, s)
			weight += m.Share
		}
	}
	if weight > 0 {
		return sum / weight
	}
	for _, s := range g.Sizes {
		sum += sizeCost(shop, g, &s)
	}
	return sum / float64(max(len(g.Sizes), 1))
}

// sizeCost returns the mean cost of a blank of one size over the garment's colours.
func sizeCost(shop *programme.Shop, g *programme.Garment, s *programme.GarmentSize) float64 {
	sum := 0.0
	for _, colour := range g.Colours {
		cost, _ := shop.BlankCost(programme.SKU{Garment: g.Code, Colour: colour, Size: s.Code})
		sum += cost.Float()
	}
	if len(g.Colours) == 0 {
		return s.Cost.Float()
	}
	return sum / float64(len(g.Colours))
}
