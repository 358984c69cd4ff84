package reorder_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// What a missing piece costs a week is the average over the pieces that are needed, taken
// one by one: a tee at 14.00 that is worn out costs 1.00 a week here, one of another size
// half of that, a starter's 2.00 and one of a new kit 3.00.
func TestAMissingPieceCostsByWhatItIsNeededFor(t *testing.T) {
	weekly := func(by programme.Causes) float64 {
		in := anInput(stocked(sku("tee", "M"), 0.7, 0))
		in.Shop.Missing = programme.Missing{Worn: 1.0 / 14, Starter: 2.0 / 14, Kit: 3.0 / 14}
		in.Lines[0].Owed, in.Lines[0].Quantity.ByCause = 1, by
		p, _ := reorder.ProposeAnyway(in)
		return float64(p.Lines[0].LineCost.MissingWeek)
	}
	require.InDelta(t, 200, weekly(programme.Causes{}), 0.51, "whoever it is for that nobody expects is a starter")
	rapid.Check(t, func(t *rapid.T) {
		var costs []float64
		draw := func(what string, cents float64) float64 {
			n := rapid.IntRange(0, 3).Draw(t, what)
			costs = append(costs, slices.Repeat([]float64{cents}, n)...)
			return float64(n)
		}
		by := programme.Causes{
			Endings: programme.Endings[float64]{Worn: draw("worn", 100)},
			Resize:  draw("of another size", 50), Hires: draw("starters", 200), Kit: draw("of a new kit", 300),
		}
		sum := 0.0
		for _, c := range costs {
			sum += c
		}
		if len(costs) > 0 {
			require.InDelta(t, sum/float64(len(costs)), weekly(by), 0.51)
		}
	})
}

// usualValue is the cheapest value of an order, found by trying them dollar by dollar: so
// much used a year, each order costs so much, and half of it lies on average.
func usualValue(aYear, ordering, keeping float64) (best float64) {
	least := math.Inf(1)
	for q := 100.0; q < 500_000; q += 100 {
		if cost := ordering*aYear/q + keeping*q/2; cost < least {
			best, least = q, cost
		}
	}
	return best
}

// An order costs its handling, one layout of each kind of transfer that the kits have on
// them with the most inks of its artworks, and the ways that its usual size does not
// get for nothing.
func TestAnOrderCostsItsHandlingSetUpsAndWays(t *testing.T) {
	paid := 0
	rapid.Check(t, func(t *rapid.T) {
		shop, client := aShop(), aClient()
		shop.Ordering = programme.Money(rapid.IntRange(500, 4000).Draw(t, "handling"))
		free := rapid.OneOf(rapid.Just(0), rapid.IntRange(1, 60_000)).Draw(t, "free from")
		shop.Suppliers = []programme.Supplier{
			{Code: "cloth", LeadDays: 3, FreeFreightFrom: programme.Money(free), Freight: 1500},
			{Code: "prints", LeadDays: 5, Freight: programme.Money(rapid.IntRange(0, 900).Draw(t, "printer's way"))},
			{Code: "film", LeadDays: 5, Freight: 70}, {Code: "shoes", LeadDays: 5, Freight: 7},
		}
		setUp, perInk := rapid.IntRange(0, 2000).Draw(t, "set-up"), rapid.IntRange(1, 800).Draw(t, "per ink")
		shop.Kinds = []programme.TransferKind{
			{Code: "plastisol", Printer: "prints", SetUp: programme.Money(setUp), SetUpPerInk: programme.Money(perInk)},
			{Code: "film", Printer: "film", SetUp: 11, SetUpPerInk: 13},
		}
		inks, back := rapid.IntRange(1, 5).Draw(t, "inks"), rapid.IntRange(1, 5).Draw(t, "inks of the back")
		shop.Artworks = []programme.Artwork{
			{Code: "logo", Client: "bakery", Kind: "plastisol", Inks: inks},
			{Code: "back", Client: "bakery", Kind: "plastisol", Inks: back},
			{Code: "unused", Client: "bakery", Kind: "film", Inks: 9},
			{Code: "another", Client: "garage", Kind: "plastisol", Inks: 8},
		}
		kit := client.Roles[0].Kit
		kit[0].Decorations = append(slices.Clone(kit[0].Decorations),
			programme.Decoration{Artwork: "back", Place: "back"})

		rate := rapid.Float64Range(0.2, 3).Draw(t, "a week")
		in := reorder.Input{Shop: shop, Client: client, AsOf: monday,
			Lines: []reorder.Stocked{stocked(sku("tee", "M"), rate, 0)}}
		in.Lines[0].Owed = 1
		p, _ := reorder.ProposeAnyway(in)
		require.Equal(t, shop.Ordering, p.OrderCost.Handling)
		layout := setUp
		for range max(inks, back) {
			layout += perInk
		}
		require.Equal(t, programme.Money(layout), p.OrderCost.SetUp)

		usual := usualValue(rate*400*365.25/7, float64(shop.Ordering)+1500, 0.3)
		if free > 0 && math.Abs(usual-float64(free)) < 200 {
			return // too near to tell
		}
		way := shop.Suppliers[1].Freight
		if free == 0 || usual < float64(free) {
			way += 1500
			paid++
		}
		require.Equal(t, way, p.OrderCost.Freight)
		require.Equal(t, shop.Ordering+programme.Money(layout)+way, p.OrderCost.Sum())
	})
	require.Positive(t, paid)
}

