package round

import (
	"sort"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// weeksPerMonth turns a need over the cover into a need a month.
const weeksPerMonth = 365.2425 / 12 / 7

// artworksOf counts the transfers that go on one piece, by artwork. A named
// piece carries what its holder's role has printed on that garment; a pool
// piece what the first role with the garment has, since new starters' roles
// are not known yet.
func artworksOf(client *programme.Client, role string, sku programme.SKU) []programme.Decoration {
	if r, ok := client.Role(role); ok {
		if line, ok := kitLine(r, sku); ok {
			return line.Decorations
		}
	}
	for i := range client.Roles {
		if line, ok := kitLine(&client.Roles[i], sku); ok {
			return line.Decorations
		}
	}
	return nil
}

func kitLine(r *programme.Role, sku programme.SKU) (*programme.KitLine, bool) {
	for i := range r.Kit {
		if r.Kit[i].Garment == sku.Garment && r.Kit[i].Colour == sku.Colour {
			return &r.Kit[i], true
		}
	}
	return nil, false
}

// needsOf lists the transfers of a proposal, ordered by artwork. weeks is how
// long the order is meant to last.
func needsOf(client *programme.Client, roles map[string]string, p *reorder.Proposal, weeks int) []sheet.Need {
	pieces := map[string]int{}
	add := func(role string, sku programme.SKU, n int) {
		for _, d := range artworksOf(client, role, sku) {
			pieces[d.Artwork] += n
		}
	}
	for i := range p.Named {
		add(roles[p.Named[i].StaffID], p.Named[i].SKU, p.Named[i].Pieces)
	}
	for i := range p.Pool {
		add("", p.Pool[i].SKU, p.Pool[i].ForStarters+p.Pool[i].Spare)
	}
	expected := map[string]float64{}
	for i := range p.Lines {
		for _, d := range artworksOf(client, "", p.Lines[i].SKU) {
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
