package reorder

import (
	"math"
	"sort"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

// naming gives the pieces of each line to people: first to those who are short
// today, then to those whose pieces are likeliest to end before the cover runs
// out, as many as are expected to. What is left is the pool.
type naming struct {
	owed     map[programme.SKU][]Owed
	outlooks map[programme.SKU][]demand.Outlook
}

func newNaming(in *Input) naming {
	n := naming{owed: map[programme.SKU][]Owed{}, outlooks: map[programme.SKU][]demand.Outlook{}}
	for _, o := range in.Owed {
		n.owed[o.SKU] = append(n.owed[o.SKU], o)
	}
	for _, o := range in.Outlooks {
		if o.PEnd <= 0 {
			continue
		}
		n.outlooks[o.SKU] = append(n.outlooks[o.SKU], o)
	}
	for _, list := range n.owed {
		sort.Slice(list, func(i, j int) bool { return list[i].StaffID < list[j].StaffID })
	}
	for _, list := range n.outlooks {
		sort.SliceStable(list, func(i, j int) bool { return likelier(&list[i], &list[j]) })
	}
	return n
}

// likelier orders by chance of ending, then by whatever tells two pieces apart,
// so that the order of the input does not matter.
func likelier(a, b *demand.Outlook) bool {
	switch {
	case a.PEnd != b.PEnd:
		return a.PEnd > b.PEnd
	case a.StaffID != b.StaffID:
		return a.StaffID < b.StaffID
	case a.Issued != b.Issued:
		return a.Issued < b.Issued
	}
	return a.Washes > b.Washes
}

// share names people for the pieces of one line; named and pool together are l.Order.
func (n naming) share(l *Line) ([]Named, Pool) {
	named, left := n.nameOwed(l)
	replacements := int(math.Round(l.Endings.Sum()))
	list := n.outlooks[l.SKU]
	take := min(left, replacements, len(list))
	named = append(named, group(list[:take])...)
	left -= take
	starters := min(left, int(math.Ceil(l.Hires-1e-9)))
	return named, Pool{SKU: l.SKU, ForStarters: starters, Spare: left - starters}
}

// nameOwed gives pieces to those who are short today and whom the shelf and
// what is on order do not serve; left is what remains of the order.
func (n naming) nameOwed(l *Line) (named []Named, left int) {
	left = l.Order
	served := l.OnHand + l.OnOrder
	for _, o := range n.owed[l.SKU] {
		fromShelf := min(served, o.Pieces)
		served -= fromShelf
		if pieces := min(left, o.Pieces-fromShelf); pieces > 0 {
			named = append(named, Named{StaffID: o.StaffID, SKU: l.SKU, Pieces: pieces, Why: programme.CauseOwed, PEnd: 1})
			left -= pieces
		}
	}
	return named, left
}

// group joins the pieces of one person; the likeliest gives the reason.
func group(list []demand.Outlook) []Named {
	at := map[string]int{}
	var out []Named
	for i := range list {
		o := &list[i]
		j, seen := at[o.StaffID]
		if !seen {
			at[o.StaffID] = len(out)
			out = append(out, Named{StaffID: o.StaffID, SKU: o.SKU, Pieces: 1, Why: o.Cause, Washes: o.Washes, By: o.D50, PEnd: o.PEnd})
			continue
		}
		n := &out[j]
		n.Pieces++
		n.Washes = math.Max(n.Washes, o.Washes)
		if n.By.IsZero() || (!o.D50.IsZero() && o.D50 < n.By) {
			n.By = o.D50
		}
	}
	return out
}