// busy is a client with stock, pieces on their way, some of them late, and people whose
// pieces wear, far more of them than an order has pieces.
func busy(t *rapid.T) reorder.Input {
	in := anInput()
	in.Client.CoverWeeks = 0
	for _, size := range []string{"S", "M", "L"} {
		l := stocked(sku("tee", size), rapid.Float64Range(0.2, 1.2).Draw(t, "rate"),
			rapid.IntRange(0, 4).Draw(t, "on hand"))
		l.OnOrder, l.OnOrderLater = rapid.IntRange(0, 2).Draw(t, "on order"), rapid.IntRange(0, 3).Draw(t, "later")
		in.Lines = append(in.Lines, l)
		for i := range 20 {
			in.Outlooks = append(in.Outlooks, demand.Outlook{StaffID: size + string(rune('a'+i)), SKU: sku("tee", size),
				PEnd: 0.6, Cause: programme.CauseWorn})
		}
	}
	for range rapid.IntRange(0, 8).Draw(t, "starting") {
		in.Coming = append(in.Coming, reorder.Owed{StaffID: "new", SKU: sku("tee", "M"), Pieces: 1})
	}
	return in
}

// The suggested row counts the pieces for nobody by name as the proposal lists them,
// and no row has more of them than it has pieces.
func TestTheRowsCountNamesAsTheProposalDoes(t *testing.T) {
	seen := 0
	rapid.Check(t, func(t *rapid.T) {
		p, _ := reorder.Propose(busy(t))
		if p == nil {
			return
		}
		names, starters, spare := 0, 0, 0
		for _, n := range p.Named {
			names += n.Pieces
		}
		for _, n := range p.Pool {
			starters, spare = starters+n.ForStarters, spare+n.Spare
		}
		require.Equal(t, p.Pieces(), names+starters+spare)
		for i, c := range p.Curve {
			require.True(t, i == 0 || c.Pieces > p.Curve[i-1].Pieces, "a row of its own has pieces of its own")
			require.True(t, 0 <= c.Starters && c.Starters <= c.Unnamed && c.Unnamed <= c.Pieces, "%+v", c)
			sum := 0
			for _, l := range c.Lines {
				sum += l.Pieces
			}
			require.Equal(t, c.Pieces, sum)
		}
		if c, ok := p.Plan(reorder.Suggested); ok {
			seen++
			require.Equal(t, [3]int{p.Pieces(), starters + spare, starters}, [3]int{c.Pieces, c.Unnamed, c.Starters})
			require.Equal(t, p.Price, c.Price)
		}
	})
	require.Positive(t, seen)
}

