package reorder_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/setup"
)

// Three people have a full kit of new polos M, and one of them takes L from now on.
// Nothing else is expected, and yet the three of L are proposed, for that person.
func TestAnExchangeIsProposedWhereNothingElseIsNeeded(t *testing.T) {
	text, err := os.ReadFile("../../testdata/bakery/shop.yaml")
	require.NoError(t, err)
	shop, err := setup.ReadShop("shop.yaml", text)
	require.NoError(t, err)
	text, err = os.ReadFile("../../testdata/bakery/harbour.yaml")
	require.NoError(t, err)
	client, err := setup.ReadClient("harbour.yaml", text, shop)
	require.NoError(t, err)
	asOf := monday
	var staff []programme.Person
	var moves []programme.Movement
	for _, id := range []string{"a", "b", "c"} {
		staff = append(staff, programme.Person{StaffID: id, Role: "supervisor", Start: asOf - 800,
			Sizes: map[string]string{"top": "M"}})
		moves = append(moves, programme.Movement{Date: asOf - 3, Kind: programme.Issued, StaffID: id,
			SKU: sku("polo", "M"), Pieces: 3})
		moves[len(moves)-1].SKU.Colour = "navy"
	}
	staff = append(staff, programme.Person{StaffID: "gone", Role: "supervisor", Start: asOf - 800, End: asOf - 1})
	propose := func() *reorder.Proposal {
		in, err := demand.Prepare(shop, client, staff, moves, nil, nil, asOf)
		require.NoError(t, err)
		ready, _ := reorder.Prepare(in)
		require.Equal(t, 3, ready.People, "whoever has left is not counted")
		h := reorder.Horizons(shop, client, asOf)
		for _, l := range ready.Lines {
			require.Len(t, l.Quantity.Weekly, h.Quantity)
			soon := 0.0
			for _, w := range l.Quantity.Weekly[:h.Trigger] {
				soon += w
			}
			require.InDelta(t, soon, l.Trigger.Mean, 0.1*soon, "what is needed within the nearer horizon")
		}
		p, _ := reorder.Propose(ready)
		return p
	}
	require.Nil(t, propose(), "all kits are new")
	staff[1].Resize("top", "L", false)
	p := propose()
	require.NotNil(t, p)
	named := 0
	for _, n := range p.Named {
		if n.Why == programme.CauseOwed {
			require.Equal(t, "b", n.StaffID)
			require.Equal(t, "L", n.Size)
			named += n.Pieces
		}
	}
	require.Equal(t, 3, named)
}
