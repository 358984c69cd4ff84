package round

import (
	"sort"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// weeksPerMonth turns a need over the cover into a need a month.
const weeksPerMonth = 365.2425 / 12 / 7

// needsOf lists the transfers of a proposal, ordered by artwork. weeks is how
// long the order is meant to last.
func needsOf(client *programme.Client, roles map[string]string, p *reorder.Proposal, weeks int) []sheet.Need {
	pieces := p.TransfersOn(client, roles)
	expected := map[string]float64{}
	for i := range p.Lines {
		for _, d := range reorder.DecorationsOn(client, "", p.Lines[i].SKU) {
			expected[d.Artwork] += p.Lines[i].Expected
		}
	}
	needs := make([]sheet.Need, 0, len(pieces))
	for art, n := range pieces {
		needs = append(needs, sheet.Need{Artwork: art, Pieces: n, PerMonth: expected[art] / float64(max(weeks, 1)) * weeksPerMonth})
	}
	sort.Slice(needs, func(i, j int) bool { return needs[i].Artwork < needs[j].Artwork })
	return needs
}

// rolesOf maps staff numbers to roles.
func rolesOf(people []programme.Person) map[string]string {
	roles := make(map[string]string, len(people))
	for i := range people {
		roles[people[i].StaffID] = people[i].Role
	}
	return roles
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
