package reorder

import "github.com/kitmuster/kitmuster/programme"

// TransfersOn counts, by artwork, the transfers that the pieces of the proposal
// carry. A named piece carries what its holder's role has on that garment; a
// piece of the pool what the first role with the garment has, since new
// starters' roles are not known yet.
func (p *Proposal) TransfersOn(client *programme.Client, people programme.Roster) map[string]int {
	out := map[string]int{}
	add := func(role string, k programme.SKU, pieces int) {
		list, _ := client.Decorations(role, k)
		for _, d := range list {
			out[d.Artwork] += pieces
		}
	}
	for _, n := range p.Named {
		add(people.Role(n.StaffID), n.SKU, n.Pieces)
	}
	for _, n := range p.Pool {
		add("", n.SKU, n.ForStarters+n.Spare)
	}
	return out
}
