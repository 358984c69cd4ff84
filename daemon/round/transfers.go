package round

import (
	"maps"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// weeksPerMonth turns a need over the cover into a need a month.
const weeksPerMonth = 365.2425 / 12 / 7

// decorationsOf is what a piece carries whose holder is not known.
func decorationsOf(client *programme.Client, sku programme.SKU) []programme.Decoration {
	list, _ := client.Decorations("", sku)
	return list
}

// needsOf lists the transfers of a proposal, ordered by artwork. weeks is how
// long the order is meant to last.
func needsOf(client *programme.Client, people programme.Roster, p *reorder.Proposal, weeks int) []sheet.Need {
	pieces := p.TransfersOn(client, people)
	expected := map[string]float64{}
	for i := range p.Lines {
		for _, d := range decorationsOf(client, p.Lines[i].SKU) {
			expected[d.Artwork] += p.Lines[i].Expected
		}
	}
	needs := make([]sheet.Need, 0, len(pieces))
	for _, art := range slices.Sorted(maps.Keys(pieces)) {
		needs = append(needs, sheet.Need{Artwork: art, Pieces: pieces[art], PerMonth: expected[art] / float64(max(weeks, 1)) * weeksPerMonth})
	}
	return needs
}

// shareOf returns a client's part of what all sheets cost.
func shareOf(plan *sheet.Plan, client string) programme.Money {
	var sum programme.Money
	for i := range plan.Shares {
		if plan.Shares[i].Client == client {
			sum += plan.Shares[i].Cost.Total()
		}
	}
	return sum
}
