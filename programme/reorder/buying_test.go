package reorder_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// tees proposes one size of tee from a shop that change has altered.
func tees(t *testing.T, change func(*programme.Garment, *programme.Supplier),
	along reorder.Alongside) (*reorder.Proposal, reorder.Line) {
	t.Helper()
	in := anInput(stocked(sku("tee", "M"), 0.7, 0))
	in.Alongside = along
	change(&in.Shop.Garments[0], &in.Shop.Suppliers[0])
	p, d := reorder.Propose(in)
	require.True(t, d.Due)
	require.Len(t, p.Lines, 1)
	return p, p.Lines[0]
}

func TestBuying(t *testing.T) {
	wanted := 0
	_, l := tees(t, func(*programme.Garment, *programme.Supplier) {}, reorder.Alongside{})
	wanted = l.Wanted
	require.Equal(t, 7, wanted, "the cases below are written for this figure")

	for _, c := range []struct {
		name              string
		change            func(*programme.Garment, *programme.Supplier)
		along             reorder.Alongside
		buy, order, blank int
		unit              programme.Money
		why               string
	}{
		{name: "sold singly", change: func(*programme.Garment, *programme.Supplier) {}, buy: 7, order: 7, unit: 400},
		{
			name:   "of a pack what is not wanted stays blank",
			change: func(g *programme.Garment, _ *programme.Supplier) { g.Pack = 6 },
			buy:    12, order: 7, blank: 5, unit: 400, why: "sold in packs of 6; 5 stay blank on the shelf",
		},
		{
			name:   "and of a large one",
			change: func(g *programme.Garment, _ *programme.Supplier) { g.Pack = 72 },
			buy:    72, order: 7, blank: 65, unit: 400, why: "sold in packs of 72; 65 stay blank on the shelf",
		},
		{
			name:   "the garment's minimum",
			change: func(g *programme.Garment, _ *programme.Supplier) { g.Minimum = 12 },
			buy:    12, order: 7, blank: 5, unit: 400,
			why: "the supplier sells no fewer than 12 of this garment; 5 stay blank on the shelf",
		},
		{
			name:   "a minimum that others of the round help to reach",
			change: func(g *programme.Garment, _ *programme.Supplier) { g.Minimum = 12 },
			along:  reorder.Alongside{Garments: map[string]int{"tee": 4}},
			buy:    8, order: 7, blank: 1, unit: 400,
			why: "the supplier sells no fewer than 12 of this garment; 1 stays blank on the shelf",
		},
		{
			name: "a break that pays for itself",
			change: func(g *programme.Garment, _ *programme.Supplier) {
				g.Breaks = []programme.CostBreak{{From: 8, Percent: 20}}
			},
			buy: 8, order: 7, blank: 1, unit: 320,
			why: "from 8 pieces on each costs 20 % less, and the larger order costs less in all; 1 stays blank on the shelf",
		},
		{
			name: "a break that does not",
			change: func(g *programme.Garment, _ *programme.Supplier) {
				g.Breaks = []programme.CostBreak{{From: 8, Percent: 10}}
			},
			buy: 7, order: 7, unit: 400,
		},
		{
			name: "a break that the round has reached",
			change: func(g *programme.Garment, _ *programme.Supplier) {
				g.Breaks = []programme.CostBreak{{From: 12, Percent: 10}}
			},
			along: reorder.Alongside{Garments: map[string]int{"tee": 30}},
			buy:   7, order: 7, unit: 360,
		},
		{
			name:   "the supplier's smallest order",
			change: func(_ *programme.Garment, s *programme.Supplier) { s.MinimumOrder = 4000 },
			buy:    10, order: 7, blank: 3, unit: 400,
			why: "the supplier's smallest order is $40.00; 3 stay blank on the shelf",
		},
		{
			name:   "a smallest order that the round has reached",
			change: func(_ *programme.Garment, s *programme.Supplier) { s.MinimumOrder = 5000 },
			along:  reorder.Alongside{Suppliers: map[string]programme.Money{"cloth": 4000}},
			buy:    7, order: 7, unit: 400,
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, l := tees(t, c.change, c.along)
			require.Equal(t, c.buy, l.Buy, "buy")
			require.Equal(t, c.order, l.Order, "order")
			require.Equal(t, c.blank, l.StayBlank, "stay blank")
			require.Equal(t, c.unit, l.UnitCost, "unit cost")
			require.Equal(t, c.why, l.Rounding)
			require.Equal(t, c.unit*programme.Money(c.buy), p.Blanks)
			require.Equal(t, programme.Money(1400*c.order), p.Price)
		})
	}
}

