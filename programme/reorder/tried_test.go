package reorder_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Near clients are tried with the round's largest orders, by code where they are equal, and the
// nearest of them first.
func TestWhoIsTriedWithWhom(t *testing.T) {
	shop := aShop()
	shop.Suppliers[0].Freight = 0
	var inputs []reorder.Input
	for code, rate := range map[string]float64{"a": 0.6, "b": 1.5, "c": 1.5, "d": 1} {
		inputs = append(inputs, another(shop, code, stocked(sku("tee", "M"), rate, 0)))
	}
	for i, onHand := range []int{4, 3, 4} {
		inputs = append(inputs, another(shop, fmt.Sprint("near", i), stocked(sku("tee", "L"), 0.7, onHand)))
	}
	next := map[string]programme.Date{}
	for _, in := range inputs {
		_, d := reorder.Propose(in)
		next[in.Client.Code] = d.NextDue
	}
	require.Less(t, next["near1"], next["near0"])
	require.Equal(t, next["near0"], next["near2"])

	var tried []string
	first := true
	terms := reorder.PullTerms{WithinDays: 90, Sharing: 3, Most: 2, Keeping: programme.UsualKeeping(),
		Transfers: func(list []*reorder.Proposal) programme.Money {
			with, alone := "", ""
			for _, p := range list {
				if len(p.Client) == 1 {
					with += p.Client
				} else {
					alone = p.Client
				}
			}
			if first {
				require.Equal(t, "bcd", with, "the three largest")
				first = false
			}
			if with != "" && alone != "" {
				tried = append(tried, with+" "+alone)
			}
			return programme.Money(10000 * len(list)) // nothing is saved
		}}
	reorder.PullAll(inputs, nil, terms)
	require.Equal(t, []string{"bcd near1", "bcd near0"}, tried[:2])
	require.NotContains(t, tried, "bcd near2", "no more than are looked at")
}

// What is said of a decision is kept for clients who are neither due nor near; nobody else may get a proposal.
func TestWhoMayGetAProposal(t *testing.T) {
	shop := aShop()
	terms := reorder.PullTermsOf(shop)
	due := reorder.Consider(another(shop, "a", stocked(sku("tee", "M"), 0.7, 0)), terms)
	near := reorder.Consider(nearlyDue(t, shop), terms)
	far := reorder.Consider(another(shop, "c", stocked(sku("tee", "M"), 0.2, 60)), terms)
	require.Equal(t, [3]bool{true, true, false}, [3]bool{due.Wanted(), near.Wanted(), far.Wanted()})
	require.Equal(t, [3]bool{true, false, false}, [3]bool{due.Decision.Due, near.Decision.Due, far.Decision.Due})
}

// Of pieces that come on the same day as others one back-order is told; those without a day go first.
func TestBackOrdersOfOneDayAreOne(t *testing.T) {
	p := &reorder.Proposal{Arrives: monday + 9, Lines: []reorder.Line{{SKU: sku("tee", "M"), Order: 10}}}
	deliver := func(d reorder.Delivery) {
		d.SKU = sku("tee", "M")
		_, err := p.Deliver([]reorder.Delivery{d})
		require.NoError(t, err)
	}
	deliver(reorder.Delivery{Back: 3, BackOn: monday + 30})
	deliver(reorder.Delivery{Back: 2, BackOn: monday + 20})
	deliver(reorder.Delivery{Back: 1, BackOn: monday + 30})
	require.Equal(t, []reorder.BackOrder{{Pieces: 2, On: monday + 20}, {Pieces: 4, On: monday + 30}},
		p.Lines[0].BackOrders)
	require.Equal(t, []reorder.Coming{
		{SKU: sku("tee", "M"), BackOrder: reorder.BackOrder{Pieces: 2, On: monday + 20}},
		{SKU: sku("tee", "M"), BackOrder: reorder.BackOrder{Pieces: 4, On: monday + 30}},
		{SKU: sku("tee", "M"), BackOrder: reorder.BackOrder{Pieces: 4, On: monday + 9}},
	}, p.Coming())
	deliver(reorder.Delivery{Came: 4})
	require.Len(t, p.Lines[0].BackOrders, 2, "those without a day came")
	deliver(reorder.Delivery{Came: 1, GivenUp: 1})
	require.Equal(t, []reorder.BackOrder{{Pieces: 4, On: monday + 30}}, p.Lines[0].BackOrders, "the earliest first")
	deliver(reorder.Delivery{Came: 3})
	require.Equal(t, []reorder.BackOrder{{Pieces: 1, On: monday + 30}}, p.Lines[0].BackOrders)
	require.Equal(t, 1, p.Outstanding())
	require.Error(t, p.Again(sku("tee", "M"), 2, false), "no more than are to come")
	require.Error(t, p.Again(sku("tee", "M"), 0, false))
	require.NoError(t, p.Again(sku("tee", "M"), 1, false))
	require.Equal(t, 1, p.Lines[0].ToRemake)
	require.Error(t, p.Again(sku("tee", "M"), 1, false), "they are noted already")
	require.NoError(t, p.Again(sku("tee", "M"), 3, true), "three of those that came")
	require.Equal(t, [3]int{5, 4, 3}, [3]int{p.Lines[0].Pressed, p.Lines[0].ToRemake, p.Lines[0].Spoilt})
	require.Equal(t, 4, p.Outstanding())
}
