package reorder_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func TestABudgetBuysWhatSavesMostAndIsKept(t *testing.T) {
	p, _ := reorder.Propose(bakery())
	last, all := -1, programme.Money(0)
	for _, l := range p.Lines {
		for _, s := range l.Saves {
			all += s
		}
	}
	for budget := p.Freight; budget < p.Cost()+2000; budget += 500 {
		c := p.Within(budget)
		require.LessOrEqual(t, int64(c.Cost), int64(budget))
		saved := programme.Money(0)
		for _, l := range c.Lines {
			for _, s := range p.Line(l.SKU).Saves[:l.Pieces] {
				saved += s
			}
		}
		require.Equal(t, all, saved+c.Missed, "what is not bought is missed")
		require.GreaterOrEqual(t, c.Pieces, last, "more money never buys fewer")
		last = c.Pieces
	}
	require.Equal(t, p.Pieces(), last, "enough money buys all of it")
	require.Zero(t, p.Within(0).Pieces)

	first := p.Within(p.Freight + 500)
	require.Equal(t, sku("tee", "L"), first.Lines[0].SKU, "the piece that somebody is short of today")
}

func TestTheCurveRunsFromWhatMustBeToWhatLastsLonger(t *testing.T) {
	in := bakery()
	in.Client.CoverWeeks = 0
	p, _ := reorder.Propose(in)
	require.Len(t, p.Curve, 3)
	for i, kind := range []reorder.ChoiceKind{reorder.MustBe, reorder.Suggested, reorder.LastsLonger} {
		c := p.Curve[i]
		require.Equal(t, kind, c.Kind)
		require.LessOrEqual(t, c.Unnamed, c.Pieces)
		if i > 0 {
			require.Greater(t, c.Pieces, p.Curve[i-1].Pieces)
			require.Greater(t, c.NextOrder, p.Curve[i-1].NextOrder)
			require.Greater(t, c.Cost, p.Curve[i-1].Cost)
		}
	}
	require.Equal(t, p.Pieces(), p.Curve[1].Pieces)
	require.Less(t, int64(p.Curve[1].CostYear), int64(p.Curve[0].CostYear), "ordering so little costs more")
}

// Once sheets and freight are known, all rows count them: the suggested one costs
// what the proposal does, and the others as much more than their goods.
func TestAllPlansCountTheWay(t *testing.T) {
	in := bakery()
	in.Client.CoverWeeks = 0
	p, _ := reorder.Propose(in)
	before := append([]reorder.Choice(nil), p.Curve...)
	p.Transfers += 3600
	p.Freight += 900
	p.ChargeCurve()
	require.Equal(t, p.Cost(), p.Curve[1].Cost)
	for i := range before {
		require.Equal(t, p.Curve[1].Cost-before[1].Cost, p.Curve[i].Cost-before[i].Cost)
	}
}

// Taking a plan changes a proposal into it, and nothing where it is that already.
func TestAPlanIsTakenByItsChanges(t *testing.T) {
	for _, kind := range reorder.ChoiceKinds() {
		in := bakery()
		in.Client.CoverWeeks = 0
		p, _ := reorder.Propose(in)
		c, ok := p.Plan(kind)
		require.True(t, ok)
		changes := c.Changes(p)
		if kind == reorder.Suggested {
			require.Empty(t, changes)
			continue
		}
		_, err := p.Change(in.Shop, in.Client, changes)
		require.NoError(t, err)
		require.Equal(t, c.Pieces, p.Pieces())
		for _, l := range c.Lines {
			require.Equal(t, l.Pieces, p.Line(l.SKU).Order)
		}
		require.Empty(t, c.Changes(p))
	}
	_, ok := (&reorder.Proposal{}).Plan(reorder.MustBe)
	require.False(t, ok)
}

// An order that lasts more than a year has a longer one beside it, too.
func TestALongOrderHasALongerOneBesideIt(t *testing.T) {
	in := anInput(stocked(sku("tee", "M"), 0.15, 0), stocked(sku("tee", "L"), 0.15, 0))
	in.Client.CoverWeeks = 0
	in.Lines[0].Owed = 1
	p, _ := reorder.Propose(in)
	longer, ok := p.Plan(reorder.LastsLonger)
	require.True(t, ok)
	suggested, _ := p.Plan(reorder.Suggested)
	require.Greater(t, suggested.NextOrder.Sub(monday), 365)
	require.Greater(t, longer.NextOrder, suggested.NextOrder)
}

func ended(tees int) map[programme.SKU]int { return map[programme.SKU]int{sku("tee", "M"): tees} }

