package reorder_test

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// another is an input of a client of that code in the given shop.
func another(shop *programme.Shop, code string, lines ...reorder.Stocked) reorder.Input {
	in := anInput(lines...)
	in.Shop = shop
	in.Client.Code = code
	return in
}

func TestOneClientAloneIsSettledAsProposed(t *testing.T) {
	p, d := reorder.Propose(bakery())
	require.Equal(t, []reorder.Settled{{Proposal: p, Decision: d}}, reorder.Settle([]reorder.Input{bakery()}, nil))
}

func TestARoundSharesBlanksMinimumsAndFreight(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := aShop()
		g, s := &shop.Garments[0], &shop.Suppliers[0]
		g.Minimum = rapid.IntRange(0, 80).Draw(t, "minimum")
		g.Pack = rapid.SampledFrom([]int{1, 6}).Draw(t, "pack")
		g.Breaks = []programme.CostBreak{{From: 36, Percent: 10}}
		s.FreeFreightFrom = programme.Money(rapid.SampledFrom([]int{0, 10000, 40000}).Draw(t, "free"))
		shelf := rapid.IntRange(0, 30).Draw(t, "shelf")
		var inputs []reorder.Input
		for i := range rapid.IntRange(1, 5).Draw(t, "clients") {
			inputs = append(inputs, another(shop, fmt.Sprint("client-", i),
				stocked(sku("tee", "M"), rapid.Float64Range(0.05, 2).Draw(t, "rate"),
					rapid.IntRange(0, 8).Draw(t, "on hand")),
				stocked(sku("tee", "2XL"), 0.1, 0)))
		}
		settled := reorder.Settle(inputs, map[programme.SKU]int{sku("tee", "M"): shelf})
		pieces, used := 0, 0
		freight, any := programme.Money(0), false
		var value programme.Money
		units := map[string]bool{}
		for i, x := range settled {
			_, alone := reorder.Propose(inputs[i])
			require.Equal(t, alone.Due, x.Decision.Due, "who is due depends on nobody else")
			if x.Proposal == nil {
				continue
			}
			for _, l := range x.Proposal.Lines {
				require.GreaterOrEqual(t, l.Order, l.Wanted)
				pieces += l.Buy
				used += l.BlanksOnShelf
				units[l.Size+l.UnitCost.Decimal()] = true
			}
			freight += x.Proposal.Freight
			value += x.Proposal.Blanks
			any = any || x.Proposal.Blanks > 0
		}
		require.LessOrEqual(t, used, shelf, "no blank is used twice")
		require.LessOrEqual(t, len(units), 2, "everybody pays the same for the same blank")
		if pieces > 0 {
			require.GreaterOrEqual(t, pieces, g.Minimum)
		}
		want := programme.Money(0)
		if any && (s.FreeFreightFrom == 0 || value < s.FreeFreightFrom) {
			want = s.Freight
		}
		require.Equal(t, want, freight, "the shares of freight are the freight, to the cent")
	})
}

func TestTheOrderOfClientsDoesNotMatter(t *testing.T) {
	shop := aShop()
	shop.Garments[0].Minimum = 60
	inputs := []reorder.Input{
		another(shop, "a", stocked(sku("tee", "M"), 0.7, 0)),
		another(shop, "b", stocked(sku("tee", "M"), 0.5, 0)),
		another(shop, "c", stocked(sku("tee", "M"), 1, 90)),
	}
	want := reorder.Settle(inputs, map[programme.SKU]int{sku("tee", "M"): 9})
	slices.Reverse(inputs)
	slices.Reverse(want)
	require.Equal(t, want, reorder.Settle(inputs, map[programme.SKU]int{sku("tee", "M"): 9}))
}

// nearlyDue wants tees in four weeks; its stock lasts until then.
func nearlyDue(t *testing.T, shop *programme.Shop) reorder.Input {
	t.Helper()
	in := another(shop, "garage", stocked(sku("tee", "L"), 0.7, 3))
	_, d := reorder.Propose(in)
	require.False(t, d.Due)
	require.LessOrEqual(t, d.NextDue.Sub(monday), 28)
	return in
}

