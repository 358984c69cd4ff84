package reorder_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// proposals is the whole way from records to an order, at every review.
func proposals(t require.TestingT, s *simulate.Study, subject *simulate.Subject) simulate.Policy {
	return simulate.PolicyFunc(func(v *simulate.View) simulate.Decision {
		in, err := demand.Prepare(&s.Shop, &subject.Client, v.Roster(), v.Ledger, nil, nil, v.AsOf)
		require.NoError(t, err)
		h := reorder.Horizons(&s.Shop, &subject.Client, monday)
		both := in.Forecast(7*h.Trigger, 7*h.Quantity)
		lines := reorder.Stock(both[0].Lines, both[1].Lines)
		for i := range lines {
			k := lines[i].Quantity.SKU
			lines[i].OnHand, lines[i].OnOrder, lines[i].Owed = v.OnHand[k], v.OnOrder[k], v.Owed[k]
		}
		p, d := reorder.Propose(reorder.Input{Shop: &s.Shop, Client: &subject.Client, AsOf: v.AsOf, Lines: lines})
		order := map[programme.SKU]int{}
		if p != nil {
			for _, l := range p.Lines {
				order[l.SKU] = l.Order
			}
		}
		for _, h := range d.Holds { // here somebody always says yes
			order[h.SKU] = h.Pieces
		}
		return simulate.Decision{Order: order}
	})
}

// Clients that live on under the program's orders, of which the truth is
// known: wear that differs from the shipped figures, leavers, hires, sizes.
// KITMUSTER_FULL=1 runs more of them for longer.
func TestSimulatedClientsAreServedByFewOrders(t *testing.T) {
	shops, weeks := 1, 30
	if os.Getenv("KITMUSTER_FULL") == "1" {
		shops, weeks = 6, 104
	}
	needed, filled := 0, 0
	studies := simulate.NewStudies(shops, 1, simulate.AroundPrior, programme.NewDate(2024, 3, 4), 5)
	for i := range studies {
		s := &studies[i]
		subject := &s.Subjects[0]
		score := subject.Run(proposals(t, s, subject), weeks)
		t.Logf("shop %d: fill %.3f of %d needs, %d orders", i, score.FillRate(), score.Needed, score.Orders)
		needed += score.Needed
		filled += score.Filled
		require.Less(t, score.Orders, weeks/3, "an order lasts several weeks")
	}
	require.Positive(t, needed)
	require.Greater(t, float64(filled), 0.85*float64(needed), "the shelf serves most needs at once, learning included")
}
