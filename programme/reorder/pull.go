package reorder

import (
	"cmp"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// Shared is the cost that a client that is pulled forward shares with the round.
type Shared string

// What is shared.
const (
	SharesSheet   Shared = "sheet"   // transfers on the same sheets, or a cheaper price for more of them
	SharesMinimum Shared = "minimum" // a supplier's minimum, met without buying ahead
	SharesFreight Shared = "freight" // freight paid once, or not at all
	SharesPrice   Shared = "price"   // a price break of the blanks
)

// PullTerms say when ordering early is worth it.
type PullTerms struct {
	// WithinDays is the most days to the next due date; 0 pulls nobody.
	WithinDays int
	// Worth is the least saving for which an order is brought forward.
	Worth programme.Money
	// Keeping is the cost of goods that come early until they are needed.
	Keeping programme.Keeping
	// Most is the number of clients that are looked at, the nearest first; 0 = 12.
	Most int
	// Sharing is the number of the round's largest orders that a client's sheets are tried together with; 0 = 8.
	// Laying out a thousand clients anew for each would take longer than the round, and sharing with more saves
	// hardly more.
	Sharing int
	// Transfers returns the cost of the sheets for all these proposals together; nil leaves sheets out of the
	// comparison. It must not change the proposals.
	Transfers func([]*Proposal) programme.Money
}

// PullTermsOf returns the terms of a shop: clients due within four weeks (common practice,
// no source), at its cost of keeping goods and its least worthwhile saving.
func PullTermsOf(shop *programme.Shop) PullTerms {
	return PullTerms{WithinDays: 28, Worth: shop.WorthPulling, Keeping: shop.Keeping}
}

// Pull settles the round as Settle does, and adds clients that are nearly due
// where ordering with the others saves more than ordering early costs, and
// enough to be worth it. For each
// in turn, nearest first, it compares
//
//	apart     the round without the client, and the client by itself later
//	together  the round with the client
//
// in blanks, freight and transfers. Ordering early costs
// Keeping.PerYear × the value of the order × the days it comes early / 365, and
// since the next order then comes as many days earlier too, the part of the
// saving that those days are of the cover. Blanks that are bought only to
// meet a supplier's terms will be used some time: they count with what it costs
// to keep them for one cover. The proposal of a pulled client carries the
// saving after that cost; its decision still says when it would be due. A round
// without anybody due pulls nobody. Lines that are not worth what bringing them is
// charged wait, see Waiting. The candidates are used up: what their proposals were worked out
// from is let go of one by one.
func Pull(candidates []*Candidate, blanks map[programme.SKU]int, terms PullTerms) []Settled {
	out := make([]Settled, len(candidates))
	var due, near []*shopper
	for i, c := range candidates {
		out[i].Decision = c.Decision
		if s := c.shopper; s != nil {
			s.index = i
			if s.decision.Due {
				due = append(due, s)
			} else {
				near = append(near, s)
			}
		}
	}
	if len(due) > 0 && len(near) > 0 {
		due = append(due, newPulling(due, copyBlanks(blanks), terms).choose(near)...)
	}
	settle(due, copyBlanks(blanks))
	if leaveForLater(due, blanks, terms) {
		settle(due, copyBlanks(blanks))
	}
	for i, s := range due {
		out[s.index] = s.settled()
		due[i], candidates[s.index].shopper = nil, nil
	}
	return out
}

func (t PullTerms) near(s *shopper) bool {
	next := s.decision.NextDue
	return !next.IsZero() && next.Sub(s.in.AsOf) <= t.WithinDays
}

// compareNear puts those first that are due first.
func (s *shopper) compareNear(t *shopper) int {
	return cmp.Or(cmp.Compare(s.decision.NextDue, t.decision.NextDue),
		strings.Compare(s.in.Client.Code, t.in.Client.Code))
}

// Nearest holds the clients of a round that Pull looks at although they are not due: the nearest, as
// many as its terms say. The others of a large shop need not wait for it with all that was worked out for them.
type Nearest struct {
	most int
	list []*Candidate // the nearest first
}

// NewNearest holds nobody yet.
func NewNearest(terms PullTerms) *Nearest { return &Nearest{most: terms.most()} }

// Add takes the candidate in where it is nearly due, and keeps of the one that is then one too
// many the decision alone. Whom it holds in the end does not depend on the order of adding.
func (n *Nearest) Add(c *Candidate) {
	if c.shopper == nil || c.shopper.decision.Due {
		return
	}
	at, _ := slices.BinarySearchFunc(n.list, c, func(a, b *Candidate) int { return a.shopper.compareNear(b.shopper) })
	n.list = slices.Insert(n.list, at, c)
	if len(n.list) > n.most {
		n.list[n.most].shopper = nil
		n.list = slices.Delete(n.list, n.most, n.most+1)
	}
}

func (t PullTerms) most() int    { return orElse(t.Most, 12) }
func (t PullTerms) sharing() int { return orElse(t.Sharing, 8) }

func orElse(n, usual int) int {
	if n > 0 {
		return n
	}
	return usual
}

// pulling is the round so far, while near clients are tried.
type pulling struct {
	terms  PullTerms
	left   map[programme.SKU]int
	basket *basket
	// orders share their sheets with those that are tried; sheets is their cost.
	orders []*Proposal
	sheets programme.Money
}

func newPulling(due []*shopper, left map[programme.SKU]int, terms PullTerms) *pulling {
	p := &pulling{terms: terms, left: left, basket: settle(due, left)}
	for _, s := range due {
		if order := s.write(&s.decision, &s.buys); order != nil {
			p.orders = append(p.orders, order)
		}
	}
	slices.SortStableFunc(p.orders, func(a, b *Proposal) int {
		return cmp.Or(cmp.Compare(b.Pieces(), a.Pieces()), strings.Compare(a.Client, b.Client))
	})
	p.orders = p.orders[:min(len(p.orders), terms.sharing())]
	p.sheets = p.sheetCost(p.orders)
	return p
}

func (p *pulling) sheetCost(orders []*Proposal) programme.Money {
	if p.terms.Transfers == nil || len(orders) == 0 {
		return 0
	}
	return p.terms.Transfers(orders)
}

// choose returns the near clients that are worth pulling forward.
func (p *pulling) choose(near []*shopper) []*shopper {
	if len(p.orders) == 0 {
		return nil // those who are due need nothing bought
	}
	slices.SortStableFunc(near, (*shopper).compareNear)
	var out []*shopper
	for _, s := range near[:min(len(near), p.terms.most())] {
		if p.try(s) {
			out = append(out, s)
		}
	}
	return out
}

// try adds the client to the round when that saves money.
func (p *pulling) try(s *shopper) bool {
	apart := p.fitted(s, newBasket())
	s.buys = p.fitted(s, p.basket)
	order, alone := s.write(&s.decision, &s.buys), s.write(&s.decision, &apart)
	if order == nil || alone == nil {
		return false
	}
	orders := append(append([]*Proposal(nil), p.orders...), order)
	together := p.sheetCost(orders)
	save := p.savings(s, &apart)
	save[SharesSheet] = p.sheets + p.sheetCost([]*Proposal{alone}) - together
	kept, sooner := p.early(s, order, together-p.sheets, total(save))
	gain := total(save) - kept - sooner
	if gain <= 0 || gain < p.terms.Worth {
		return false
	}
	s.pulled = &Pulled{Saving: gain, Kept: kept, KeptPerYear: p.terms.Keeping.PerYear(), Reason: largest(save),
		NextDue: s.decision.NextDue}
	s.pulled.Supplier = p.supplierOf(s, s.pulled.Reason)
	s.decision.Reasons = append(s.decision.Reasons, Reason{Kind: PulledForward})
	p.orders, p.sheets = orders, together
	p.basket = p.basket.with(&s.buys)
	s.buys.useBlanks(p.left)
	return true
}

// fitted returns what the client would buy with that basket beside it.
func (p *pulling) fitted(s *shopper, beside *basket) buying {
	b := s.buying()
	b.takeBlanks(copyBlanks(p.left))
	b.toPacks()
	s.buys = b
	b.along = beside.beside(s)
	b.meetTerms()
	return b
}
