package study

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// ByProposals orders what the program proposes, and says yes at once.
// Protective clothing, which the program holds for a person's yes, gets it.
func ByProposals(st *simulate.Study, subject *simulate.Subject) simulate.Policy {
	return &proposing{shop: &st.Shop, client: &subject.Client}
}

// proposing looks again at a client in the weeks before it is expected to be
// due, and in any case every third week. A shop's round looks every week; the
// weeks left out only cost the program, and save two thirds of the computing.
type proposing struct {
	shop   *programme.Shop
	client *programme.Client
	next   programme.Date
	tell   func(*demand.Input) // what is known beyond the records; nil = nothing
}

const (
	lookAhead  = 14 // days before the expected date from which every week is looked at
	lookAgain  = 21 // days after which it is looked at anyway
	daysOfWeek = 7
)

// Review implements simulate.Policy.
func (p *proposing) Review(v *simulate.View) simulate.Decision {
	if v.AsOf < p.next {
		return simulate.Decision{}
	}
	order, decision, err := p.propose(v)
	if err != nil {
		// The simulator's own programmes always resolve.
		panic(fmt.Sprintf("study: %v", err))
	}
	p.next = v.AsOf.Add(daysOfWeek)
	if !decision.Due {
		p.next = v.AsOf.Add(lookAgain)
		if !decision.NextDue.IsZero() {
			p.next = min(p.next, max(v.AsOf.Add(daysOfWeek), decision.NextDue.Add(-lookAhead)))
		}
	}
	return simulate.Decision{Order: order}
}

func (p *proposing) propose(v *simulate.View) (map[programme.SKU]int, reorder.Decision, error) {
	shop, client := p.shop, p.client
	in, err := demand.Prepare(shop, client, v.Roster(), v.Ledger, nil, nil, v.AsOf)
	if err != nil {
		return nil, reorder.Decision{}, err
	}
	if p.tell != nil {
		p.tell(in)
	}
	h := reorder.Horizons(shop, client, v.AsOf)
	near, far := musters(in, h)
	lines := reorder.Stock(near, far.Lines)
	for i := range lines {
		l := &lines[i]
		l.OnHand, l.OnOrder = v.OnHand[l.Quantity.SKU], v.OnOrder[l.Quantity.SKU]
	}
	made, d := reorder.Propose(reorder.Input{Shop: shop, Client: client, AsOf: v.AsOf, Lines: lines, Outlooks: far.Pieces})
	order := map[programme.SKU]int{}
	for _, hold := range d.Holds {
		order[hold.SKU] += hold.Pieces
	}
	if made != nil {
		for i := range made.Lines {
			order[made.Lines[i].SKU] += made.Lines[i].Order
		}
	}
	return order, d, nil
}

// musters are the forecasts over the trigger and the quantity horizon.
func musters(in *demand.Input, h reorder.Horizon) (near []demand.Line, far demand.Muster) {
	ms := in.Forecast(7*h.Trigger, 7*h.Quantity)
	return ms[0].Lines, ms[len(ms)-1]
}