func TestBlanksOnTheShelfAreUsedFirst(t *testing.T) {
	in := anInput(stocked(sku("tee", "M"), 0.7, 0))
	in.Lines[0].Blanks = 4
	in.Shop.Garments[0].Pack = 6
	p, _ := reorder.Propose(in)
	l := p.Lines[0]
	require.Equal(t, 4, l.BlanksOnShelf)
	require.Equal(t, 6, l.Buy)
	require.Equal(t, 7, l.Order, "seven wanted, four on the shelf, a pack of six for the other three")
	require.Equal(t, 3, l.StayBlank)

	in.Lines[0].Blanks = 100
	p, _ = reorder.Propose(in)
	require.Zero(t, p.Lines[0].Buy)
	require.Equal(t, p.Lines[0].Wanted, p.Lines[0].BlanksOnShelf)
	require.Zero(t, p.Blanks)
	require.Empty(t, p.Suppliers, "nothing is bought, so no freight")
}

func TestFreightIsSharedByValueAndItsDistanceStated(t *testing.T) {
	nothing := func(*programme.Garment, *programme.Supplier) {}
	p, _ := tees(t, nothing, reorder.Alongside{})
	require.Equal(t, []reorder.SupplierOrder{{Supplier: "cloth", Value: 2800, Freight: 1500, ToFreeFreight: 17200}},
		p.Suppliers)
	require.Equal(t, programme.Money(1500), p.Freight)

	p, _ = tees(t, nothing, reorder.Alongside{Suppliers: map[string]programme.Money{"cloth": 5600}})
	require.Equal(t, programme.Money(500), p.Freight, "a third of the round's value bears a third of the freight")

	p, _ = tees(t, nothing, reorder.Alongside{Suppliers: map[string]programme.Money{"cloth": 17200}})
	require.Zero(t, p.Freight)
	require.Zero(t, p.Suppliers[0].ToFreeFreight)
}

func TestPressingIsCountedByTransfersNotByPieces(t *testing.T) {
	in := anInput(stocked(sku("tee", "M"), 0.7, 0))
	in.Lines[0].Presses = 3
	p, _ := reorder.Propose(in)
	require.InDelta(t, float64(3*p.Pieces())/60, p.PressHours, 1e-12)
	require.Equal(t, programme.Money(3000).Times(p.PressHours), p.Pressing)
}

// The middle of the usual 40 to 80 single-place pieces an hour (common
// practice, no source).
func TestAShopThatStatesNoPressRateIsTakenAtSixtyAnHour(t *testing.T) {
	in := anInput(stocked(sku("tee", "M"), 0.7, 0))
	in.Lines[0].Presses = 1
	in.Shop.Press.PiecesPerHour = 0
	p, _ := reorder.Propose(in)
	require.InDelta(t, float64(p.Pieces())/60, p.PressHours, 1e-12)
}

// Whatever a supplier's terms are, no line gets less than it wants, packs are
// whole, minimums are met and the sums hold.
func TestRoundingNeverGivesLessThanWanted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := anInput()
		for _, s := range []string{"S", "M", "L", "2XL"} {
			l := stocked(sku("tee", s), rapid.Float64Range(0.01, 2).Draw(t, "rate"),
				rapid.IntRange(0, 6).Draw(t, "on hand"))
			l.Blanks = rapid.IntRange(0, 6).Draw(t, "blanks")
			l.Owed = rapid.IntRange(0, 2).Draw(t, "owed")
			in.Lines = append(in.Lines, l)
		}
		g, s := &in.Shop.Garments[0], &in.Shop.Suppliers[0]
		g.Pack = rapid.SampledFrom([]int{1, 6, 12, 72}).Draw(t, "pack")
		g.Minimum = rapid.IntRange(0, 60).Draw(t, "minimum")
		g.Breaks = []programme.CostBreak{{From: 24, Percent: 8},
			{From: 48, Percent: rapid.Float64Range(0, 100).Draw(t, "off")}}
		s.MinimumOrder = programme.Money(rapid.IntRange(0, 30000).Draw(t, "smallest"))
		p, d := reorder.Propose(in)
		if !d.Due {
			return
		}
		bought := 0
		for _, l := range p.Lines {
			require.GreaterOrEqual(t, l.Order, l.Wanted)
			require.Zero(t, l.Buy%g.Pack)
			require.Equal(t, l.Order+l.StayBlank, l.BlanksOnShelf+l.Buy)
			require.LessOrEqual(t, l.BlanksOnShelf, 6)
			require.Equal(t, l.Wanted, l.AtTarget-(l.OnHand+l.OnOrder-l.Owed))
			bought += l.Buy
		}
		if bought > 0 {
			require.GreaterOrEqual(t, bought, g.Minimum)
		}
	})
}
