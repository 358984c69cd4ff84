package reorder

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

func item(garment, size string) programme.SKU { return programme.SKU{Garment: garment, Size: size} }

// twoSuppliers sells tees with a break from ten and caps, each brought by another.
func twoSuppliers() *programme.Shop {
	return &programme.Shop{
		Garments: []programme.Garment{
			{Code: "tee", Supplier: "cloth", Breaks: []programme.CostBreak{{From: 10, Percent: 20}},
				Sizes: []programme.GarmentSize{{Code: "M", Cost: 400}}},
			{Code: "cap", Supplier: "heads", Sizes: []programme.GarmentSize{{Code: "M", Cost: 250}}},
		},
		Suppliers: []programme.Supplier{{Code: "cloth", Freight: 1500, FreeFreightFrom: 5000, MinimumOrder: 9000},
			{Code: "heads", Freight: 700}},
	}
}

// A basket of six tees at 4.00 and two caps; four more tees reach the break.
func TestABasketCostsWhatItsBreaksSay(t *testing.T) {
	shop := twoSuppliers()
	k := newBasket()
	k.add(&buying{lines: []purchase{{SKU: item("tee", "M"), list: 400, buy: 6},
		{SKU: item("cap", "M"), list: 250, buy: 2}, {SKU: item("cap", "L"), list: 250}}}, 1)
	require.Equal(t, map[string]int{"tee": 6, "cap": 2}, k.pieces)
	require.Equal(t, map[string]programme.Money{"cloth": 2400, "heads": 500}, k.value(shop))
	require.Equal(t, map[string]programme.Money{"cloth": 1500, "heads": 700}, k.freight(shop))

	own := buying{shop: shop, lines: []purchase{{SKU: item("tee", "L"), list: 400, buy: 4}}}
	s := &shopper{situation: &situation{in: &Input{Shop: shop, Alongside: Alongside{Garments: map[string]int{"cap": 5},
		Suppliers: map[string]programme.Money{"heads": 1250, "cloth": 10}}}}, buys: own}
	require.Equal(t, Alongside{
		Garments: map[string]int{"tee": 6, "cap": 7}, Suppliers: map[string]programme.Money{"cloth": 1920 + 10,
			"heads": 500 + 1250},
	}, k.beside(s), "six tees at the break that ten reach, less a fifth")

	both := k.with(&own)
	require.Equal(t, map[string]programme.Money{"cloth": 3200, "heads": 500}, both.value(shop))
	require.Equal(t, 6, k.pieces["tee"], "the first is left as it was")
	both.add(&own, -1)
	require.Equal(t, k, both)
	shop.Suppliers[0].FreeFreightFrom = 2400
	require.Equal(t, map[string]programme.Money{"heads": 700}, k.freight(shop), "free from just so much on")
	shop.Suppliers[0].FreeFreightFrom = 2401
	require.Equal(t, programme.Money(2200), total(k.freight(shop)))
	require.Zero(t, total(newBasket().freight(shop)), "nothing is brought for nothing")
}

// What one proposal buys: at its breaks, with its part of the freight and what is short of the supplier's terms.
func TestWhatAPurchaseCosts(t *testing.T) {
	shop := twoSuppliers()
	b := buying{shop: shop, along: Alongside{Garments: map[string]int{"tee": 3},
		Suppliers: map[string]programme.Money{"cloth": 1200}}, lines: []purchase{
		{SKU: item("tee", "M"), list: 400, buy: 4}, {SKU: item("tee", "L"), list: 500, buy: 2},
		{SKU: item("cap", "M"), list: 250, buy: 2},
	}}
	tees := func(p *purchase) bool { return p.Garment == "tee" }
	require.Equal(t, 6, b.pieces(tees))
	require.Equal(t, programme.Money(2600), b.value(tees), "nine together are no break")
	require.Equal(t, programme.Money(2080), b.cost(tees, &shop.Garments[0], 10))
	freight := programme.Money(1500).Times(2600.0 / 3800)
	require.Equal(t, []SupplierOrder{
		{Supplier: "cloth", Value: 2600, Freight: freight, ToFreeFreight: 1200, ToMinimum: 5200},
		{Supplier: "heads", Value: 500, Freight: 700},
	}, b.freight())
	b.along.Garments["tee"] = 4
	require.Equal(t, programme.Money(2080), b.value(tees), "with another it is")
	b.along.Suppliers["cloth"] = 5000
	require.Equal(t, SupplierOrder{Supplier: "cloth", Value: 2080, ToMinimum: 1920}, b.freight()[0])
	b.along.Suppliers["cloth"] = 7000
	require.Zero(t, b.freight()[0].ToMinimum)
	b.carriage = map[string]programme.Money{"heads": 123}
	require.Equal(t, programme.Money(123), b.freight()[1].Freight)
	require.Equal(t, programme.Money(77), b.unitCost(&purchase{SKU: item("lost", ""), list: 77}))
	require.Empty(t, b.supplier("lost"))
}