// cover is the days for which an order is meant.
func cover(p *reorder.Proposal) float64 { return float64(p.CoverUntil.Sub(p.AsOf)) }

// A saving that is not worth the shop's trouble brings nobody forward.
func TestASmallSavingIsNotWorthPulling(t *testing.T) {
	shop := aShop()
	inputs := []reorder.Input{another(shop, "bakery", stocked(sku("tee", "M"), 0.7, 0)), nearlyDue(t, shop)}
	terms := reorder.PullTermsOf(shop)
	terms.Worth = 0
	saving := reorder.PullAll(inputs, nil, terms)[1].Proposal.Pulled.Saving
	require.Positive(t, int64(saving))
	terms.Worth = saving
	require.NotNil(t, reorder.PullAll(inputs, nil, terms)[1].Proposal)
	terms.Worth = saving + 1
	require.Nil(t, reorder.PullAll(inputs, nil, terms)[1].Proposal)
}

func TestFreightPaidOncePullsANearlyDueClientForward(t *testing.T) {
	shop := aShop()
	inputs := []reorder.Input{another(shop, "bakery", stocked(sku("tee", "M"), 0.7, 0)), nearlyDue(t, shop)}
	out := reorder.PullAll(inputs, nil, reorder.PullTerms{WithinDays: 28, Keeping: programme.UsualKeeping()})
	pulled := out[1].Proposal
	require.NotNil(t, pulled)
	require.False(t, out[1].Decision.Due)
	require.Equal(t, reorder.SharesFreight, pulled.Pulled.Reason)
	require.Equal(t, "cloth", pulled.Pulled.Supplier)
	require.Equal(t, out[1].Decision.NextDue, pulled.Pulled.NextDue)

	// By hand: the second freight of 15.00 is saved, and the order lies early.
	days := float64(pulled.Pulled.NextDue.Sub(monday))
	early := (pulled.Blanks + pulled.Pressing).Times(0.3 * days / 365)
	sooner := programme.Money(1500).Times(days / cover(pulled))
	require.Equal(t, 1500-early-sooner, pulled.Pulled.Saving)
	require.Equal(t, early, pulled.Pulled.Kept)
	require.InDelta(t, 0.3, pulled.Pulled.KeptPerYear, 1e-12)
	require.Positive(t, int64(early))
}

func TestNothingSharedPullsNobody(t *testing.T) {
	shop := aShop()
	shop.Suppliers[0].Freight = 0
	inputs := []reorder.Input{another(shop, "bakery", stocked(sku("tee", "M"), 0.7, 0)), nearlyDue(t, shop)}
	out := reorder.PullAll(inputs, nil, reorder.PullTermsOf(aShop()))
	require.Nil(t, out[1].Proposal)
	require.Equal(t, reorder.Settle(inputs, nil), out, "and the round is as if nobody had been tried")
}

func TestADearDelayKeepsAClientWhereItIs(t *testing.T) {
	shop := aShop()
	inputs := []reorder.Input{another(shop, "bakery", stocked(sku("tee", "M"), 0.7, 0)), nearlyDue(t, shop)}
	out := reorder.PullAll(inputs, nil, reorder.PullTerms{WithinDays: 28, Keeping: programme.Keeping{CostPerYear: 30}})
	require.Nil(t, out[1].Proposal)
	out = reorder.PullAll(inputs, nil, reorder.PullTerms{Keeping: programme.UsualKeeping()})
	require.Nil(t, out[1].Proposal, "not within the days looked at")
	out = reorder.PullAll(inputs[1:], nil, reorder.PullTermsOf(aShop()))
	require.Nil(t, out[0].Proposal, "a round without anybody due starts no order")
}

