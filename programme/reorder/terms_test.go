package reorder

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

// Of all price breaks the one at which the pieces cost least in all is bought up to, the
// pieces of the round's others counted; each number of pieces up to the last break is tried here.
func TestTheCheapestBreakIsTaken(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 3))
	bought := map[bool]int{}
	for range 300 {
		shop := twoSuppliers()
		g := &shop.Garments[0]
		g.Breaks = []programme.CostBreak{{From: 8 + rng.IntN(5), Percent: float64(1 + rng.IntN(15))},
			{From: 14 + rng.IntN(8), Percent: float64(16 + rng.IntN(30))}}
		shop.Suppliers[0].MinimumOrder = 0
		wanted, others := 1+rng.IntN(14), rng.IntN(10)
		b := buying{shop: shop, along: Alongside{Garments: map[string]int{"tee": others}}, lines: []purchase{
			{SKU: item("tee", "M"), list: 400, pack: 1, wanted: wanted, buy: wanted,
				curve: NewShortage([]float64{0, 0.5, 0.5})},
		}}
		least, want := programme.Money(1<<40), 0
		for n := wanted; n < 30; n++ {
			if cost := programme.Money(n) * unitCost(400, g, n+others); cost < least {
				least, want = cost, n
			}
		}
		b.meetTerms()
		require.Equal(t, want, b.lines[0].buy, "%d wanted beside %d, breaks %v", wanted, others, g.Breaks)
		require.Equal(t, least, b.from("cloth"))
		bought[want > wanted]++
	}
	require.Greater(t, min(bought[true], bought[false]), 20)
}

// A supplier's smallest order is filled up by what the round's others leave open of it, the
// cheapest number of tees at 4.00 that does.
func TestTheSmallestOrderOfASupplierIsMetTogether(t *testing.T) {
	for others, want := range map[programme.Money]int{0: 9, 1200: 6, 1201: 6, 2000: 4, 2400: 3, 9000: 3} {
		shop := twoSuppliers()
		shop.Garments[0].Breaks, shop.Suppliers[0].MinimumOrder = nil, 3600
		b := buying{shop: shop, along: Alongside{Suppliers: map[string]programme.Money{"cloth": others}},
			lines: []purchase{
				{SKU: item("tee", "M"), list: 400, pack: 1, wanted: 3, buy: 3,
					curve: NewShortage([]float64{0, 0.5, 0.5})},
			}}
		b.meetTerms()
		require.Equal(t, want, b.lines[0].buy, "%d beside it", others)
	}
}

// An order costs the way of a supplier only where something is expected to be needed of it.
func TestASupplierOfWhatNobodyNeedsCostsNoWay(t *testing.T) {
	shop := twoSuppliers()
	shop.Ordering, shop.Suppliers[0].FreeFreightFrom = 2000, 0
	of := func(caps float64) OrderCost {
		c := &situation{in: &Input{Shop: shop, Client: &programme.Client{}}, horizon: Horizon{Trigger: 3, Quantity: 12}}
		c.ordinary = []Stocked{
			{Quantity: demand.Line{SKU: item("tee", "M"), Distribution: demand.Distribution{Mean: 2}}},
			{Quantity: demand.Line{SKU: item("cap", "M"), Distribution: demand.Distribution{Mean: caps}}},
		}
		return c.orderCost()
	}
	require.Equal(t, OrderCost{Handling: 2000, Freight: 1500}, of(0))
	require.Equal(t, OrderCost{Handling: 2000, Freight: 1500 + 700}, of(0.1))
}

// A stated price of nothing is none: what a missing piece costs is then reckoned from 1.8 times
// its cost, and no sum of money is told that would leave the piece out.
func TestAPriceOfNothingIsNone(t *testing.T) {
	c := standing(4, 0)
	c.in.Shop = twoSuppliers()
	c.in.Shop.Garments[0].Sizes = append(c.in.Shop.Garments[0].Sizes, programme.GarmentSize{Code: "L", Cost: 400})
	require.Equal(t, programme.Money(1400), c.priceOf(&c.ordinary[0]))
	c.in.Client.Prices[0].Price = 0
	require.Equal(t, programme.Money(720), c.priceOf(&c.ordinary[0]))
	c.policy = &policy{situation: c, pool: []int{0, 0}}
	require.Zero(t, c.choice(Suggested, []int{6, 6}, 0).Price)
	c.in.Client.Prices[0].Price = 1400
	require.Equal(t, programme.Money(2*1400+2*2000), c.choice(Suggested, []int{6, 6}, 0).Price)
}

// How often a starter comes for whom a piece of the line is needed: of a line of the kit for
// every colour as of one for that colour, and not of another colour's.
func TestStartersTakeAsManyAsTheirKitHas(t *testing.T) {
	black := programme.SKU{Garment: "tee", Colour: "black", Size: "M"}
	line := &Stocked{Quantity: demand.Line{SKU: black, ByCause: programme.Causes{Hires: 6}}}
	for name, k := range map[string]struct {
		colour string
		each   float64
	}{"every colour": {"", 3}, "that colour": {"black", 3}, "another": {"white", 1}} {
		kit := []programme.KitLine{{Garment: "tee", Colour: k.colour, Each: 3}}
		c := &situation{in: &Input{Client: &programme.Client{Pool: 2, Roles: []programme.Role{{Kit: kit}}}},
			horizon: Horizon{Quantity: 12}}
		require.InDelta(t, 6/k.each*365.25/7/12, c.startersAYear(line), 1e-9, name)
		pool := 0
		if name != "another" {
			pool = 2 * 3
		}
		require.Equal(t, []int{pool}, c.poolOf([]Stocked{*line}), name)
	}
}