// Each pack goes to the line where it takes most shortage away for its money, counted here from the distributions.
func TestToppingUpGoesWhereItDoesMostGood(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 9))
	for range 100 {
		b := buying{shop: twoSuppliers()}
		var pmfs [][]float64
		for i := range 2 + rng.IntN(3) {
			pmf := make([]float64, 12)
			for j := range 40 {
				pmf[(rng.IntN(12)*rng.IntN(12)+j)%12] += 1.0 / 40
			}
			pmfs = append(pmfs, pmf)
			b.lines = append(b.lines, purchase{
				SKU: item("tee", fmt.Sprint(i)), curve: NewShortage(pmf), stock: rng.IntN(6) - 2, shelf: rng.IntN(3),
				pack: 1 + rng.IntN(3), list: programme.Money(100 + rng.IntN(900)), buy: rng.IntN(3),
			})
		}
		short := func(pmf []float64, stock int) (sum float64) {
			for d, p := range pmf {
				sum += p * math.Max(0, float64(d-stock))
			}
			return sum
		}
		want := make([]int, len(b.lines))
		for i := range b.lines {
			want[i] = b.lines[i].buy
		}
		packs := 1 + rng.IntN(5)
		for range packs {
			best, most := -1, -1.0
			for i := range b.lines {
				p := &b.lines[i]
				level := p.stock + p.shelf + want[i]
				if good := (short(pmfs[i], level) - short(pmfs[i],
					level+p.pack)) / (float64(p.list) * float64(p.pack)); good > most+1e-15 {
					best, most = i, good
				}
			}
			want[best] += b.lines[best].pack
		}
		n := -1
		b.topUp(func(*purchase) bool { return true }, "why", func() bool { n++; return n == packs })
		for i := range b.lines {
			require.Equal(t, want[i], b.lines[i].buy)
		}
	}
	seldom := purchase{curve: NewShortage([]float64{0.2, 0.8})}
	require.False(t, seldom.useful(), "0.8 of a piece in a whole cover")
	seldom.buy = 1
	require.True(t, seldom.useful())
	often := purchase{curve: NewShortage([]float64{0, 0.5, 0.5})}
	require.True(t, often.useful())
	require.Equal(t, 1, (&purchase{curve: NewShortage([]float64{0, 1})}).oneMoreCover())
}

// Packs, and what is said of them.
func TestWhyMoreIsBoughtThanWanted(t *testing.T) {
	for want, p := range map[string]purchase{
		"": {wanted: 6, pack: 3}, "sold in packs of 4; 2 stay blank on the shelf": {wanted: 6, pack: 4},
		"sold in packs of 4; 1 stays blank on the shelf": {wanted: 7, pack: 4},
		"3 stay blank on the shelf":                      {wanted: 1, shelf: 4, pack: 1},
	} {
		if p.shelf <= p.wanted {
			p.toPacks()
		}
		require.Equal(t, want, p.words())
		require.Equal(t, p.wanted, p.order())
	}
	p := purchase{wanted: 9, shelf: 4, pack: 6}
	p.toPacks()
	require.Equal(t, [2]int{6, 9}, [2]int{p.buy, p.order()})
	p.note("once")
	p.note("once")
	require.Equal(t, []string{"sold in packs of 6", "once"}, p.because)
}

// Blanks of the shelf are taken as far as they are wanted and there, by one line after the other.
func TestBlanksAreTakenOnce(t *testing.T) {
	left := map[programme.SKU]int{item("tee", "M"): 5, item("tee", "L"): -2}
	b := buying{lines: []purchase{{SKU: item("tee", "M"), wanted: 3, shelf: 9}, {SKU: item("tee", "L"), wanted: 3},
		{SKU: item("cap", "M"), wanted: 3, shelf: 2}}}
	b.takeBlanks(left)
	require.Equal(t, []int{3, 0, 0}, []int{b.lines[0].shelf, b.lines[1].shelf, b.lines[2].shelf})
	require.Equal(t, map[programme.SKU]int{item("tee", "M"): 2, item("tee", "L"): -2}, left)
	b.takeBlanks(nil)
	require.Equal(t, 3, b.lines[0].shelf, "each line keeps the blanks that it came with")
}