// The dearer it is to keep goods, the less is saved, by the order's value for
// the days it comes early, until nothing is.
func TestTheShopsOwnCostOfKeepingCounts(t *testing.T) {
	shop := aShop()
	inputs := []reorder.Input{another(shop, "bakery", stocked(sku("tee", "M"), 0.7, 0)), nearlyDue(t, shop)}
	at := func(k programme.Keeping) *reorder.Proposal {
		terms := reorder.PullTermsOf(shop)
		terms.Keeping, terms.Worth = k, 0
		return reorder.PullAll(inputs, nil, terms)[1].Proposal
	}
	free := at(programme.Keeping{})
	require.Zero(t, free.Pulled.Kept)
	days := float64(free.Pulled.NextDue.Sub(monday))
	for _, k := range []programme.Keeping{{CostPerYear: 0.1}, {LossPerYear: 0.1},
		{CostPerYear: 0.35, LossPerYear: 0.15}} {
		p := at(k)
		kept := (p.Blanks + p.Pressing).Times(k.PerYear() * days / 365)
		require.Equal(t, kept, p.Pulled.Kept)
		require.Equal(t, free.Pulled.Saving-kept, p.Pulled.Saving)
	}
	require.Nil(t, at(programme.Keeping{CostPerYear: 30}))
}

func TestASheetSharedPulls(t *testing.T) {
	shop := aShop()
	shop.Suppliers[0].Freight = 0
	inputs := []reorder.Input{another(shop, "bakery", stocked(sku("tee", "M"), 0.7, 0)), nearlyDue(t, shop)}
	terms := reorder.PullTermsOf(aShop())
	terms.Transfers = func(list []*reorder.Proposal) programme.Money {
		pieces := 0
		for _, p := range list {
			pieces += p.Pieces()
		}
		return 4000 + programme.Money(50*pieces) // a set-up, and so much each
	}
	out := reorder.PullAll(inputs, nil, terms)
	pulled := out[1].Proposal
	require.NotNil(t, pulled)
	require.Equal(t, reorder.SharesSheet, pulled.Pulled.Reason)
	require.Empty(t, pulled.Pulled.Supplier)
	days := float64(pulled.Pulled.NextDue.Sub(monday))
	early := (pulled.Blanks + pulled.Pressing + programme.Money(50*pulled.Pieces())).Times(0.3 * days / 365)
	require.Equal(t, 4000-early-programme.Money(4000).Times(days/cover(pulled)), pulled.Pulled.Saving)
}

func TestAMinimumSharedPulls(t *testing.T) {
	shop := aShop()
	shop.Suppliers[0].Freight = 0
	shop.Garments[0].Minimum = 150
	inputs := []reorder.Input{
		another(shop, "bakery", stocked(sku("tee", "M"), 12, 0)),
		nearlyDue(t, shop),
	}
	out := reorder.PullAll(inputs, nil, reorder.PullTermsOf(aShop()))
	require.NotNil(t, out[1].Proposal)
	require.Equal(t, reorder.SharesMinimum, out[1].Proposal.Pulled.Reason)
	pulled := out[1].Proposal
	require.Empty(t, pulled.Lines[0].Rounding, "nothing is bought ahead")

	// By hand: alone the client would buy 150 at 4.00, and what it does not need would
	// lie for one cover at 30 % a year. Of that goes what ordering early costs.
	require.Positive(t, pulled.Pieces())
	ahead := programme.Money(400 * (150 - pulled.Pieces())).Times(0.3 * cover(pulled) / 7 / 52)
	days := float64(pulled.Pulled.NextDue.Sub(monday))
	kept := (pulled.Blanks + pulled.Pressing).Times(0.3 * days / 365)
	require.Equal(t, kept, pulled.Pulled.Kept)
	require.Equal(t, ahead-kept-ahead.Times(days/cover(pulled)), pulled.Pulled.Saving)
}

// Blanks from the shelf are not bought, so nothing of them is needed or bought ahead.
func TestBlanksFromTheShelfAreNoPartOfAMinimum(t *testing.T) {
	shop := aShop()
	shop.Suppliers[0].Freight = 0
	shop.Garments[0].Minimum = 150
	inputs := []reorder.Input{another(shop, "bakery", stocked(sku("tee", "M"), 12, 0)), nearlyDue(t, shop)}
	const shelf = 1
	terms := reorder.PullTermsOf(aShop())
	pulled := reorder.PullAll(inputs, map[programme.SKU]int{sku("tee", "L"): shelf}, terms)[1].Proposal
	require.Equal(t, reorder.SharesMinimum, pulled.Pulled.Reason)
	ahead := programme.Money(400 * (150 - (pulled.Pieces() - shelf))).Times(0.3 * cover(pulled) / 7 / 52)
	days := float64(pulled.Pulled.NextDue.Sub(monday))
	require.Equal(t, ahead-pulled.Pulled.Kept-ahead.Times(days/cover(pulled)), pulled.Pulled.Saving)
}

