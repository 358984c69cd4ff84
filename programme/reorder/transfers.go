package reorder

import "github.com/kitmuster/kitmuster/programme"

// TransfersOn counts, by artwork, the transfers that the pieces of the proposal
// carry. A named piece carries what its holder's role has on that garment; a
// piece of the pool what the first role with the garment has, since new
// starters' roles are not known yet.
func (p *Proposal) TransfersOn(shop *programme.Shop, client *programme.Client, people programme.Roster) map[string]int {
	out := map[string]int{}
	add := func(role string, k programme.SKU, pieces int) {
		list, _ := client.Decorations(shop, role, k)
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

// TransfersFor counts, by artwork, the transfers on pieces: those of a person
// carry what the person's role has on them, others what the first role with the
// garment has.
func TransfersFor(shop *programme.Shop, client *programme.Client, people programme.Roster, list []Handed) map[string]int {
	out := map[string]int{}
	for i := range list {
		on, _ := client.Decorations(shop, people.Role(list[i].StaffID), list[i].SKU)
		for _, d := range on {
			out[d.Artwork] += list[i].Pieces
		}
	}
	return out
}

// ToPress lists the outstanding pieces with those they are for; with again, only
// those that must be made again.
func (p *Proposal) ToPress(again bool) []Handed {
	var out []Handed
	for i := range p.Lines {
		l := &p.Lines[i]
		left := l.Outstanding()
		if again {
			left = l.ToRemake
		}
		for _, at := range p.byNeed(l.SKU) {
			n := &p.Named[at]
			if take := min(left, n.Pieces-n.Got); take > 0 {
				out = append(out, Handed{SKU: l.SKU, StaffID: n.StaffID, Index: at, Pieces: take})
				left -= take
			}
		}
		if left > 0 {
			out = append(out, Handed{SKU: l.SKU, Index: -1, Pieces: left})
		}
	}
	return out
}
