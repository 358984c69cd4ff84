package reorder

import (
	"cmp"
	"maps"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// Settled is the result of a round for one client.
type Settled struct {
	Proposal *Proposal
	Decision Decision
}

// shopper is a client of the round on its way through the supplier's terms.
type shopper struct {
	*situation
	index    int // among the clients of the round
	decision Decision
	yes      programme.Date
	buys     buying
	pulled   *Pulled
	waits    []Waiting
}

func newShopper(in *Input) *shopper {
	s := &shopper{situation: newSituation(in)}
	s.decision = s.decide()
	s.hold(&s.decision)
	return s
}

// Candidate is a client of a round, looked at by itself.
type Candidate struct {
	Decision Decision
	shopper  *shopper // nil where the client is neither due nor near
}

// Consider decides about a client by itself. Of clients that are not due and not
// to be pulled forward under those terms only the decision is kept.
func Consider(in Input, terms PullTerms) *Candidate {
	s := newShopper(&in)
	c := &Candidate{Decision: s.decision}
	switch {
	case s.decision.Due:
		s.planned()
		s.others()
	case !terms.near(s):
		return c
	}
	if s.policy.plan != nil {
		s.policy.plan.Forget()
	}
	s.names()
	in.Outlooks, in.Date, in.Lines = nil, nil, nil // the situation has what it needs of them
	c.shopper = s
	return c
}

// Wanted reports whether the client may get a proposal in this round.
func (c *Candidate) Wanted() bool { return c.shopper != nil }

// settle fits the purchases of all shoppers to the suppliers' terms, each
// seeing what the others buy, and returns the basket. It takes the blanks used off left.
func settle(due []*shopper, left map[programme.SKU]int) *basket {
	order := append([]*shopper(nil), due...)
	for _, s := range order {
		s.yes, _ = s.orderBy()
	}
	slices.SortStableFunc(order, func(a, b *shopper) int {
		return cmp.Or(cmp.Compare(a.yes, b.yes), strings.Compare(a.in.Client.Code, b.in.Client.Code))
	})
	all := newBasket()
	for _, s := range order {
		s.buys = s.buying()
		s.buys.takeBlanks(left)
		s.buys.toPacks()
		all.add(&s.buys, 1)
	}
	for _, s := range order {
		all.add(&s.buys, -1)
		s.buys.along = all.beside(s)
		s.buys.meetTerms()
		all.add(&s.buys, 1)
	}
	for _, s := range order { // once more, now that all quantities stand
		all.add(&s.buys, -1)
		s.buys.along = all.beside(s)
		all.add(&s.buys, 1)
	}
	shareFreight(order)
	return all
}

// shareFreight parts each supplier's freight between the shoppers by value.
// Running sums are rounded, not parts, so that these add up to the cent.
func shareFreight(order []*shopper) {
	for _, s := range order {
		s.buys.carriage = map[string]programme.Money{}
	}
	if len(order) == 0 {
		return
	}
	first := order[0].in
	for i := range first.Shop.Suppliers {
		from := &first.Shop.Suppliers[i]
		whole := first.Alongside.Suppliers[from.Code]
		for _, s := range order {
			whole += s.buys.from(from.Code)
		}
		var upTo, given programme.Money
		for _, s := range order {
			if value := s.buys.from(from.Code); value > 0 {
				upTo += value
				part := from.Freight.Times(float64(upTo)/float64(whole)) - given
				given += part
				s.buys.carriage[from.Code] = part
			}
		}
	}
}

// settled writes the shopper's proposal.
func (s *shopper) settled() Settled {
	p := s.write(&s.decision, &s.buys)
	if p == nil {
		s.nothingToBuy(&s.decision)
	} else {
		// plans to choose from are worked out once, not for every trial
		p.Pulled, p.Waits, p.Curve = s.pulled, s.waits, s.curve(p)
	}
	return Settled{p, s.decision}
}

func copyBlanks(blanks map[programme.SKU]int) map[programme.SKU]int {
	if blanks == nil {
		return nil
	}
	left := make(map[programme.SKU]int, len(blanks))
	maps.Copy(left, blanks)
	return left
}

// takeBlanks uses what is left on the shop's shelf and takes it off there.
func (b *buying) takeBlanks(left map[programme.SKU]int) {
	if left == nil {
		return
	}
	for i := range b.lines {
		p := &b.lines[i]
		p.shelf = min(p.wanted, max(0, left[p.SKU]))
	}
	b.useBlanks(left)
}

// useBlanks takes the blanks that the purchases use off what is left.
func (b *buying) useBlanks(left map[programme.SKU]int) {
	for i := range b.lines {
		if p := &b.lines[i]; left != nil && p.shelf > 0 {
			left[p.SKU] -= p.shelf
		}
	}
}