// Where whole packs are bought ahead in either case, what is saved is the keeping of the pieces that
// are bought ahead alone and not together.
func TestAMinimumOfWholePacksSavesWhatLiesLess(t *testing.T) {
	shop := aShop()
	shop.Suppliers[0].Freight = 0
	due, near := another(shop, "bakery", stocked(sku("tee", "M"), 12, 0)), nearlyDue(t, shop)
	shop.Garments[0].Minimum, shop.Garments[0].Pack = 150, 50
	pulled := reorder.PullAll([]reorder.Input{due, near}, nil, reorder.PullTermsOf(aShop()))[1].Proposal
	require.Equal(t, reorder.SharesMinimum, pulled.Pulled.Reason)
	require.Equal(t, 50, pulled.Lines[0].Buy)
	shop.Garments[0].Minimum, shop.Garments[0].Pack = 0, 0
	wanted, _ := reorder.ProposeAnyway(near)
	require.Less(t, wanted.Pieces(), 50, "some of the pack lies there")
	ahead := float64(400*(150-50)) * 0.3 * cover(pulled) / 7 / 52
	days := float64(pulled.Pulled.NextDue.Sub(monday))
	require.InDelta(t, ahead*(1-days/cover(pulled))-float64(pulled.Pulled.Kept), float64(pulled.Pulled.Saving), 2)
}

// A saving of nothing pulls nobody, however little is asked of it.
func TestASavingOfNothingPullsNobody(t *testing.T) {
	shop := aShop()
	shop.Suppliers[0].Freight = 0
	inputs := []reorder.Input{another(shop, "bakery", stocked(sku("tee", "M"), 0.7, 0)), nearlyDue(t, shop)}
	out := reorder.PullAll(inputs, nil, reorder.PullTerms{WithinDays: 28})
	require.Nil(t, out[1].Proposal)
	require.NotNil(t, out[0].Proposal)
}

func TestABreakReachedTogetherPulls(t *testing.T) {
	shop := aShop()
	shop.Suppliers[0].Freight = 0
	due, near := another(shop, "bakery", stocked(sku("tee", "M"), 3, 0)), nearlyDue(t, shop)
	alone, _ := reorder.Propose(due)
	other, _ := reorder.ProposeAnyway(near)
	both := alone.Pieces() + other.Pieces()
	shop.Garments[0].Breaks = []programme.CostBreak{{From: both, Percent: 10}}
	again, _ := reorder.Propose(due)
	require.Equal(t, alone.Pieces(), again.Pieces(), "alone it is not worth buying up to the break")

	pulled := reorder.PullAll([]reorder.Input{due, near}, nil,
		reorder.PullTerms{WithinDays: 28, Keeping: programme.UsualKeeping()})[1].Proposal
	require.Equal(t, reorder.SharesPrice, pulled.Pulled.Reason)
	days := float64(pulled.Pulled.NextDue.Sub(monday))
	early := (pulled.Blanks + pulled.Pressing).Times(0.3*days/365) + programme.Money(40*both).Times(days/cover(pulled))
	require.Equal(t, programme.Money(40*both)-early, pulled.Pulled.Saving,
		"ten per cent of 4.00 on every piece of both")
}

// paid is what a set of proposals costs in blanks, freight and sheets.
func paid(list []*reorder.Proposal, sheets func([]*reorder.Proposal) programme.Money) programme.Money {
	sum := sheets(list)
	for _, p := range list {
		sum += p.Blanks + p.Freight
	}
	return sum
}

