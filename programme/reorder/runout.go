package reorder

import (
	"cmp"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// RunOut lets pieces of a line that is to run out meet the need of the line in its
// place, as far as finished pieces and blanks of it last: what is missing today first,
// then what is due on a known day, then what is likeliest to end. Only the rest is need
// of the new line. Blanks are those that nobody has taken yet; what is used is taken off.
func RunOut(in *Input, blanks map[programme.SKU]int) {
	at := make(map[programme.SKU]int, len(in.Lines))
	for i := range in.Lines {
		at[in.Lines[i].sku()] = i
	}
	for _, r := range runningOut(in) {
		for i := range in.Lines {
			k := in.Lines[i].sku()
			if k.Garment != r.next.Garment || k.Colour != r.next.Colour {
				continue
			}
			old := programme.SKU{Garment: r.former.Garment, Colour: r.former.Colour, Size: k.Size}
			if j, ok := at[old]; ok {
				in.useUp(&in.Lines[j], &in.Lines[i], blanks)
			}
		}
	}
}

// OldBlanks divides the blanks of lines that run out among the clients, by client code: all of one garment and
// colour go to the first client who has the line, so that no two count on them.
func OldBlanks(clients []*programme.Client, there map[programme.SKU]int) map[string]map[programme.SKU]int {
	out := make(map[string]map[programme.SKU]int)
	taken := map[programme.Former]bool{}
	for _, c := range clients {
		mine := map[programme.SKU]int{}
		first := map[programme.Former]bool{}
		for i := range c.Roles {
			for _, l := range c.Roles[i].Kit {
				if l.Change == programme.RunOut && (!taken[l.InsteadOf] || first[l.InsteadOf]) {
					taken[l.InsteadOf], first[l.InsteadOf] = true, true
				}
			}
		}
		for k, n := range there {
			if first[programme.Former{Garment: k.Garment, Colour: k.Colour}] {
				mine[k] = n
			}
		}
		out[c.Code] = mine
	}
	return out
}

type running struct{ former, next programme.Former }

// runningOut lists what runs out, where an order of today already brings the line in
// its place.
func runningOut(in *Input) (out []running) {
	arrives := lastArrival(in.Shop, in.Client, in.AsOf)
	for i := range in.Client.Roles {
		for j := range in.Client.Roles[i].Kit {
			l := &in.Client.Roles[i].Kit[j]
			r := running{l.InsteadOf, l.Former()}
			if l.Change == programme.RunOut && l.From <= arrives && !slices.Contains(out, r) {
				out = append(out, r)
			}
		}
	}
	return out
}

// useUp moves need from the next line to the old one.
func (in *Input) useUp(old, next *Stocked, blanks map[programme.SKU]int) {
	if old.Quantity.Mean >= leastMean || old.Owed > 0 { // another role wears it on
		return
	}
	k, kept := old.sku(), old.Quantity
	there := max(0, old.position()) + blanks[k]
	if there == 0 {
		return
	}
	old.RunsOut, old.Blanks = true, blanks[k]
	if len(next.Trigger.PMF) > 0 {
		old.Trigger, next.Trigger = next.Trigger.Split(k, there)
	}
	old.Quantity, next.Quantity = next.Quantity.Split(k, there)
	old.Quantity.OnHand, old.Quantity.OnOrder = kept.OnHand, kept.OnOrder
	used := min(there, int(old.Quantity.Mean+0.999)+old.Quantity.Owed)
	blanks[k] -= max(0, used-max(0, old.position()))
	old.Owed, next.Owed = old.Quantity.Owed, next.Owed-old.Quantity.Owed
	in.Owed, there = turn(in.Owed, next.sku(), k, there)
	in.Coming, there = turn(in.Coming, next.sku(), k, there)
	var likely []int
	for i := range in.Outlooks {
		if in.Outlooks[i].Replacement() == next.sku() && in.Outlooks[i].PEnd > 0 {
			likely = append(likely, i)
		}
	}
	slices.SortStableFunc(likely, func(a, b int) int { return cmp.Compare(in.Outlooks[b].PEnd, in.Outlooks[a].PEnd) })
	for _, i := range likely[:min(there, len(likely))] {
		in.Outlooks[i].Next = k
	}
}

// turn names other pieces for the first of what is wanted; left is how many of them
// remain.
func turn(list []Owed, from, to programme.SKU, pieces int) (out []Owed, left int) {
	for _, o := range list {
		n := min(o.Pieces, pieces)
		if o.SKU != from || n == 0 {
			out = append(out, o)
			continue
		}
		pieces -= n
		part := o
		part.SKU, part.Pieces = to, n
		out = append(out, part)
		if o.Pieces -= n; o.Pieces > 0 {
			out = append(out, o)
		}
	}
	return out, pieces
}
