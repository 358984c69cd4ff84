package replay

import (
	"cmp"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Records holds what a shop knows of a client's people and pieces; the ledger is
// in order of days.
type Records struct {
	Roster []programme.Person
	Ledger []programme.Movement
}

// AsOf returns what of the records was known at the end of a day: nobody who
// started later, no last day that lay ahead, no later row. Sizes are those of
// today, since a roster does not keep earlier ones.
func (r Records) AsOf(day programme.Date) Records {
	known := Records{Roster: make([]programme.Person, 0, len(r.Roster))}
	for _, p := range r.Roster {
		if p.Start > day {
			continue
		}
		if p.End > day {
			p.End = 0
		}
		known.Roster = append(known.Roster, p)
	}
	for _, m := range r.Ledger {
		if m.Date <= day {
			known.Ledger = append(known.Ledger, m)
		}
	}
	return known
}

// InOrder puts a ledger into the order of days; rows of one day keep theirs.
func InOrder(roster []programme.Person, ledger []programme.Movement) Records {
	sorted := slices.Clone(ledger)
	slices.SortStableFunc(sorted, func(a, b programme.Movement) int { return cmp.Compare(a.Date, b.Date) })
	return Records{Roster: roster, Ledger: sorted}
}