// The facts behind a decision: the verdict, who is short, what comes too late, and of the lines the three shortest.
func TestTheFactsBehindADecision(t *testing.T) {
	one := func(size string, n near) near {
		n.SKU = item("tee", size)
		return n
	}
	lines := []near{
		one("a", near{demand: 3, short: 0.31, owed: 2}), one("b", near{demand: 3, short: 0.9, late: 4}),
		one("c", near{demand: 1, short: 0.29, handOut: 1}),
		one("d", near{demand: 1, short: 0.5, late: 3}), one("e", near{demand: 1, short: 0.4}),
	}
	fact := func(kind ReasonKind, size string, pieces float64) Reason {
		return Reason{kind, item("tee", size), pieces}
	}
	shortest := []Reason{fact(ShortestLine, "b", 0.9), fact(ShortestLine, "d", 0.5), fact(ShortestLine, "e", 0.4)}
	require.Equal(t, append([]Reason{{Kind: BelowTarget}, fact(OwedNow, "a", 2), fact(ComesTooLate, "b", 4),
		fact(HandOut, "c", 1)}, shortest...), reasons(lines, true))
	require.Equal(t, append([]Reason{{Kind: AboveTarget}, fact(OwedNow, "a", 2), fact(HandOut, "c", 1)}, shortest...),
		reasons(lines, false))
	require.Equal(t, []Reason{{Kind: NoDemand}}, reasons([]near{{}}, false))
	require.Equal(t, []Reason{{Kind: AboveTarget}, fact(ShortestLine, "a", 0.05)},
		reasons([]near{one("a", near{demand: 1, short: 0.05}), one("b", near{short: 0.05})}, false))
	require.Equal(t, []Reason{{Kind: AboveTarget}}, reasons([]near{one("a", near{demand: 1, short: 0.049})}, false))
	require.Equal(t, []Reason{{Kind: AboveTarget}, fact(ShortestLine, "a", 0.3), fact(ShortestLine, "b", 0.3)},
		reasons([]near{one("a", near{demand: 1, short: 0.3}), one("b", near{short: 0.3})}, false))
	require.InDelta(t, 1-2.4/9, fillOf(lines), 1e-12)
	require.True(t, tooLow(0.9, 0.901))
	require.False(t, tooLow(0.9, 0.9))

	h := Horizon{Trigger: 4, Quantity: 8}
	pmf := []float64{0.25, 0.5, 0.25}
	for _, c := range []struct {
		line Stocked
		want near
	}{
		{Stocked{OnHand: 1, OnOrder: 1, OnOrderLater: 3}, near{demand: 1, late: 3}},
		{Stocked{OnHand: 1, Owed: 3, OnOrder: 1}, near{demand: 4, short: 2, owed: 1, handOut: 1}},
		{Stocked{OnHand: 5, Owed: 3}, near{demand: 4, handOut: 3}},
		{Stocked{OnHand: 1}, near{demand: 1, short: 0.25}},
	} {
		c.line.Trigger.PMF = pmf
		require.Equal(t, []near{c.want}, trigger([]Stocked{c.line}, h))
	}
}

// Expected pieces become whole ones: of each line rounded down or up, together as many as are expected together.
func TestExpectedPiecesAreApportioned(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 4))
	for range 500 {
		expected, room := make([]float64, 1+rng.IntN(6)), []int{}
		sum := 0.0
		for i := range expected {
			expected[i] = float64(rng.IntN(30)) / 8
			sum += expected[i]
			room = append(room, rng.IntN(6))
		}
		out := apportion(expected, room)
		together, most := 0, 0
		for i, n := range out {
			require.LessOrEqual(t, n, room[i])
			require.GreaterOrEqual(t, n, min(room[i], int(math.Floor(expected[i]))))
			require.LessOrEqual(t, n, int(math.Floor(expected[i]))+1)
			together += n
			most += min(room[i], int(math.Floor(expected[i]))+1)
		}
		require.Equal(t, min(most, max(together, int(math.Round(sum)))), together,
			"as many as are expected where there is room")
		least := 0
		for i := range expected {
			least += min(room[i], int(math.Floor(expected[i])))
		}
		require.LessOrEqual(t, together, max(least, int(math.Round(sum))))
		for i := range out { // nobody with a smaller remainder went first
			for j := range out {
				if out[i] > int(math.Floor(expected[i])) && out[j] == int(math.Floor(expected[j])) && out[j] < room[j] {
					require.GreaterOrEqual(t, expected[i]-math.Floor(expected[i]), expected[j]-math.Floor(expected[j]))
				}
			}
		}
	}
}

