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
	return simulate.PolicyFunc(func(v *simulate.View) simulate.Decision {
		order, err := propose(&st.Shop, &subject.Client, v, subject.Terms.OrderCost)
		if err != nil {
			// The simulator's own programmes always resolve.
			panic(fmt.Sprintf("study: %v", err))
		}
		return simulate.Decision{Order: order}
	})
}

func propose(shop *programme.Shop, client *programme.Client, v *simulate.View, _ programme.Money) (map[programme.SKU]int, error) {
	in, err := demand.Prepare(shop, client, v.Roster(), v.Ledger, nil, nil, v.AsOf)
	if err != nil {
		return nil, err
	}
	h := reorder.Horizons(shop, client)
	near, far := musters(in, h)
	lines := reorder.Stock(near, far.Lines)
	for i := range lines {
		l := &lines[i]
		l.OnHand, l.OnOrder = v.OnHand[l.Quantity.SKU], v.OnOrder[l.Quantity.SKU]
	}
	p, d := reorder.Propose(reorder.Input{Shop: shop, Client: client, AsOf: v.AsOf, Lines: lines, Outlooks: far.Pieces})
	order := map[programme.SKU]int{}
	for _, hold := range d.Holds {
		order[hold.SKU] += hold.Pieces
	}
	if p != nil {
		for i := range p.Lines {
			order[p.Lines[i].SKU] += p.Lines[i].Order
		}
	}
	return order, nil
}

// musters are the forecasts over the trigger and the quantity horizon.
func musters(in *demand.Input, h reorder.Horizon) (near []demand.Line, far demand.Muster) {
	ms := in.Forecast(7*h.Trigger, 7*h.Quantity)
	return ms[0].Lines, ms[len(ms)-1]
}
