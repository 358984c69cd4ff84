package replay

import (
	"cmp"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Need is one piece that had to be replaced or first issued on a day, and the
// day from which records show it.
type Need struct {
	On, Known programme.Date
	SKU       programme.SKU
}

// slot holds one person's pieces of one garment, colour and size.
type slot struct {
	staff string
	sku   programme.SKU
}

// Needs lists what the records say was needed, in order of days: pieces worn
// out, with the print gone, damaged, lost or found missing by a count, and the
// kits of people who joined. A piece found missing ended somewhere since the
// last sign of it; it is put in the middle. Pieces that came back from leavers
// or for another size are no needs of the kind that is forecast.
func Needs(shop *programme.Shop, client *programme.Client, r Records) []Need {
	needs := endings(r.Ledger)
	for i := range r.Roster {
		needs = append(needs, firstKit(shop, client, &r.Roster[i])...)
	}
	slices.SortStableFunc(needs, func(a, b Need) int { return cmp.Or(cmp.Compare(a.On, b.On), a.SKU.Compare(b.SKU)) })
	return needs
}

func endings(ledger []programme.Movement) []Need {
	var needs []Need
	held, seen := map[slot]int{}, map[slot]programme.Date{}
	for _, m := range ledger {
		at := slot{m.StaffID, m.SKU}
		lost, on := 0, m.Date
		switch m.Kind {
		case programme.Issued:
			held[at] += m.Pieces
		case programme.Ended:
			held[at] -= m.Pieces
			if !m.Reason.StillGood() {
				lost = m.Pieces
			}
		case programme.Counted:
			lost = held[at] - m.Pieces
			on = (seen[at] + m.Date) / 2
			held[at] = m.Pieces
			seen[at] = m.Date
		}
		if _, ok := seen[at]; !ok {
			seen[at] = m.Date
		}
		for range lost {
			needs = append(needs, Need{on, m.Date, m.SKU})
		}
	}
	return needs
}

// firstKit returns what a person who joined after the records began was to be given.
func firstKit(shop *programme.Shop, client *programme.Client, p *programme.Person) []Need {
	role, ok := client.Role(p.Role)
	if !ok || p.Start <= client.RecordsStart {
		return nil
	}
	var needs []Need
	for _, cuts := range role.Cuts() {
		lines := cuts[cuts.Worn(shop, p)]
		on, line, ok := lines.NextWorn(p.Start)
		if !ok {
			continue
		}
		g, ok := shop.Garment(line.Garment)
		if !ok {
			continue
		}
		for n := range line.Each {
			due, known := on, p.Start
			if n >= line.AtFirst() {
				due = max(on, line.RestOn(p.Start))
				known = due
			}
			if p.End.IsZero() || p.End >= due {
				needs = append(needs, Need{due, known, programme.SKU{Garment: g.Code, Colour: line.Colour,
					Size: g.SizeOf(p)}})
			}
		}
	}
	return needs
}

// Between counts the needs after one day up to and including another, by what is needed.
func Between(needs []Need, after, until programme.Date) map[programme.SKU]int {
	return counted(needs, func(n *Need) bool { return n.On > after && n.On <= until })
}

// Came counts what a forecast of a day speaks of: the needs up to and including
// another day that records did not show yet on the first. A piece that had ended
// by then, and was missed only at a later count, is among them.
func Came(needs []Need, asOf, until programme.Date) map[programme.SKU]int {
	return counted(needs, func(n *Need) bool { return n.Known > asOf && n.On <= until })
}

func counted(needs []Need, in func(*Need) bool) map[programme.SKU]int {
	count := map[programme.SKU]int{}
	for i := range needs {
		if in(&needs[i]) {
			count[needs[i].SKU]++
		}
	}
	return count
}

// recordsBegan returns the day of the first entry after holdings that are only assumed from
// past orders, or no date where none are; not ok = there is nothing but those.
func recordsBegan(ledger []programme.Movement) (day programme.Date, ok bool) {
	first := slices.IndexFunc(ledger, func(m programme.Movement) bool { return !m.Assumed })
	if first > 0 {
		return ledger[first].Date, true
	}
	return 0, first == 0 || len(ledger) == 0
}

// LastCount returns the day of the newest count, or no date when nothing was ever counted.
func LastCount(ledger []programme.Movement) programme.Date {
	last := programme.Date(0)
	for _, m := range ledger {
		if m.Kind == programme.Counted {
			last = max(last, m.Date)
		}
	}
	return last
}