// Whoever comes on a known day is one of the starters that are expected, and not one more.
func TestAKnownStarterIsOneOfThoseExpected(t *testing.T) {
	k := item("tee", "M")
	for known, want := range map[int]int{0: 3, 2: 1, 4: 0} {
		in := &Input{Coming: []Owed{{StaffID: "new", SKU: k, Pieces: known},
			{StaffID: "season", SKU: k, Pieces: 1, Begins: 500}}}
		line := Line{SKU: k, Order: 9, Causes: programme.Causes{Hires: 3}}
		require.Equal(t, []parting{{starters: want}}, newNaming(in).parted([]Line{line}), "%d known", known)
	}
}

// What a client of few people is judged by is what ordering for them costs, once pieces for
// nobody by name are left out: never less than the best plan, and more where pieces that save are left out.
func TestFewPeopleAreJudgedByWhatTheirOrdersCost(t *testing.T) {
	dearer := 0
	longest := 0.0
	for stock := range 4 {
		in := &Input{Shop: twoSuppliers(), Client: &programme.Client{}, AsOf: 20000, People: 3}
		in.Shop.ReviewDays, in.Shop.Ordering, in.Shop.Missing, in.Shop.Keeping = 7, 2000, programme.UsualMissing(),
			programme.UsualKeeping()
		h := in.horizon()
		mean := 0.4 * float64(h.Quantity)
		line := demand.Line{SKU: item("cap", "M"), Distribution: demand.Describe(negativeBinomial(mean, 1e-12))}
		line.ByCause.Worn = mean
		in.Lines = []Stocked{{Quantity: line, OnHand: stock}}
		for i := range 3 {
			in.Outlooks = append(in.Outlooks, demand.Outlook{StaffID: fmt.Sprint(i), SKU: line.SKU, PEnd: 0.3})
		}
		c := newSituation(in)
		in.People = 30
		longest = max(longest, c.policy.plan.Weeks/newSituation(in).policy.plan.Weeks)
		require.GreaterOrEqual(t, c.policy.plan.Weeks, fewLonger*newSituation(in).policy.plan.Weeks,
			"their orders last longer")
		in.People = 3
		best := c.policy.plan.CostWeek
		levels := []int{c.planned().levels[0]}
		c.dueAsTrimmed()
		week, _ := c.policy.plan.CostOf(levels)
		require.InEpsilon(t, max(best, week), c.policy.plan.CostWeek, 1e-9)
		require.InEpsilon(t, c.policy.plan.CostWeek, max(best, c.policy.costWeek), 1e-9)
		if week > best {
			dearer++
		}
	}
	require.Positive(t, dearer)
	require.Less(t, longest, fewLonger*1.3, "but not much longer than that")
}

// Lines that need a printer may wait for a later order, unless they are all that a client
// orders, somebody is short of one, or they save what the way costs; a client who orders
// nothing has no say.
func TestWhichLinesMayWait(t *testing.T) {
	shop := twoSuppliers()
	client := func(teeStock, capStock, tees, caps int) *shopper {
		c := &situation{in: &Input{Shop: shop, Client: &programme.Client{}}, ordinary: make([]Stocked, 2),
			horizon: Horizon{Quantity: 4}}
		c.policy = &policy{situation: c, pool: []int{0, 0}, costs: []LineCost{{MissingWeek: 100}, {MissingWeek: 100}}}
		return &shopper{situation: c, buys: buying{shop: shop, lines: []purchase{
			{SKU: item("tee", "M"), stock: teeStock, wanted: tees, buy: tees},
			{SKU: item("cap", "M"), stock: capStock, wanted: caps, buy: caps},
		}}}
	}
	nobody := client(0, 0, 0, 0)
	for name, x := range map[string]struct {
		s  *shopper
		ok bool
	}{
		"caps beside tees": {client(0, 0, 5, 2), true}, "caps alone": {client(0, 0, 0, 2), false},
		"somebody is short of a cap": {client(0, -1, 5, 2), false},
		"tees alone":                 {client(0, 0, 5, 0), false}, "nothing": {nobody, false},
	} {
		d, ok := worthOf([]*shopper{nobody, x.s}, "heads", 700)
		require.Equal(t, x.ok, ok, name)
		if ok {
			require.Equal(t, map[*shopper][]int{x.s: {1}}, d.lines, name)
		}
	}
}

// Goods that cost nothing, such as a customer's own, fill no smallest order, however many are bought.
func TestGoodsThatCostNothingFillNoSmallestOrder(t *testing.T) {
	for list, want := range map[programme.Money]int{0: 2, 400: 8} { // of caps at 4.00 beside free tees
		shop := twoSuppliers()
		shop.Garments[0].Breaks, shop.Garments[1].Supplier, shop.Suppliers[0].MinimumOrder = nil, "cloth", 3200
		curve := NewShortage([]float64{0, 0.5, 0.5})
		b := buying{shop: shop, lines: []purchase{{SKU: item("tee", "M"), pack: 1, buy: 3, curve: curve},
			{SKU: item("cap", "M"), list: list, pack: 1, buy: 2, curve: curve}}}
		b.meetTerms()
		require.Equal(t, [2]int{3, want}, [2]int{b.lines[0].buy, b.lines[1].buy})
	}
}
