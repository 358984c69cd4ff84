package market

import (
	"maps"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// delivery is an order on its way.
type delivery struct {
	sku    programme.SKU
	pieces int
	on     programme.Date
	renew  bool // opens a renewal of all kits
}

// market is a client whose pieces come from a shelf that a policy fills.
type market struct {
	*Subject
	course *simulate.Course
	policy Policy
	shelf  map[programme.SKU]int
	coming []delivery
	score  Score
	today  programme.Date
}

// week is the step of a market, in days.
const week = 7

const daysPerYear = 365.25

// Run lets weeks pass for a new programme whose kits are handed out on its
// first day; from then on the shelf holds only what the policy ordered.
func (s *Subject) Run(p Policy, weeks int) Score {
	m := &market{Subject: s, course: s.Begin(), policy: p, shelf: map[programme.SKU]int{}}
	for i := 1; i <= weeks; i++ {
		m.week(s.Client.CountEveryWeeks > 0 && i%s.Client.CountEveryWeeks == 0)
	}
	m.settle()
	return m.score
}

// week lets seven days pass, hands out what arrived and reviews.
func (m *market) week(counting bool) {
	m.course.Week(counting)
	m.today = m.course.Today()
	m.score.Weeks++
	m.receive()
	m.serve()
	m.rushIfBare()
	m.place(m.policy(m.view()))
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
	m.score.ScrappedEarly += m.course.Renew(func(sku programme.SKU, pieces int) bool {
		if m.shelf[sku] < pieces {
			return false
		}
		m.shelf[sku] -= pieces
		return true
	})
}

// serve hands out what the shelf has, the longest known need first.
func (m *market) serve() {
	m.course.Serve(func(w simulate.Want) bool {
		there := m.shelf[w.SKU] > 0
		if there {
			m.shelf[w.SKU]--
		}
		if w.Since > m.today.Add(-week) {
			m.score.Needed++
			if there {
				m.score.Filled++
			}
		}
		return there
	})
}

// rushIfBare places a rush order, once a week at most, for wearers who are down to
// less than half of a line of their kit: as many pieces as bring them to half,
// less what is on its way and comes in time.
func (m *market) rushIfBare() {
	soon := map[programme.SKU]int{}
	for _, d := range m.coming {
		if d.on <= m.today.Add(m.Terms.RushDays) {
			soon[d.sku] += d.pieces
		}
	}
	bare := map[programme.SKU]int{}
	for _, w := range m.course.Waiting() {
		switch {
		case 2*(w.Held+w.Before) >= w.Each:
		case soon[w.SKU] > 0:
			soon[w.SKU]--
		default:
			bare[w.SKU]++
		}
	}
	m.rush(bare)
}

func (m *market) rush(bare map[programme.SKU]int) {
	if len(bare) == 0 {
		return
	}
	m.score.Emergencies++
	m.score.Rush += m.Terms.RushCost
	for _, k := range sorted(bare) {
		n := bare[k]
		m.coming = append(m.coming, delivery{sku: k, pieces: n, on: m.today.Add(m.Terms.RushDays)})
		cost := m.Terms.UnitCost[k.Garment].Times(float64(n))
		m.score.Rushed += n
		m.score.Pieces += n
		m.score.Goods += cost
		m.score.Rush += cost.Times(m.Terms.RushExtra)
	}
}

func (m *market) view() *View {
	v := &View{AsOf: m.today, Roster: m.course.Roster, Ledger: m.course.Ledger(), OnHand: m.shelf,
		OnOrder: map[programme.SKU]int{}, Owed: map[programme.SKU]int{}}
	for _, d := range m.coming {
		v.OnOrder[d.sku] += d.pieces
	}
	for _, w := range m.course.Waiting() {
		v.Owed[w.SKU]++
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
		for l := range m.course.Lines() {
			order[l.SKU] += l.Each
		}
	}
	if len(order) == 0 {
		return
	}
	m.score.Orders++
	m.score.Ordering += m.Terms.OrderCost
	for i, k := range sorted(order) {
		m.coming = append(m.coming, delivery{sku: k, pieces: order[k], on: m.today.Add(m.Terms.LeadDays),
			renew: d.Renew && i == 0})
		m.score.Pieces += order[k]
		m.score.Goods += m.Terms.UnitCost[k.Garment].Times(float64(order[k]))
	}
}

// tally counts the week's shelf and the wearers who go short.
func (m *market) tally() {
	for _, k := range sorted(m.shelf) {
		n := float64(m.shelf[k])
		m.score.StockWeeks += n
		m.score.Holding += m.Terms.UnitCost[k.Garment].Times(n * m.Terms.HoldingPerYear * week / daysPerYear)
	}
	for _, w := range m.course.Waiting() {
		m.score.ShortWeeks++
		m.score.MissingWeeks++
		m.score.Missing += m.missing(w)
	}
	for l := range m.course.Lines() {
		m.score.ShortWeeks += float64(l.Unwritten)
	}
}

// missing returns what a week costs in which the need waits.
func (m *market) missing(w simulate.Want) programme.Money {
	price, ok := m.Client.PriceOf(w.SKU.Garment, w.SKU.Size, m.today)
	if !ok || price == 0 {
		price = m.Terms.UnitCost[w.SKU.Garment].Times(markUp)
	}
	if w.First {
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
		m.score.Unused += m.Terms.UnitCost[k.Garment].Times(float64(m.shelf[k]))
	}
	for _, d := range m.coming {
		m.score.Unused += m.Terms.UnitCost[d.sku.Garment].Times(float64(d.pieces))
	}
	for l := range m.course.Lines() {
		for _, left := range l.LifeLeft {
			m.score.Left += m.Terms.UnitCost[l.SKU.Garment].Times(left)
		}
	}
	m.score.Goods -= m.score.Unused + m.score.Left
}

func sorted(set map[programme.SKU]int) []programme.SKU {
	return slices.SortedFunc(maps.Keys(set), programme.SKU.Compare)
}
