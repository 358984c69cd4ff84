package simulate

import (
	"cmp"
	"iter"
	"math/rand/v2"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Newcomer is a client whose programme begins: who it is, what is so, and how well its
// endings will be written down.
type Newcomer struct {
	Client programme.Client
	Truth  Truth

	shop  *programme.Shop
	trade trade
	seed  uint64
	start programme.Date
}

// NewShop invents a shop with new clients whose truths scatter as told; at most seven,
// one of each trade.
func NewShop(clients int, s Spread, start programme.Date, rng *rand.Rand) (*programme.Shop, []Newcomer) {
	kinds := trades()
	shop := catalogue(kinds...)
	common := newShopRates(s, rng)
	rng.Shuffle(len(kinds), func(a, b int) { kinds[a], kinds[b] = kinds[b], kinds[a] })
	var list []Newcomer
	for _, t := range kinds[:min(clients, len(kinds))] {
		t.heads = heads(rng)
		t.client.Intake.PerYear = t.client.Leavers.PerYear * float64(t.heads) // in step with its headcount
		list = append(list, newcomer(&shop, t, common, s, start, rng))
	}
	return &shop, list
}

// heads draws a number of people: every other client is a small business of 3
// to 20, the rest have 21 to 45.
func heads(rng *rand.Rand) int {
	if rng.IntN(2) == 0 {
		return 3 + rng.IntN(18)
	}
	return 21 + rng.IntN(25)
}

func newcomer(shop *programme.Shop, t trade, common *rates, s Spread, start programme.Date, rng *rand.Rand) Newcomer {
	t.client.RecordsStart = start
	truth := drawTruth(shop, &t.client, t.roleShare, common, s, rng)
	return Newcomer{Client: t.client, Truth: truth, shop: shop, trade: t, seed: rng.Uint64(), start: start}
}

// Begin hires the staff and hands out their kits; from then on needs wait for Serve.
// All courses of a newcomer share all chance about people, so that ways of
// ordering are compared on the same hires and leavers.
func (n *Newcomer) Begin() *Course {
	c := newCourse(n.shop, &n.Client, n.Truth, n.trade.recorded, n.start, rand.New(rand.NewPCG(n.seed, 1)))
	c.lives = rand.New(rand.NewPCG(n.seed, 2))
	c.staffUp(n.trade.heads, n.trade.roleShare, n.trade.sites)
	return c
}

// Want is a piece that a person waits for.
type Want struct {
	SKU    programme.SKU
	Since  programme.Date // when the shop could know
	First  bool           // part of a first kit
	Before int            // pieces of this line that the same person waits for, named before this one
	Held   int            // pieces of the line in that person's hands
	Each   int            // pieces of the line in the kit
}

// Today returns the day up to which the client has lived.
func (c *Course) Today() programme.Date { return c.today }

// Week lets seven days pass, at the end of which everybody may be counted.
func (c *Course) Week(counting bool) {
	c.wearOn(week)
	if counting {
		c.countAll()
	}
}

// Serve hands out a piece for each need that take says yes to, the longest known first.
func (c *Course) Serve(take func(Want) bool) {
	slices.SortStableFunc(c.wanted, func(a, b need) int { return cmp.Compare(a.since, b.since) })
	c.drop(func(n need) bool {
		if !take(n.want()) {
			return false
		}
		c.issue(n, c.today)
		return true
	})
}

func (n *need) want() Want {
	r := &n.who.racks[n.rack]
	return Want{SKU: r.sku, Since: n.since, First: n.first, Held: len(r.pieces), Each: r.line.Each}
}

// Waiting returns the needs that the shop knows of.
func (c *Course) Waiting() []Want {
	list := make([]Want, len(c.wanted))
	before := map[*rack]int{}
	for i := range c.wanted {
		r := &c.wanted[i].who.racks[c.wanted[i].rack]
		list[i] = c.wanted[i].want()
		list[i].Before = before[r]
		before[r]++
	}
	return list
}

// Renew gives each person a whole new kit, line by line where take says yes, and takes
// back what was worn until then. It returns how many pieces came back.
func (c *Course) Renew(take func(sku programme.SKU, pieces int) bool) (early int) {
	for _, who := range c.staff {
		for i := range who.racks {
			r := &who.racks[i]
			if !take(r.sku, r.line.Each) {
				continue
			}
			if n := len(r.pieces); n > 0 {
				early += n
				c.write(programme.Movement{Date: c.today, Kind: programme.Ended, StaffID: who.person.StaffID,
					SKU: r.sku, Pieces: n, Reason: programme.NoReason})
			}
			r.pieces, r.hidden = nil, 0
			c.drop(func(n need) bool { return n.who == who && n.rack == i })
			for range r.line.Each {
				c.issue(need{who: who, rack: i}, c.today)
			}
		}
	}
	return early
}

// Line is one person's pieces of one line of the kit.
type Line struct {
	SKU       programme.SKU
	Each      int       // pieces in the kit
	LifeLeft  []float64 // of each piece in hands, the share of its washes still to come; valid until the next line
	Unwritten int       // pieces that have ended without anybody writing it down
}

// Lines returns everybody's lines.
func (c *Course) Lines() iter.Seq[Line] {
	return func(yield func(Line) bool) {
		var left []float64
		for _, who := range c.staff {
			for i := range who.racks {
				r := &who.racks[i]
				left = left[:0]
				for _, p := range r.pieces {
					left = append(left, max(0, 1-p.washes/p.life))
				}
				if !yield(Line{SKU: r.sku, Each: r.line.Each, LifeLeft: left, Unwritten: r.hidden}) {
					return
				}
			}
		}
	}
}

// Ledger returns the records in order of days. Rows of the time since it was last asked
// for stand behind those before.
func (c *Course) Ledger() []programme.Movement {
	slices.SortStableFunc(c.ledger[c.inOrder:],
		func(a, b programme.Movement) int { return cmp.Compare(a.Date, b.Date) })
	c.inOrder = len(c.ledger)
	return c.ledger
}
