package simulate

import "github.com/kitmuster/kitmuster/programme"

// week is the step of a Course, in days.
const week = 7

// staffUp fills the client's roles by their shares; people came at any time in
// the three years before, and their kits are handed out on the first day.
func (c *Course) staffUp(heads int, share []float64, sites []string) {
	for i := range c.client.Roles {
		n := int(float64(heads)*share[i] + 0.5)
		for k := range n {
			came := c.today.Add(-7 - c.rng.IntN(3*365))
			c.hire(&c.client.Roles[i], sites[k%len(sites)], came, c.today)
		}
	}
	c.handOutAll()
}

// live lets weeks pass until a date, with counts every so many weeks; the house
// replaces what it knows of after the while that such things take. In a week
// of counts nothing is handed out, so that the count is of a quiet day.
func (c *Course) live(until programme.Date, countEvery int) {
	for i := 1; c.today.Add(week) <= until; i++ {
		c.wearOn(week)
		if countEvery > 0 && i%countEvery == countEvery/2 {
			c.countAll()
			continue
		}
		c.replace()
	}
}

// replace hands out first kits at once and replacements when their time has come.
func (c *Course) replace() {
	c.drop(func(n need) bool {
		if !n.first && n.since.Add(n.after) > c.today {
			return false
		}
		c.issue(n, c.today)
		return true
	})
}

// forgetBefore makes records begin today: of what was before, only the pieces
// still in hands are known, each with the day it was issued.
func (c *Course) forgetBefore() {
	c.ledger, c.inOrder = c.ledger[:0], 0
	c.left = c.left[:0]
	for _, m := range c.staff {
		for i := range m.racks {
			r := &m.racks[i]
			for _, p := range r.pieces {
				c.write(programme.Movement{Date: p.issued, Kind: programme.Issued, StaffID: m.person.StaffID,
					SKU: r.sku, Pieces: 1})
			}
		}
	}
}

// handOutAll gives everybody what is known to be missing.
func (c *Course) handOutAll() {
	for _, n := range c.wanted {
		c.issue(n, c.today)
	}
	c.wanted = nil
}