// The share that has ended by a day goes through the three dates that are told, and bends as a power of time between
// them.
func TestTheShareEndedGoesThroughItsDates(t *testing.T) {
	o := &end{d10: 120, d50: 180, d90: 260}
	for day, want := range map[programme.Date]float64{120: 0.1, 180: 0.5, 260: 0.9} {
		require.InDelta(t, want, ended(o, 100, day), 1e-9)
	}
	hazard := func(day programme.Date) float64 { return -math.Log(1 - ended(o, 100, day)) }
	require.InDelta(t, math.Sqrt(hazard(120)*hazard(180)), hazard(140), 1e-9,
		"40 days lie between 20 and 80 as their mean by the power")
	for _, o.d90 = range []programme.Date{0, 180} { // not known, and on the same day
		require.InDelta(t, hazard(180)*hazard(180)/hazard(120), hazard(420), 1e-9, "beyond the last by the same power")
	}
	o.d90 = 0
	o.d50 = 0
	require.Zero(t, ended(o, 100, 150))
	require.Zero(t, ended(&end{d10: 120, d50: 120, d90: 260}, 100, 150))

	o = &end{d10: 120, d50: 180, d90: 260, pEnd: 0.45}
	n := naming{asOf: 100, horizon: 180}
	require.InDelta(t, 0.45, n.chance(o), 0, "no other day is asked for")
	n.cover = 120
	require.InDelta(t, 0.09, n.chance(o), 1e-9)
	n.cover = 9999
	require.InDelta(t, 0.9, n.chance(o), 1e-4)
	o.pEnd = 0.6
	require.InDelta(t, 1, n.chance(o), 0, "no more than surely")
}

// Two horizons of a negative binomial demand with a common factor: variance over mean grows by its square.
func TestWhatIsWiderThanPoissonIsParted(t *testing.T) {
	pmf := func(mean, variance float64) []float64 { // two points have any mean and variance
		at := math.Sqrt(variance)
		lo, hi := int(mean-at), int(mean+at)
		p := (mean - float64(lo)) / float64(hi-lo)
		out := make([]float64, hi+1)
		out[lo], out[hi] = 1-p, p
		return out
	}
	near, far := pmf(10, 25), pmf(20, 64)
	m1, v1 := moments(near)
	m2, v2 := moments(far)
	require.InDelta(t, 10, m1, 1e-9)
	require.InDelta(t, 25, v1, 1e-9)
	perPiece, common := excess(near, far)
	require.InDelta(t, v1/m1-1, perPiece+common*m1, 1e-9)
	require.InDelta(t, v2/m2-1, perPiece+common*m2, 1e-9)
	require.InDelta(t, 0.07, common, 1e-9)
	perPiece, common = excess(near, near)
	require.InDelta(t, 0, perPiece, 1e-12)
	require.InDelta(t, 0.15, common, 1e-9, "horizons that tell nothing apart: all of it is common")
	perPiece, common = excess(near, []float64{1})
	require.Zero(t, perPiece+common)
	perPiece, common = excess([]float64{1}, far)
	require.InDelta(t, 0, perPiece, 0)
	require.InDelta(t, 0.11, common, 1e-9)
	perPiece, common = excess(near, pmf(20, 100))
	require.InDelta(t, 0, perPiece, 1e-9, "no part of it is below none")
	require.InDelta(t, 0.2, common, 1e-9)
}

// A plan is taken by changing the lines that differ, in the order of goods; what the plan does not have is none.
func TestWhatChangesForAnotherPlan(t *testing.T) {
	p := &Proposal{Lines: []Line{{SKU: item("tee", "M"), Order: 3}, {SKU: item("tee", "L"), Order: 2},
		{SKU: item("cap", "M"), Order: 4}}}
	plan := Choice{Kind: LastsLonger, Cost: 900, Lines: []Choose{{item("tee", "M"), 5}, {item("tee", "L"), 2},
		{item("apron", "M"), 1}}}
	got := plan.Changes(p)
	require.ElementsMatch(t, []LineChange{{item("apron", "M"), 1}, {item("cap", "M"), 0}, {item("tee", "M"), 5}}, got)
	require.True(t, slices.IsSortedFunc(got, func(a, b LineChange) int { return a.Compare(b.SKU) }))
	p.Blanks, p.Freight = 700, 150
	p.Curve = []Choice{{Kind: MustBe, Cost: 500}, {Kind: Suggested, Cost: 800}, plan}
	p.ChargeCurve()
	require.Equal(t, []programme.Money{550, 850, 950}, []programme.Money{p.Curve[0].Cost, p.Curve[1].Cost,
		p.Curve[2].Cost}, "all cost 0.50 more")
	longer, ok := p.Plan(LastsLonger)
	require.True(t, ok)
	require.Equal(t, programme.Money(950), longer.Cost)
	_, ok = p.Plan(WithinMoney)
	require.False(t, ok)
}

