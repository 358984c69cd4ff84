package round

import (
	"context"
	"maps"
	"slices"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// monthly returns the usual need a month of each artwork that a client's garments
// carry, by a forecast.
func monthly(shop *programme.Shop, client *programme.Client, ahead *demand.Muster) map[string]float64 {
	perMonth := map[string]float64{}
	for i := range ahead.Lines {
		on, _ := client.Decorations(shop, "", ahead.Lines[i].SKU)
		for _, d := range on {
			perMonth[d.Artwork] += ahead.Lines[i].Mean / float64(max(1, ahead.Weeks)) * supply.WeeksPerMonth
		}
	}
	return perMonth
}

// sparesOf returns what may be printed for a client where a sheet has room: the need
// after this order of every artwork that its garments carry, and its other
// artworks, whose use nobody knows.
func sparesOf(shop *programme.Shop, client *programme.Client, p *reorder.Proposal,
	monthly map[string]float64) []sheet.Spare {
	perMonth := maps.Clone(monthly)
	for _, a := range shop.Transfers() {
		if a.Client == client.Code {
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

// SparesOn tells, on a day, what may be printed for the client of a job where a
// sheet has room. The forecast behind it is made when it is first asked.
func SparesOn(b *books.Books, asOf programme.Date) func(context.Context, *supply.Job) ([]sheet.Spare, error) {
	var f *forecast.Forecaster
	return func(ctx context.Context, j *supply.Job) (_ []sheet.Spare, err error) {
		if f == nil {
			if f, err = forecast.New(ctx, b, asOf); err != nil {
				return nil, err
			}
		}
		in, err := f.Inspect(ctx, j.Client)
		if err != nil {
			return nil, err
		}
		ahead := in.Muster(reorder.Horizons(b.Shop, j.Client, asOf).Quantity)
		return sparesOf(b.Shop, j.Client, j.Proposal, monthly(b.Shop, j.Client, &ahead)), nil
	}
}
