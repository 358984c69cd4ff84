package reorder_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// What a careful owner would ask of an order before placing it.

// An order saves more in missing pieces than it costs to place, and every piece
// of it more than its keeping; else it waits until somebody is short.
func TestAnOrderIsWorthItsCosts(t *testing.T) {
	orders := 0
	rapid.Check(t, func(t *rapid.T) {
		in := anInput()
		in.Client.CoverWeeks = 0
		in.Shop.Suppliers[0].Freight = programme.Money(rapid.IntRange(0, 3000).Draw(t, "freight"))
		for _, s := range []string{"S", "M", "L"} {
			in.Lines = append(in.Lines, stocked(sku("tee", s), rapid.Float64Range(0.02, 0.8).Draw(t, "rate"),
				rapid.IntRange(0, 5).Draw(t, "on hand")))
		}
		p, _ := reorder.Propose(in)
		if p == nil {
			return
		}
		orders++
		saved := programme.Money(0)
		for _, l := range p.Lines {
			for _, s := range l.Saves {
				require.GreaterOrEqual(t, int64(s), int64(0), "a piece that costs more than it saves")
				saved += s
			}
		}
		require.Greater(t, int64(saved), int64(p.OrderCost.Sum()), "%d pieces", p.Pieces())
	})
	require.Positive(t, orders)
}

// served is an input after its proposal has arrived and nothing has been used.
func served(in reorder.Input, arrived int) (reorder.Input, *reorder.Proposal) {
	p, _ := reorder.Propose(in)
	for i := range in.Lines {
		for _, l := range p.Lines {
			if l.SKU == in.Lines[i].Quantity.SKU {
				in.Lines[i].OnHand += l.Order
			}
		}
	}
	in.AsOf = p.Arrives.Add(arrived)
	in.Last = reorder.LastOf(p)
	return in, p
}

// Six days after an order has arrived three people start: what is ordered again is
// their kits, as far as the shelf has none, and little besides; the mail names them.
func TestStartersAfterAnOrderGetTheirKitsAndNotAnotherCover(t *testing.T) {
	in, before := served(anInput(stocked(sku("tee", "S"), 0.6, 0), stocked(sku("tee", "M"), 0.9, 0),
		stocked(sku("tee", "L"), 0.7, 0)), 6)
	p, _ := reorder.Propose(in)
	require.Nil(t, p, "nothing has happened")

	kits := 0
	for _, who := range []string{"n1", "n2", "n3"} {
		in.Owed = append(in.Owed, reorder.Owed{StaffID: who, SKU: sku("tee", "M"), Pieces: 5})
		in.Last.Joined = append(in.Last.Joined, who)
		in.Lines[1].Owed += 5
		kits += 5
	}
	p, d := reorder.Propose(in)
	require.NotNil(t, p, "%d on the shelf are not enough", in.Lines[1].OnHand)
	require.Equal(t, reorder.PeopleJoined, d.Events[0].Kind)
	require.Equal(t, []string{"n1", "n2", "n3"}, d.Events[0].Staff)
	require.Equal(t, before.Number, d.Events[0].Number)
	require.LessOrEqual(t, p.Pieces(), kits+kits/5)
	for _, l := range p.Lines {
		require.True(t, l.Size == "M" || l.Order <= 1, "%d of %s, which nobody new wears", l.Order, l.Size)
	}
}

// An order that came on 19 March to last until 15 June is not followed by another
// on 23 March, nor on any Monday until what comes then would come after that.
func TestAnOrderIsLeftToLast(t *testing.T) {
	in := anInput(stocked(sku("tee", "M"), 6, 14))
	_, d := reorder.Propose(in)
	require.True(t, d.Due, "the shelf alone would ask for one")
	in.Last = &reorder.Last{Number: 4, AsOf: programme.NewDate(2026, 3, 5), CoverUntil: programme.NewDate(2026, 6, 15),
		Expected: 90}
	for day := programme.NewDate(2026, 3, 23); day < programme.NewDate(2026, 6, 1); day = day.Add(7) {
		in.AsOf = day
		p, d := reorder.Propose(in)
		require.Nil(t, p, day)
		require.Equal(t, reorder.JustOrdered, d.Reasons[len(d.Reasons)-1].Kind, day)
	}
	in.AsOf = programme.NewDate(2026, 6, 8)
	p, _ := reorder.Propose(in)
	require.NotNil(t, p, "its time is nearly over")
}

// People whose pieces are equally old and worn get equally many, but for an odd one.
func TestEqualWearIsTreatedEqually(t *testing.T) {
	proposed := 0
	rapid.Check(t, func(t *rapid.T) {
		in := anInput(stocked(sku("tee", "M"), rapid.Float64Range(0.3, 2).Draw(t, "rate"),
			rapid.IntRange(0, 3).Draw(t, "on hand")))
		group := map[string]int{}
		for g := range rapid.IntRange(1, 3).Draw(t, "groups") {
			pieces := rapid.SliceOfN(rapid.Float64Range(0.01, 1), 1, 6).Draw(t, "chances")
			for i := range rapid.IntRange(2, 5).Draw(t, "people") {
				id := fmt.Sprint(g, "-", i)
				group[id] = g
				for _, chance := range pieces {
					in.Outlooks = append(in.Outlooks, demand.Outlook{StaffID: id, SKU: sku("tee", "M"), PEnd: chance,
						Cause: programme.CauseWorn})
				}
			}
		}
		p, _ := reorder.Propose(in)
		if p == nil {
			return
		}
		proposed++
		got := map[string]int{}
		for _, n := range p.Named {
			got[n.StaffID] += n.Pieces
		}
		least, most := map[int]int{}, map[int]int{}
		for id, g := range group {
			if _, seen := least[g]; !seen {
				least[g] = got[id]
			}
			least[g], most[g] = min(least[g], got[id]), max(most[g], got[id])
		}
		for g := range most {
			require.LessOrEqual(t, most[g]-least[g], 1, "people of group %d got %v", g, got)
		}
	})
	require.Positive(t, proposed)
}

// A size that nobody wears is bought for a pool that the programme asks for, and
// otherwise when somebody comes who needs it.
func TestASizeThatNobodyWearsIsOnlyBoughtForAPool(t *testing.T) {
	in := anInput(stocked(sku("tee", "M"), 0.9, 0), stocked(sku("tee", "2XL"), 0.3, 0))
	in.People = 30
	for i := range 30 {
		in.Outlooks = append(in.Outlooks, demand.Outlook{StaffID: fmt.Sprint("s", i), SKU: sku("tee", "M"), PEnd: 0.3,
			Cause: programme.CauseWorn})
	}
	of := func(p *reorder.Proposal) (large int) {
		require.NotNil(t, p)
		for _, l := range p.Lines {
			if l.Size == "2XL" {
				large += l.Order
			}
		}
		return large
	}
	p, _ := reorder.Propose(in)
	require.Zero(t, of(p))

	in.Client.Pool = 12
	p, _ = reorder.Propose(in)
	require.LessOrEqual(t, of(p), 5, "one kit of twelve at most")

	in.Client.Pool = 0
	in.Coming = []reorder.Owed{{StaffID: "n1", SKU: sku("tee", "2XL"), Pieces: 5}}
	p, _ = reorder.Propose(in)
	require.GreaterOrEqual(t, of(p), 5)
	require.Contains(t, named(p), "n1")
}

func named(p *reorder.Proposal) (staff []string) {
	for _, n := range p.Named {
		staff = append(staff, n.StaffID)
	}
	return staff
}