// Whoever starts is given what lies on the shelf or is on its way, late or not, before
// the order has a piece for them.
func TestStartersAreServedByWhatIsOnItsWay(t *testing.T) {
	for later := range 4 {
		in := anInput(stocked(sku("tee", "M"), 1, 0))
		in.Lines[0].OnHand, in.Lines[0].OnOrder, in.Lines[0].OnOrderLater = 1, 1, later
		in.Coming = []reorder.Owed{{StaffID: "new", SKU: sku("tee", "M"), Pieces: 5}}
		p, _ := reorder.ProposeAnyway(in)
		got := 0
		for _, n := range p.Named {
			got += n.Pieces
		}
		require.Equal(t, 5-1-1-later, got)
	}
}

// Of one person's pieces that are equally likely to end, the one issued first is replaced,
// and of those of one day the one washed most.
func TestTheOldestOfEqualPiecesIsReplaced(t *testing.T) {
	for name, younger := range map[string]demand.Outlook{
		"issued later": {Issued: monday.Add(-200), Washes: 70},
		"washed less":  {Issued: monday.Add(-300), Washes: 20},
	} {
		older := demand.Outlook{Issued: monday.Add(-300), Washes: 50}
		for _, list := range [][]demand.Outlook{{older, younger}, {younger, older}} {
			in := anInput(stocked(sku("tee", "M"), 0.08, 0))
			in.Lines[0].Owed, in.Owed = 1, []reorder.Owed{{StaffID: "b", SKU: sku("tee", "M"), Pieces: 1}}
			for _, o := range list {
				o.StaffID, o.SKU, o.PEnd, o.Cause = "a", sku("tee", "M"), 0.5, programme.CauseWorn
				in.Outlooks = append(in.Outlooks, o)
			}
			p, _ := reorder.ProposeAnyway(in)
			i := slices.IndexFunc(p.Named, func(n reorder.Named) bool { return n.StaffID == "a" })
			require.GreaterOrEqual(t, i, 0, name)
			require.Equal(t, 1, p.Named[i].Pieces, name)
			require.InDelta(t, 50, p.Named[i].Washes, 0, name)
		}
	}
}

// A yes of a later day buys at the prices of that day; what changes, and from when, is known
// before, unless nothing that is ordered changes.
func TestPricesHoldForTheDayOfTheYes(t *testing.T) {
	client := aClient()
	client.Prices = append(client.Prices,
		programme.Price{Garment: "tee", Price: 1500, From: monday.Add(10)},
		programme.Price{Garment: "apron", Price: 2500, From: monday.Add(5)})
	p := proposed(t, aShop(), 6, 0)
	p.Lines = append(p.Lines, reorder.Line{SKU: sku("apron", "one")})
	require.Equal(t, programme.Money(8400), p.Price)
	require.Equal(t, p.Price-p.Blanks-p.Transfers-p.Pressing-p.Freight, p.Margin())
	require.True(t, p.Priced(), "an apron that is not ordered has no say")

	require.Zero(t, p.NewPrice(client, monday.Add(9)))
	require.Equal(t, monday.Add(10), p.NewPrice(client, monday.Add(10)))
	for day, price := range map[int]programme.Money{0: 8400, 9: 8400, 10: 9000, 90: 9000} {
		q := *p
		q.Lines = slices.Clone(p.Lines)
		q.Answered = monday.Add(day)
		require.Equal(t, programme.Money(8400), q.PriceAnew(client))
		require.Equal(t, price, q.Price, "a yes after %d days", day)
	}
	p.Lines[0].UnitPrice = 0
	require.False(t, p.Priced())
	require.Equal(t, programme.Money(8400), p.PriceAnew(client), "the day of the proposal where there is no answer")
	require.Equal(t, programme.Money(8400), p.Price)
}