// Freight is shared by value; running sums are rounded, so that it adds up to the cent.
func TestFreightIsSharedToTheCent(t *testing.T) {
	shop := twoSuppliers()
	shop.Suppliers[1].Freight = 100
	var order []*shopper
	for _, caps := range []int{1, 0, 1, 1} {
		in := &Input{Shop: shop, Alongside: Alongside{Suppliers: map[string]programme.Money{}}}
		order = append(order, &shopper{situation: &situation{in: in},
			buys: buying{shop: shop, lines: []purchase{{SKU: item("cap", "M"), list: 250, buy: caps}}}})
	}
	shareFreight(order)
	var got []programme.Money
	for _, s := range order {
		got = append(got, s.buys.carriage["heads"])
	}
	require.Equal(t, []programme.Money{33, 0, 34, 33}, got)
	require.Equal(t, map[string]programme.Money{"heads": 33}, order[0].buys.carriage,
		"nothing of a supplier from whom nothing comes")
	order[0].in.Alongside.Suppliers["heads"] = 250
	shareFreight(order)
	require.Equal(t, programme.Money(25), order[3].buys.carriage["heads"], "a quarter of it is somebody else's")
}

// What a wrong number of a line weighs, from its price, its cost and how wide its need is.
func TestWhatAWrongNumberWeighs(t *testing.T) {
	shop := twoSuppliers()
	shop.Keeping = programme.Keeping{CostPerYear: 0.2}
	shop.Missing = programme.Missing{Worn: 0.1, Starter: 0.3, Kit: 0.5}
	client := &programme.Client{Prices: []programme.Price{{Garment: "cap", Price: 1000}}}
	in := &Input{Shop: shop, Client: client, AsOf: 20000}
	line := demand.Line{SKU: item("cap", "M"), Distribution: demand.Distribution{Mean: 2, SD: 1.25}}
	line.ByCause.Worn = 2
	in.Lines = []Stocked{{Quantity: line}}
	for i := range 9 {
		in.Outlooks = append(in.Outlooks, demand.Outlook{StaffID: fmt.Sprint(i), SKU: item("cap", "M"), PEnd: 0.1})
	}
	lines, weeks := Stakes(in)
	h := in.horizon()
	require.Equal(t, h.Trigger, weeks)
	got := lines[item("cap", "M")]
	require.InDelta(t, 1.25, got.SD, 0)
	require.Equal(t, programme.Money(100).Times(float64(weeks)), got.Short)
	require.Equal(t, programme.Money(500), got.Week)
	require.Equal(t, programme.Money(250).Times(0.2*float64(h.Quantity)/(365.25/7)), got.Over)
}

// Prices that are missing, and those below what a piece costs, by garment and price.
func TestDoubtfulPricesAreListed(t *testing.T) {
	shop := &programme.Shop{
		Garments: []programme.Garment{
			{Code: "tee", Sizes: []programme.GarmentSize{{Code: "S", Cost: 400}, {Code: "M", Cost: 500},
				{Code: "L", Cost: 600}}},
			{Code: "cap", Sizes: []programme.GarmentSize{{Code: "one", Cost: 250}}},
			{Code: "unworn", Sizes: []programme.GarmentSize{{Code: "one", Cost: 250}}},
			{Code: "free", Sizes: []programme.GarmentSize{{Code: "one", Cost: 250}}},
		},
	}
	kit := []programme.KitLine{{Garment: "tee"}, {Garment: "cap"}, {Garment: "free"}}
	client := &programme.Client{Roles: []programme.Role{{Kit: kit}},
		Prices: []programme.Price{{Garment: "tee", Price: 500}, {Garment: "tee", Size: "L", Price: 599},
			{Garment: "cap", Price: 249}, {Garment: "free", Price: 0}}}
	require.Equal(t, []PriceDoubt{
		{Garment: "tee", Sizes: []string{"L"}, Price: 599, Cost: 600}, {Garment: "cap", Price: 249, Cost: 250},
		{Garment: "free"},
	}, PriceDoubts(shop, client, 20000), "what is sold at cost is no doubt")
	shop.Garments[0].Sizes[0].Cost = 501
	require.Equal(t, PriceDoubt{Garment: "tee", Sizes: []string{"S"}, Price: 500, Cost: 501},
		PriceDoubts(shop, client, 20000)[0])
}