// The last order was meant to last: only what has happened since makes another.
func TestNothingIsProposedInTheCoverOfTheLastOrderWithoutAnEvent(t *testing.T) {
	in := anInput(stocked(sku("tee", "M"), 6, 14))
	_, d := reorder.Propose(in)
	require.True(t, d.Due)
	in.Last = &reorder.Last{Number: 7, AsOf: monday.Add(-21), CoverUntil: monday.Add(90), Expected: 100,
		Ended: ended(18)}
	p, d := reorder.Propose(in)
	require.Nil(t, p)
	require.False(t, d.Due)
	require.Equal(t, reorder.JustOrdered, d.Reasons[len(d.Reasons)-1].Kind)

	in.Last.Ended = ended(28) // about 19 were expected by now
	p, d = reorder.Propose(in)
	require.True(t, d.Due)
	require.Equal(t, reorder.MoreEnded, p.Events[0].Kind)

	in.Last.Ended, in.Last.Joined = ended(18), []string{"b9"}
	p, _ = reorder.Propose(in)
	require.Equal(t, []string{"b9"}, p.Events[0].Staff)
	require.Equal(t, int64(7), p.Events[0].Number)

	in.Last.Joined, in.Lines[0].Owed, in.Lines[0].OnHand = nil, 3, 0
	p, _ = reorder.Propose(in)
	require.Equal(t, reorder.KitsShort, p.Events[0].Kind)
	require.Equal(t, 3, p.Events[0].Pieces)

	in.Last.Struck = map[programme.SKU]int{sku("tee", "M"): 1, sku("tee", "L"): 9}
	p, _ = reorder.Propose(in)
	require.Equal(t, 2, p.Events[0].Pieces, "the third was struck off by the client")
	in.Last.Struck[sku("tee", "M")] = 3
	p, d = reorder.Propose(in)
	require.Nil(t, p, "what the client struck off is not asked for again in the next week")
	last := d.Reasons[len(d.Reasons)-1]
	require.Equal(t, reorder.JustOrdered, last.Kind)
	require.InDelta(t, 3, last.Pieces, 0)
	require.Greater(t, d.NextDue, monday.Add(14), "the cover of the last order")
	in.Last.Joined = []string{"b9"}
	p, _ = reorder.Propose(in)
	require.Equal(t, []reorder.OccurrenceKind{reorder.PeopleJoined}, []reorder.OccurrenceKind{p.Events[0].Kind})
	in.Last.Joined, in.Last.Struck = nil, nil

	in.Last.CoverUntil = monday.Add(7)
	in.Lines[0].Owed, in.Lines[0].OnHand = 0, 14
	p, _ = reorder.Propose(in)
	require.NotNil(t, p, "its time is over")
	require.Empty(t, p.Events)
}

func TestWhatTheClientStruckOffIsRemembered(t *testing.T) {
	in := anInput(stocked(sku("tee", "M"), 6, 0), stocked(sku("tee", "L"), 6, 0))
	p, _ := reorder.Propose(in)
	offered := p.Line(sku("tee", "M")).Order
	require.Greater(t, offered, 2)
	_, err := p.Change(in.Shop, in.Client, []reorder.LineChange{{SKU: sku("tee", "M"), Pieces: offered - 2},
		{SKU: sku("tee", "L"), Pieces: 99}})
	require.NoError(t, err)
	require.Equal(t, map[programme.SKU]int{sku("tee", "M"): 2}, reorder.LastOf(p).Struck)
}

func TestASmallOrderWaitsUntilSomebodyIsShort(t *testing.T) {
	in := anInput(stocked(sku("tee", "M"), 0.7, 0))
	for _, least := range []programme.SmallestOrder{{Pieces: 50}, {Price: 100_000}} {
		in.Client.SmallestOrder = least
		p, d := reorder.Propose(in)
		require.Nil(t, p)
		require.Equal(t, reorder.OrderTooSmall, d.Reasons[len(d.Reasons)-1].Kind)
	}
	in.Lines[0].Blanks = 50 // only transfers would be bought
	_, d := reorder.Propose(in)
	require.Equal(t, reorder.OrderTooSmall, d.Reasons[len(d.Reasons)-1].Kind)

	in.Lines[0].Owed = 1
	p, _ := reorder.Propose(in)
	require.NotNil(t, p)
}

func TestAPoolIsWholeKitsInTheLikeliestSizes(t *testing.T) {
	in := anInput(stocked(sku("tee", "M"), 0.7, 0), stocked(sku("tee", "L"), 0.2, 0),
		stocked(sku("apron", "one"), 0.3, 0))
	plain, _ := reorder.Propose(in)
	in.Client.Pool = 2
	pooled, _ := reorder.Propose(in)
	more := map[programme.SKU]int{}
	for _, l := range pooled.Lines {
		more[l.SKU] = l.AtTarget
	}
	for _, l := range plain.Lines {
		more[l.SKU] -= l.AtTarget
	}
	require.Equal(t, 10, more[sku("tee", "M")]+more[sku("tee", "L")], "two kits of five tees")
	require.Equal(t, 4, more[sku("apron", "one")], "and of two aprons")
}