// Every piece that is still to come has one day: back-orders theirs, the rest the promise.
func TestWhatIsToComeHasItsDay(t *testing.T) {
	tee := sku("tee", "M")
	p := proposed(t, aShop(), 10, 2)
	p.Arrives = monday.Add(20)
	p.BackOrder(tee, 3, monday.Add(40))
	first := reorder.Delivery{SKU: tee, Came: 2, Back: 1, GivenUp: 1, BackOn: monday.Add(30)}
	_, err := p.Deliver([]reorder.Delivery{first})
	require.NoError(t, err)
	days := map[programme.SKU]map[programme.Date]int{}
	for _, c := range p.Coming() {
		if days[c.SKU] == nil {
			days[c.SKU] = map[programme.Date]int{}
		}
		days[c.SKU][c.On] += c.Pieces
	}
	require.Equal(t, map[programme.SKU]map[programme.Date]int{
		tee:                 {monday.Add(20): 10 - 2 - 1 - 3 - 1, monday.Add(30): 1, monday.Add(40): 3},
		sku("apron", "one"): {monday.Add(20): 2},
	}, days)
	require.Equal(t, 10+2-2-1, p.Outstanding())
	came := func(list []reorder.Delivery) (n int) {
		for _, d := range list {
			n += d.Came
		}
		return n
	}
	for day, want := range map[programme.Date]int{monday: 5, monday.Add(29): 5, monday.Add(30): 6, monday.Add(39): 6,
		monday.Add(40): 9, monday.Add(90): 9, 0: 9} {
		require.Equal(t, want, came(p.AllBy(day)), "what is on back-order until later than %s does not come with the rest", day)
	}
	p.BackOrder(tee, 99, monday.Add(50))
	require.Equal(t, 9, p.Outstanding(), "no more comes than was ordered")

	_, err = p.Deliver(p.AllBy(monday.Add(49)))
	require.NoError(t, err)
	_, err = p.Deliver(p.AllBy(monday.Add(49)))
	require.NoError(t, err)
	require.Zero(t, p.Outstanding(), "a second word that all came means those, too")
	require.Empty(t, p.Coming())
	require.Empty(t, p.AllBy(monday.Add(50)))

	p.NoteCame([]reorder.Delivery{first}, monday.Add(20))
	p.NoteCame([]reorder.Delivery{{SKU: tee, Came: 4}, {SKU: sku("apron", "one")}}, monday.Add(20))
	p.NoteCame([]reorder.Delivery{{SKU: tee, Came: 1}}, monday.Add(30))
	require.Equal(t, []reorder.BackOrder{{Pieces: 6, On: monday.Add(20)}, {Pieces: 1, On: monday.Add(30)}},
		p.Line(tee).Came)
	require.Empty(t, p.Line(sku("apron", "one")).Came)
}

// Goods of the last day that is named are in hands in time, and those of no later working day are.
func TestGoodsComeOnTheLastDayThatDoes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := reorder.Lead{Blanks: 9, Transfers: 4, Press: rapid.IntRange(0, 4).Draw(t, "press"),
			Delivery: rapid.IntRange(0, 3).Draw(t, "delivery")}
		l.Closed = drawClosed(t, monday)
		needed := monday.Add(rapid.IntRange(10, 40).Draw(t, "needed"))
		workshop := reorder.Lead{Press: l.Press, Delivery: l.Delivery, Closed: l.Closed}
		last := programme.Date(0)
		for d := needed.Add(-60); d <= needed; d++ {
			if open(l.Closed, d) && workshop.Arrival(d) <= needed {
				last = d
			}
		}
		require.Equal(t, last, l.GoodsBy(needed))
	})
}

// An answer about held clothing stands as long as an order lasts, a quarter where none is set.
func TestHowLongAnAnswerStands(t *testing.T) {
	require.Equal(t, 56, reorder.AnswerDays(aClient()))
	require.Equal(t, 91, reorder.AnswerDays(&programme.Client{}))
}

// What is taken off the shelf for a proposal goes back as it lay there.
func TestWhatIsSetAsideGoesBackAsItWas(t *testing.T) {
	shelf := []programme.StockLine{
		{AsOf: monday, Goods: programme.TransferGoods("logo"), Pieces: 12, Made: monday.Add(-90)},
		{AsOf: monday, Goods: programme.TransferGoods("badge"), Pieces: 3},
	}
	p := &reorder.Proposal{}
	p.SetAside(shelf[:1])
	p.SetAside(shelf[1:])
	require.Equal(t, shelf, p.Shelf())
	require.Equal(t, shelf, p.GiveBack())
	require.Empty(t, p.GiveBack(), "once")
}

