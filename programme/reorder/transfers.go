package reorder

import "github.com/kitmuster/kitmuster/programme"

// TransfersOn counts, by artwork, the transfers that the pieces of the proposal
// carry. A named piece carries what its holder's role has on that garment, and the
// holder's name where it has one; a piece of the pool what the first role with the
// garment has, since new starters' roles are not known yet, and no name.
func (p *Proposal) TransfersOn(shop *programme.Shop, client *programme.Client, people programme.Roster) map[string]int {
	var list []Handed
	for i := range p.Named {
		list = append(list, Handed{SKU: p.Named[i].SKU, StaffID: p.Named[i].StaffID, Pieces: p.Named[i].Pieces})
	}
	for i := range p.Pool {
		list = append(list, Handed{SKU: p.Pool[i].SKU, Pieces: p.Pool[i].ForStarters + p.Pool[i].Spare})
	}
	return p.TransfersFor(shop, client, people, list)
}

// Wearer returns the person for whom pieces are decorated: nobody for pieces of the pool, and a person without a
// name for somebody who will have left when they come.
func (p *Proposal) Wearer(people programme.Roster, staffID string) *programme.Person {
	w, ok := people.Find(staffID)
	if !ok || w.End.IsZero() || w.End >= max(p.Arrives, p.AsOf) {
		return w
	}
	nameless := *w
	nameless.PrintName = programme.NothingPrinted
	return &nameless
}

// TransfersFor counts, by artwork, the transfers on some of the pieces, as
// TransfersOn does for all.
func (p *Proposal) TransfersFor(shop *programme.Shop, client *programme.Client, people programme.Roster,
	list []Handed) map[string]int {
	out := map[string]int{}
	for i := range list {
		on, _ := client.DecorationsOf(shop, p.Wearer(people, list[i].StaffID), list[i].SKU)
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
