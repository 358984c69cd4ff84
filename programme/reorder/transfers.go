package reorder

import "github.com/kitmuster/kitmuster/programme"

// TransfersOn counts, by artwork, the transfers that the pieces of the proposal
// carry. A named piece carries what its holder's role has on that garment; a
// piece of the pool what the first role with the garment has, since new
// starters' roles are not known yet. roles maps staff numbers to role codes.
func (p *Proposal) TransfersOn(client *programme.Client, roles map[string]string) map[string]int {
	out := map[string]int{}
	for _, n := range p.Named {
		addTransfers(out, client, roles[n.StaffID], n.SKU, n.Pieces)
	}
	for _, n := range p.Pool {
		addTransfers(out, client, "", n.SKU, n.ForStarters+n.Spare)
	}
	return out
}

func addTransfers(out map[string]int, client *programme.Client, role string, k programme.SKU, pieces int) {
	for _, d := range decorations(client, role, k) {
		out[d.Artwork] += pieces
	}
}

// decorations is what that role has on the garment, or the first role that has it.
func decorations(client *programme.Client, role string, k programme.SKU) []programme.Decoration {
	if r, ok := client.Role(role); ok {
		for _, line := range r.Kit {
			if line.Garment == k.Garment && line.Colour == k.Colour {
				return line.Decorations
			}
		}
	}
	for _, line := range kitLines(client, k.Garment) {
		if line.Colour == k.Colour {
			return line.Decorations
		}
	}
	return nil
}