// The savings stated add up to what the round really costs less, found by
// settling with and without the pulled clients.
func TestStatedSavingsAreRealSavings(t *testing.T) {
	sheets := func(list []*reorder.Proposal) programme.Money {
		pieces := 0
		for _, p := range list {
			pieces += p.Pieces()
		}
		return programme.Money(2500*((pieces+39)/40) + 10*pieces) // whole sheets of forty
	}
	pulls := 0
	rapid.Check(t, func(t *rapid.T) {
		shop := aShop()
		shop.Suppliers[0].FreeFreightFrom = programme.Money(rapid.IntRange(0, 30000).Draw(t, "free"))
		shop.Suppliers[0].Freight = programme.Money(rapid.IntRange(0, 3000).Draw(t, "freight"))
		inputs := []reorder.Input{another(shop, "a",
			stocked(sku("tee", "M"), rapid.Float64Range(0.5, 3).Draw(t, "rate"), 0))}
		for i := range rapid.IntRange(1, 3).Draw(t, "near") {
			inputs = append(inputs, another(shop, fmt.Sprint("b", i),
				stocked(sku("tee", "L"), 0.7, rapid.IntRange(2, 4).Draw(t, "on hand"))))
		}
		terms := reorder.PullTerms{WithinDays: 28, Keeping: programme.UsualKeeping(), Transfers: sheets}
		out := reorder.PullAll(inputs, nil, terms)
		due := []*reorder.Proposal{reorder.Settle(inputs, nil)[0].Proposal}
		if due[0] == nil { // a day on which even an empty shelf may wait
			return
		}
		together := []*reorder.Proposal{out[0].Proposal}
		pulled := slices.DeleteFunc(out[1:], func(x reorder.Settled) bool { return x.Proposal == nil })
		slices.SortStableFunc(pulled,
			func(x, y reorder.Settled) int { return int(x.Decision.NextDue - y.Decision.NextDue) })
		var apart programme.Money
		var saved float64
		for _, x := range pulled {
			p := x.Proposal
			i := slices.IndexFunc(inputs, func(in reorder.Input) bool { return in.Client.Code == p.Client })
			alone, _ := reorder.ProposeAnyway(inputs[i])
			apart += paid([]*reorder.Proposal{alone}, sheets)
			days := float64(p.Pulled.NextDue.Sub(monday))
			before := sheets(together)
			together = append(together, p)
			early := float64(p.Blanks+p.Pressing+sheets(together)-before) * 0.3 * days / 365
			saved += (float64(p.Pulled.Saving) + early) / (1 - days/cover(p))
			require.Positive(t, int64(p.Pulled.Saving))
			pulls++
		}
		apart += paid(due, sheets)
		require.InDelta(t, float64(apart-paid(together, sheets)), saved, 12, "but for rounding")
	})
	require.Positive(t, pulls, "some were pulled")
}

// A thousand clients of sixty lines, the size of a large shop's round.
func largeRound() []reorder.Input {
	shop := aShop()
	var lines []reorder.Stocked
	for i := range 60 {
		size := []string{"S", "M", "L", "2XL"}[i%4]
		k := programme.SKU{Garment: "tee", Colour: fmt.Sprint("colour-", i/4), Size: size}
		l := stocked(k, 0.05+0.02*float64(i%30), i%9)
		l.Trigger = demand.Line{}
		lines = append(lines, l)
	}
	inputs := make([]reorder.Input, 1000)
	for i := range inputs {
		inputs[i] = another(shop, fmt.Sprint("client-", i), slices.Clone(lines)...)
		for j := range inputs[i].Lines {
			inputs[i].Lines[j].OnHand += i % 12
		}
	}
	return inputs
}

func BenchmarkSettleThousandClients(b *testing.B) {
	inputs := largeRound()
	b.ReportAllocs()
	for b.Loop() {
		reorder.Settle(inputs, nil)
	}
}

func BenchmarkPullThousandClients(b *testing.B) {
	inputs := largeRound()
	for b.Loop() {
		reorder.PullAll(inputs, nil, reorder.PullTermsOf(aShop()))
	}
}

func BenchmarkProposeOneClient(b *testing.B) {
	in := largeRound()[0]
	for b.Loop() {
		reorder.Propose(in)
	}
}
