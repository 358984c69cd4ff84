package simulate

import (
	"cmp"
	"math/rand/v2"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Subject is one client of a study: who it is, what is so, and how well its
// endings are written down. Runs of one subject share all chance about people,
// so that policies are compared on the same hires and leavers.
type Subject struct {
	Client programme.Client
	Truth  Truth
	Terms  Terms

	shop     *programme.Shop
	trade    trade
	seed     uint64
	start    programme.Date
	recorded float64
}

// delivery is an order on its way.
type delivery struct {
	sku    programme.SKU
	pieces int
	on     programme.Date
	renew  bool // opens a renewal of all kits
}

// market is a course whose pieces come from a shelf that a policy fills.
type market struct {
	*course
	terms    *Terms
	policy   Policy
	shelf    map[programme.SKU]int
	coming   []delivery
	score    Score
	recorded int // rows of the ledger already in order
}

// Run lets weeks pass for a new programme whose kits are handed out on its
// first day; from then on the shelf holds only what the policy ordered.
func (s *Subject) Run(p Policy, weeks int) Score {
	c := newCourse(s.shop, &s.Client, s.Truth, s.recorded, s.start, rand.New(rand.NewPCG(s.seed, 1)))
	c.lives = rand.New(rand.NewPCG(s.seed, 2))
	c.staffUp(s.trade.heads, s.trade.roleShare, s.trade.sites)
	m := &market{course: c, terms: &s.Terms, policy: p, shelf: map[programme.SKU]int{}}
	for i := 1; i <= weeks; i++ {
		m.week(s.Client.CountEveryWeeks > 0 && i%s.Client.CountEveryWeeks == 0)
	}
	m.settle()
	return m.score
}

// week lets seven days pass, hands out what arrived and reviews.
func (m *market) week(counting bool) {
	m.wearOn(week)
	if counting {
		m.countAll()
	}
	m.score.Weeks++
	m.receive()
	m.serve()
	m.rushIfBare()
	m.inOrder()
	d := m.policy.Review(m.view())
	m.place(d)
	m.tally()
}

// receive puts arrived pieces on the shelf; a renewal swaps everybody's kit.
func (m *market) receive() {
	kept := m.coming[:0]
	renew := false
	for _, d := range m.coming {
		if d.on > m.today {
			kept = append(kept, d)
			continue
		}
		m.shelf[d.sku] += d.pieces
		renew = renew || d.renew
	}
	m.coming = kept
	if renew {
		m.renewAll()
	}
}

// renewAll withdraws what is in hands for a whole new kit, as far as the shelf goes.
func (m *market) renewAll() {
	for _, who := range m.staff {
		for i := range who.racks {
			r := &who.racks[i]
			if m.shelf[r.sku] < r.line.Each {
				continue
			}
			m.shelf[r.sku] -= r.line.Each
			m.score.ScrappedEarly += len(r.pieces)
			if n := len(r.pieces); n > 0 {
				m.write(programme.Movement{Date: m.today, Kind: programme.Ended, StaffID: who.person.StaffID, SKU: r.sku, Pieces: n, Reason: programme.NoReason})
			}
			r.pieces, r.hidden = nil, nil
			m.drop(func(n need) bool { return n.who == who && n.rack == i })
			for range r.line.Each {
				m.issue(need{who: who, rack: i}, m.today)
			}
		}
	}
}

// serve hands out what the shelf has, the longest known need first.
func (m *market) serve() {
	slices.SortStableFunc(m.wanted, func(a, b need) int { return cmp.Compare(a.since, b.since) })
	m.drop(func(n need) bool {
		fresh := n.since > m.today.Add(-week)
		if fresh {
			m.score.Needed++
		}
		sku := n.who.racks[n.rack].sku
		if m.shelf[sku] == 0 {
			return false
		}
		m.shelf[sku]--
		m.issue(n, m.today)
		if fresh {
			m.score.Filled++
		}
		return true
	})
}

// rushIfBare places a rush order, once a week at most, for wearers who are down to
// less than half of a line of their kit: as many pieces as bring them to half,
// less what is on its way and comes in time.
func (m *market) rushIfBare() {
	soon := map[programme.SKU]int{}
	for _, d := range m.coming {
		if d.on <= m.today.Add(m.terms.RushDays) {
			soon[d.sku] += d.pieces
		}
	}
	bare := map[programme.SKU]int{}
	for _, n := range m.wanted {
		r := &n.who.racks[n.rack]
		r.asked++
		if 2*(len(r.pieces)+r.asked-1) >= r.line.Each {
			continue
		}
		if soon[r.sku] > 0 {
			soon[r.sku]--
			continue
		}
		bare[r.sku]++
	}
	for _, n := range m.wanted {
		n.who.racks[n.rack].asked = 0
	}
	m.rush(bare)
}

func (m *market) rush(bare map[programme.SKU]int) {
	if len(bare) == 0 {
		return
	}
	m.score.Emergencies++
	m.score.Rush += m.terms.RushCost
	for _, k := range sorted(bare) {
		n := bare[k]
		m.coming = append(m.coming, delivery{sku: k, pieces: n, on: m.today.Add(m.terms.RushDays)})
		cost := m.terms.UnitCost[k.Garment].Times(float64(n))
		m.score.Rushed += n
		m.score.Pieces += n
		m.score.Goods += cost
		m.score.Rush += cost.Times(m.terms.RushExtra)
	}
}

// inOrder sorts the rows of the week that passed behind those before it.
func (m *market) inOrder() {
	tail := m.ledger[m.recorded:]
	slices.SortStableFunc(tail, func(a, b programme.Movement) int { return cmp.Compare(a.Date, b.Date) })
	m.recorded = len(m.ledger)
}

func (m *market) view() *View {
	v := &View{AsOf: m.today, Roster: m.roster, Ledger: m.ledger, OnHand: m.shelf, OnOrder: map[programme.SKU]int{}, Owed: map[programme.SKU]int{}}
	for _, d := range m.coming {
		v.OnOrder[d.sku] += d.pieces
	}
	for _, n := range m.wanted {
		v.Owed[n.who.racks[n.rack].sku]++
	}
	return v
}

// place sends the orders of a decision off.
func (m *market) place(d Decision) {
	order := map[programme.SKU]int{}
	for k, n := range d.Order {
		if n > 0 {
			order[k] += n
		}
	}
	if d.Renew {
		for _, who := range m.staff {
			for i := range who.racks {
				order[who.racks[i].sku] += who.racks[i].line.Each
			}
		}
	}
	if len(order) == 0 {
		return
	}
	m.score.Orders++
	m.score.Ordering += m.terms.OrderCost
	for i, k := range sorted(order) {
		m.coming = append(m.coming, delivery{sku: k, pieces: order[k], on: m.today.Add(m.terms.LeadDays), renew: d.Renew && i == 0})
		m.score.Pieces += order[k]
		m.score.Goods += m.terms.UnitCost[k.Garment].Times(float64(order[k]))
	}
}

// tally counts the week's shelf and the wearers who go short.
func (m *market) tally() {
	for _, k := range sorted(m.shelf) {
		n := float64(m.shelf[k])
		m.score.StockWeeks += n
		m.score.Holding += m.terms.UnitCost[k.Garment].Times(n * m.terms.HoldingPerYear * week / daysPerYear)
	}
	m.score.ShortWeeks += float64(len(m.wanted))
	m.score.MissingWeeks += float64(len(m.wanted))
	for i := range m.wanted {
		m.score.Missing += m.missing(&m.wanted[i])
	}
	for _, who := range m.staff {
		for i := range who.racks {
			m.score.ShortWeeks += float64(len(who.racks[i].hidden))
		}
	}
}

// missing returns what a week costs in which the need waits.
func (m *market) missing(n *need) programme.Money {
	k := n.who.racks[n.rack].sku
	price, ok := m.client.PriceOf(k.Garment, k.Size, m.today)
	if !ok || price == 0 {
		price = m.terms.UnitCost[k.Garment].Times(markUp)
	}
	if n.first {
		return price.Times(m.shop.Missing.Starter)
	}
	return price.Times(m.shop.Missing.Worn)
}

// markUp is price over cost where a client has no price (common practice, no source).
const markUp = 1.8

// settle takes from the goods what they did not serve for: the pieces that
// nobody wears yet, and the life that the pieces in hands still have, as a share
// of what they cost.
func (m *market) settle() {
	for _, k := range sorted(m.shelf) {
		m.score.Unused += m.terms.UnitCost[k.Garment].Times(float64(m.shelf[k]))
	}
	for _, d := range m.coming {
		m.score.Unused += m.terms.UnitCost[d.sku.Garment].Times(float64(d.pieces))
	}
	for _, who := range m.staff {
		for i := range who.racks {
			for _, p := range who.racks[i].pieces {
				m.score.Left += m.terms.UnitCost[who.racks[i].sku.Garment].Times(max(0, 1-p.washes/p.life))
			}
		}
	}
	m.score.Goods -= m.score.Unused + m.score.Left
}
