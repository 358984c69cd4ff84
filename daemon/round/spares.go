package round

import (
	"maps"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// sparesOf is what may be printed for a client where a sheet has room: the need
// after this order of every artwork that its garments carry, and its other
// artworks, whose use nobody knows. ahead is the forecast over the time that the
// order is meant to last.
func sparesOf(shop *programme.Shop, client *programme.Client, p *reorder.Proposal, ahead *demand.Muster) []sheet.Spare {
	perMonth := map[string]float64{}
	if ahead != nil {
		for i := range ahead.Lines {
			for _, d := range decorationsOf(client, ahead.Lines[i].SKU) {
				perMonth[d.Artwork] += ahead.Lines[i].Mean / float64(max(1, ahead.Weeks)) * weeksPerMonth
			}
		}
	}
	for i := range shop.Artworks {
		if a := &shop.Artworks[i]; a.Client == client.Code {
			perMonth[a.Code] += 0
		}
	}
	spares := make([]sheet.Spare, 0, len(perMonth))
	for _, art := range slices.Sorted(maps.Keys(perMonth)) {
		s := sheet.Spare{Artwork: art, PerMonth: perMonth[art]}
		if s.PerMonth > 0 {
			s.From = max(p.CoverUntil, p.AsOf)
		}
		spares = append(spares, s)
	}
	return spares
}