// The next form of a proposal is the same number, one revision on, asked since the first.
func TestTheNextFormIsAskedSinceTheFirst(t *testing.T) {
	first := &reorder.Proposal{Number: 7, AsOf: monday}
	second, third := &reorder.Proposal{AsOf: monday.Add(7)}, &reorder.Proposal{AsOf: monday.Add(14)}
	second.Continue(first)
	third.Continue(second)
	require.Equal(t, [3]int{1, 2, 3}, [3]int{first.Form(), second.Form(), third.Form()})
	require.Equal(t, int64(7), third.Number)
	require.Equal(t, monday, third.Since())
}

// A print costs its share of the sheet with the gaps around it, at the price of the
// smallest break: on 200 by 300 mm within the margins, 40 by 50 mm with the gaps are
// a thirtieth, and on a metre of roll a hundredth.
func TestAPrintIsGuessedAtItsShareOfASheet(t *testing.T) {
	const mm = programme.Millimetre
	shop, client := aShop(), aClient()
	k := &shop.Kinds[0]
	k.Gutter, k.Margin = 5*mm, 10*mm
	k.Prices = []programme.PriceBreak{{From: 1, Price: 3000}, {From: 10, Price: 1000}}
	k.Sheets = []programme.SheetSize{{Width: 220 * mm, Height: 320 * mm}}
	shop.Artworks[0].Width, shop.Artworks[0].Height = 35*mm, 45*mm
	require.Equal(t, programme.Money(100), reorder.TransferGuess(shop, client, sku("tee", "M")))
	p := proposed(t, shop, 7, 2)
	p.GuessTransfers(shop, client)
	require.Equal(t, programme.Money(900), p.Transfers)
	k.Sheets[0].Roll = true
	require.Equal(t, programme.Money(30), reorder.TransferGuess(shop, client, sku("tee", "M")))
	p.GuessTransfers(shop, client)
	require.Equal(t, programme.Money(270), p.Transfers)
}

// Two kits kept for starters are no stock for the others: with ten tees more on the shelf for
// them, a client is due when one without them is, a week's delay costs as much and each
// piece saves as much.
func TestAPoolIsNoStockForOthers(t *testing.T) {
	for stock := range 9 {
		plain, pooled := anInput(stocked(sku("tee", "M"), 0.7, stock)), anInput(stocked(sku("tee", "M"), 0.7, stock+10))
		pooled.Client.Pool = 2
		alone, want := reorder.Propose(plain)
		beside, got := reorder.Propose(pooled)
		require.Equal(t, want.Due, got.Due, "%d on the shelf", stock)
		require.Equal(t, want.NextDue, got.NextDue, "%d on the shelf", stock)
		p, _ := reorder.ProposeAnyway(plain)
		q, _ := reorder.ProposeAnyway(pooled)
		require.Equal(t, p == nil, q == nil)
		if alone != nil {
			require.Len(t, beside.Curve, len(alone.Curve))
			for i, row := range alone.Curve {
				require.Equal(t, row.Lines, beside.Curve[i].Lines)
				require.Equal(t, row.NextOrder, beside.Curve[i].NextOrder)
			}
		}
		if p != nil {
			require.Equal(t, [2]programme.Money{p.LateWeek, p.Cost()}, [2]programme.Money{q.LateWeek, q.Cost()})
			require.Equal(t, p.Lines[0].Saves, q.Lines[0].Saves)
		}
	}
}

// Where nothing more is expected to be needed, only what somebody is short of makes a client
// due, and each of those pieces saves what it costs until the next order.
func TestOnlyWhatSomebodyIsShortOfIsDueWhereNothingIsExpected(t *testing.T) {
	for owed := range 3 {
		in := anInput(stocked(sku("tee", "M"), 0, 0))
		in.Lines[0].Owed = owed
		p, d := reorder.Propose(in)
		require.Equal(t, owed > 0, d.Due)
		in.People = 5
		require.Equal(t, owed > 0, reorder.PullAll([]reorder.Input{in}, nil, reorder.PullTerms{})[0].Decision.Due,
			"of few people, too")
		if owed == 0 {
			continue
		}
		require.Equal(t, owed, p.Pieces())
		require.Len(t, p.Lines[0].Saves, owed)
		for _, saves := range p.Lines[0].Saves {
			require.Positive(t, int64(saves))
		}
	}
}
