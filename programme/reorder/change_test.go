package reorder_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// packedShop is the bakery's shop with tees in packs and aprons of another supplier.
func packedShop(pack int) *programme.Shop {
	shop := aShop()
	shop.Garments[0].Pack = pack
	shop.Garments[1].Supplier = "canvas"
	shop.Suppliers = append(shop.Suppliers, programme.Supplier{Code: "canvas", LeadDays: 4, Freight: 700})
	return shop
}

// proposed are so many tees and aprons for nobody by name, with transfers at 20 cents a print.
func proposed(t require.TestingT, shop *programme.Shop, tees, aprons int) *reorder.Proposal {
	p, err := reorder.Direct(shop, aClient(), monday, nil, []reorder.LineChange{{SKU: sku("tee", "M"), Pieces: tees},
		{SKU: sku("apron", "one"), Pieces: aprons}})
	require.NoError(t, err)
	p.Transfers = programme.Money(20 * (tees + aprons))
	for i := range p.Lines {
		p.Lines[i].Changed = false // as a round offers them
	}
	return p
}

// Every number of a changed proposal follows from its pieces: blanks are the fewest whole
// packs that do, counted up one by one here, and money is added up from the catalogue.
func TestAChangedProposalCostsWhatItsPiecesCost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pack := rapid.IntRange(1, 6).Draw(t, "pack")
		shop, client := packedShop(pack), aClient()
		tees, aprons := rapid.IntRange(1, 20).Draw(t, "tees"), rapid.IntRange(1, 9).Draw(t, "aprons")
		p := proposed(t, shop, tees, aprons)
		shelf := rapid.IntRange(0, 8).Draw(t, "on the shelf")
		left := map[programme.SKU]int{sku("tee", "M"): shelf}
		p.UseBlanks(shop, client, left)
		require.Equal(t, shelf-min(shelf, tees), left[sku("tee", "M")])
		ask := rapid.IntRange(0, 25).Draw(t, "asked")
		_, err := p.Change(shop, client, []reorder.LineChange{{SKU: sku("tee", "M"), Pieces: ask}})
		require.NoError(t, err)

		l := p.Line(sku("tee", "M"))
		fromShelf := min(shelf, tees, ask) // no more than was set apart for the offer
		buy := 0
		for fromShelf+buy < ask {
			buy += pack
		}
		require.Equal(t, [5]int{ask, fromShelf, buy, fromShelf + buy - ask, tees},
			[5]int{l.Order, l.BlanksOnShelf, l.Buy, l.StayBlank, l.Offered})
		require.Equal(t, programme.Money(400*buy+900*aprons), p.Blanks)
		require.Equal(t, programme.Money(1400*ask+2200*aprons), p.Price)
		require.Equal(t, programme.Money(20*(ask+aprons)), p.Transfers)
		require.InDelta(t, float64(ask+aprons)/60, p.PressHours, 1e-12)
		require.InDelta(t, 50*float64(ask+aprons), float64(p.Pressing), 0.5)
		freight := programme.Money(700)
		if buy > 0 {
			freight += 1500
		}
		require.Equal(t, freight, p.Freight, "nothing to bring costs no freight")
		require.Equal(t, p.Blanks+p.Transfers+p.Pressing+p.Freight, p.Cost())
	})
}

// The most pieces that a line takes are still taken.
func TestTenThousandPiecesAreTheMost(t *testing.T) {
	p := proposed(t, aShop(), 6, 0)
	for pieces, ok := range map[int]bool{10000: true, 10001: false, -1: false, 0: true} {
		_, err := p.Change(aShop(), aClient(), []reorder.LineChange{{SKU: sku("tee", "M"), Pieces: pieces}})
		require.Equal(t, ok, err == nil, "%d", pieces)
	}
}

func TestAProposalChangedToNothingAndBack(t *testing.T) {
	shop, client := packedShop(1), aClient()
	p := proposed(t, shop, 10, 2)
	change := func(tees, aprons int) {
		_, err := p.Change(shop, client, []reorder.LineChange{{SKU: sku("tee", "M"), Pieces: tees},
			{SKU: sku("apron", "one"), Pieces: aprons}})
		require.NoError(t, err)
	}
	change(0, 0)
	require.Zero(t, p.Cost())
	require.Empty(t, p.Suppliers, "nobody has anything to bring")
	change(5, 0)
	require.Equal(t, programme.Money(2000+1500), p.Blanks+p.Freight)
	require.Zero(t, p.Transfers, "what sheets cost is not known before they are laid out again")
	require.Equal(t, []reorder.SupplierOrder{{Supplier: "cloth", Value: 2000, Freight: 1500}}, p.Suppliers)
}

// As many as before are no change: nobody gets or loses a piece, and no pool is made.
func TestAsManyAsBeforeChangesNothing(t *testing.T) {
	shop, client := aShop(), aClient()
	p, err := reorder.Direct(shop, client, monday, []reorder.Named{{StaffID: "a", SKU: sku("tee", "M"), Pieces: 3}},
		nil)
	require.NoError(t, err)
	p.Pool = nil
	without, err := p.Change(shop, client, []reorder.LineChange{{SKU: sku("tee", "M"), Pieces: 3}})
	require.NoError(t, err)
	require.Empty(t, without)
	require.Empty(t, p.Pool)
	require.Equal(t, []reorder.Listed{{sku("tee", "M"), "a", 3}}, p.List())
	p.Pool = []reorder.Pool{{SKU: sku("tee", "M")}}
	require.Equal(t, []reorder.Listed{{sku("tee", "M"), "a", 3}}, p.List(), "an empty pool is not listed")
}

func TestThePrintersOfAFormerPlanAreTakenOff(t *testing.T) {
	shop := packedShop(1)
	p := proposed(t, shop, 10, 2)
	p.Suppliers = append(p.Suppliers, reorder.SupplierOrder{Supplier: "prints", Value: 900, Freight: 450})
	p.Freight += 450
	p.WithoutPrinters(shop)
	require.Equal(t, programme.Money(1500+700), p.Freight)
	require.Len(t, p.Suppliers, 2)
}

// Pieces for people by name come on the day of the usual lead time and are covered for
// the client's weeks; what is added later lies on top, and nobody loses any of theirs.
func TestPiecesForPeopleByNameAreAddedUp(t *testing.T) {
	shop, client := packedShop(1), aClient()
	tee, apron := sku("tee", "M"), sku("apron", "one")
	named := []reorder.Named{{StaffID: "7", SKU: tee, Pieces: 3, Why: programme.CauseOwed},
		{StaffID: "4", SKU: tee, Pieces: 2}, {StaffID: "4", SKU: apron, Pieces: 1}}
	p, err := reorder.Direct(shop, client, monday, named, []reorder.LineChange{{SKU: apron, Pieces: 2}})
	require.NoError(t, err)
	require.Equal(t, [2]int{5, 3}, [2]int{p.Line(tee).Order, p.Line(apron).Order})
	require.Equal(t, named, p.Named)
	require.Equal(t, monday.Add(2), p.OrderBy, "two working days after a Monday")
	require.Equal(t, reorder.LeadOfClient(shop, client).Arrival(p.OrderBy), p.Arrives)
	require.Equal(t, p.Arrives.Add(8*7), p.CoverUntil)

	require.NoError(t, p.Add(shop, client, []reorder.Named{{StaffID: "9", SKU: tee, Pieces: 4}},
		[]reorder.LineChange{{SKU: tee, Pieces: 2}}))
	require.Equal(t, [2]int{11, 3}, [2]int{p.Line(tee).Order, p.Line(apron).Order})
	of := map[string]int{}
	for _, n := range p.Named {
		of[n.StaffID] += n.Pieces
	}
	require.Equal(t, map[string]int{"7": 3, "4": 3, "9": 4}, of)
	pooled := 0
	for _, pool := range p.Pool {
		pooled += pool.ForStarters + pool.Spare
	}
	require.Equal(t, 4, pooled)

	// Taken away is the pool first, then who needs it least.
	without, err := p.Change(shop, client, []reorder.LineChange{{SKU: tee, Pieces: 4}})
	require.NoError(t, err)
	took := map[string]int{}
	for _, w := range without {
		took[w.StaffID] += w.Pieces
	}
	require.Equal(t, 5, took["4"]+took["9"])
	require.Zero(t, took["7"], "who is short today keeps theirs")
}

// At every moment what was ordered has been pressed, is still to come or was given up, and
// who needs a piece most has it first. The deliveries are drawn, and so are the errors.
func TestPiecesAreConservedHoweverTheyCome(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop, client := packedShop(1), aClient()
		tee := sku("tee", "M")
		named := []reorder.Named{{StaffID: "1", SKU: tee, Pieces: 2, PEnd: 0.4},
			{StaffID: "2", SKU: tee, Pieces: 3, Why: programme.CauseOwed},
			{StaffID: "3", SKU: tee, Pieces: 1, PEnd: 0.9}}
		p, err := reorder.Direct(shop, client, monday, named, []reorder.LineChange{{SKU: tee, Pieces: 4}})
		require.NoError(t, err)
		l := p.Line(tee)
		came, given, spoilt := 0, 0, 0
		for range 6 {
			n := func(what string) int { return rapid.IntRange(-1, 4).Draw(t, what) }
			d := reorder.Delivery{SKU: tee, Came: n("came"), Back: n("back"), Wrong: n("wrong"), Spoilt: n("spoilt"),
				GivenUp: n("given up"), BackOn: monday.Add(rapid.IntRange(0, 30).Draw(t, "on"))}
			before, noted := *l, l.ToRemake
			handed, err := p.Deliver([]reorder.Delivery{d})
			if min(d.Came, d.Back, d.Wrong, d.Spoilt, d.GivenUp) < 0 ||
				d.Came+d.Back+d.Wrong+d.Spoilt+d.GivenUp > before.Outstanding() || d.Back > 0 && d.BackOn.IsZero() {
				require.Error(t, err)
				require.Equal(t, before, *l, "an error changes nothing")
				continue
			}
			require.NoError(t, err)
			came, given, spoilt = came+d.Came, given+d.GivenUp, spoilt+d.Spoilt
			require.Equal(t, 10, came+given+l.Outstanding())
			require.Equal(t, [3]int{came, given, spoilt}, [3]int{l.Pressed, l.GivenUp, l.Spoilt})
			require.Equal(t, min(noted+d.Spoilt, l.Outstanding()), l.ToRemake)
			sum, back := 0, 0
			for _, h := range handed {
				require.Positive(t, h.Pieces)
				sum += h.Pieces
			}
			for _, b := range l.BackOrders {
				require.Positive(t, b.Pieces)
				back += b.Pieces
			}
			require.Equal(t, d.Came, sum)
			require.LessOrEqual(t, back, l.Outstanding())
			require.GreaterOrEqual(t, back, min(d.Back, l.Outstanding()))
		}
		// By need: short today, then the likelier to end, the pool last.
		rest := came
		for _, i := range []int{1, 2, 0} {
			require.Equal(t, min(rest, named[i].Pieces), p.Named[i].Got, p.Named[i].StaffID)
			rest -= p.Named[i].Got
		}
		require.Equal(t, rest, p.Pool[0].Got)
	})
}

func TestWhatMustBeMadeAgain(t *testing.T) {
	shop, client := packedShop(1), aClient()
	tee := sku("tee", "M")
	p, err := reorder.Direct(shop, client, monday, []reorder.Named{{StaffID: "1", SKU: tee, Pieces: 2}},
		[]reorder.LineChange{{SKU: tee, Pieces: 4}})
	require.NoError(t, err)
	require.Error(t, p.Again(sku("tee", "S"), 1, false), "no line")
	require.Error(t, p.Again(tee, 0, false))
	require.Error(t, p.Again(tee, 7, false), "6 are to come")
	require.NoError(t, p.Again(tee, 6, false))
	require.Error(t, p.Again(tee, 1, false), "6 are noted already")
	_, err = p.Deliver([]reorder.Delivery{{SKU: tee, Came: 5}})
	require.NoError(t, err)
	l := p.Line(tee)
	require.Equal(t, 1, l.ToRemake, "no more than is still to come")
	require.Error(t, p.Again(tee, 4, true), "3 of them lie on the client's shelf")
	require.NoError(t, p.Again(tee, 3, true))
	require.Equal(t, [4]int{2, 4, 4, 3}, [4]int{l.Pressed, l.Outstanding(), l.ToRemake, l.Spoilt})
	require.Zero(t, p.Pool[0].Got)
}

// negativeBinomial has that mean and variance, by logarithms of the gamma function.
func negativeBinomial(mean, variance float64) []float64 {
	r, p := mean*mean/(variance-mean), mean/variance
	out := make([]float64, int(mean+20*math.Sqrt(variance))+40)
	for k := range out {
		a, _ := math.Lgamma(r + float64(k))
		b, _ := math.Lgamma(r)
		c, _ := math.Lgamma(float64(k + 1))
		out[k] = math.Exp(a - b - c + r*math.Log(p) + float64(k)*math.Log1p(-p))
	}
	return out
}

// Distributions are made of which it is known how far they are wider than Poisson, and why.
func TestWhatIsWiderThanPoissonIsPartedAsItWasMade(t *testing.T) {
	made := func(mean, perPiece, common float64) []float64 {
		return negativeBinomial(mean, mean*(1+perPiece+common*mean))
	}
	for name, c := range map[string]struct {
		near, far           []float64
		wantPiece, wantRate float64
	}{
		"both":                      {made(4, 0.5, 0.02), made(10, 0.5, 0.02), 0.5, 0.02},
		"a rate nobody knows":       {made(4, 0, 0.05), made(10, 0, 0.05), 0, 0.05},
		"several at a time":         {made(4, 0.8, 0), made(10, 0.8, 0), 0.8, 0},
		"one horizon for both":      {made(8, 0.4, 0.1), made(8, 0.4, 0.1), 0, 0.1 + 0.4/8},
		"nearly one horizon":        {made(9.7, 0.4, 0.1), made(10, 0.4, 0.1), 0, 0.1 + 0.4/10},
		"nothing near":              {[]float64{1}, made(5, 0.4, 0.1), 0, 0.1 + 0.4/5},
		"no need":                   {[]float64{1}, []float64{1}, 0, 0},
		"narrower near":             {[]float64{0, 0, 1}, made(10, 0, 0.05), 0, 0.05},
		"narrower far":              {made(4, 0.5, 0), []float64{0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1}, 0, 0},
		"wider near than far later": {made(4, 0.9, 0), made(10, 0.3, 0), 0.3, 0},
	} {
		perPiece, common := reorder.Excess(c.near, c.far)
		require.InDelta(t, c.wantPiece, perPiece, 0.13, name)
		require.InDelta(t, c.wantRate, common, 0.013, name)
		if name != "narrower near" {
			require.InDelta(t, c.wantPiece, perPiece, 1e-6, name)
			require.InDelta(t, c.wantRate, common, 1e-6, name)
		}
	}
}

// The client's total tells what lines have in common: a rate that nobody knows makes
// M expected pieces vary by M + b·M² together, kits of several pieces by a·M more.
func TestLinesTogetherAreAsWideAsTheClientsTotal(t *testing.T) {
	h := reorder.Horizons(aShop(), aClient(), monday)
	wide := func(k programme.SKU, perWeek, common float64) reorder.Stocked {
		s := stocked(k, perWeek, 0)
		near, far := perWeek*float64(h.Trigger), perWeek*float64(h.Quantity)
		s.Trigger.PMF, s.Quantity.PMF = negativeBinomial(near, near*(1+common*near)),
			negativeBinomial(far, far*(1+common*far))
		return s
	}
	const b = 0.03
	in := anInput(wide(sku("tee", "M"), 2, b), wide(sku("tee", "L"), 1, b), wide(sku("apron", "one"), 0.5, b))
	mean := 3.5 * float64(h.Quantity)
	for name, c := range map[string]struct{ variance, perPiece, common float64 }{
		"a common rate":                 {mean + b*mean*mean, 0, b},
		"kits beside it":                {mean*1.6 + b*mean*mean, 0.6, b},
		"less in common than each says": {mean + 0.01*mean*mean, 0, 0.01},
		"Poisson":                       {mean, 0, 0},
	} {
		in.Total.Mean, in.Total.SD = mean, math.Sqrt(c.variance)
		got := reorder.Together(in)
		require.NotNil(t, got, name)
		require.InDelta(t, c.perPiece, got.PerPiece, 1e-5, name)
		require.InDelta(t, c.common, got.Common, 1e-6, name)
	}
	in.Total.Mean = 0
	require.Nil(t, reorder.Together(in), "not known")
}

// What a budget buys is priced piece by piece, and an order that leaves nothing out
// costs and earns what the whole proposal does.
func TestWhatABudgetBuysIsPricedByThePiece(t *testing.T) {
	p, _ := reorder.Propose(bakery())
	require.Greater(t, len(p.Lines), 1)
	unit := map[programme.SKU]programme.Money{}
	for _, l := range p.Lines {
		unit[l.SKU] = l.UnitPrice
	}
	for _, budget := range []programme.Money{0, p.Freight + 1000, p.Cost() / 2, 10 * p.Cost()} {
		c := p.Within(budget)
		var price programme.Money
		pieces := 0
		for _, l := range c.Lines {
			price, pieces = price+unit[l.SKU]*programme.Money(l.Pieces), pieces+l.Pieces
		}
		require.Equal(t, price, c.Price)
		require.Equal(t, pieces, c.Pieces)
		require.LessOrEqual(t, c.Cost, budget)
	}
	require.Equal(t, p.Price, p.Within(10*p.Cost()).Price)
}

// A budget buys the pieces that save most for their money: what is left out saves less for its
// money than all that is bought, or does not fit beside what saves more. What is bought is added up by hand.
func TestABudgetBuysWhatSavesMostForItsMoney(t *testing.T) {
	small, large := sku("tee", "S"), sku("tee", "L")
	two := &reorder.Proposal{Lines: []reorder.Line{{SKU: large, Order: 1, UnitCost: 400, Saves: []programme.Money{30}},
		{SKU: small, Order: 1, UnitCost: 100, Saves: []programme.Money{15}}}}
	for budget, want := range map[programme.Money][]reorder.Choose{99: nil, 100: {{SKU: small, Pieces: 1}},
		499: {{SKU: small, Pieces: 1}}, 500: {{SKU: large, Pieces: 1}, {SKU: small, Pieces: 1}}} {
		require.Equal(t, want, two.Within(budget).Lines, "15 for 1.00 before 30 for 4.00")
	}
	rapid.Check(t, func(t *rapid.T) {
		p := &reorder.Proposal{Transfers: 140, Pressing: 210, Freight: 500}
		saves, known := rapid.IntRange(0, 30), rapid.IntRange(0, 3).Draw(t, "pieces of each line whose saving is known")
		for i, unit := range []programme.Money{200, 200, 400} {
			l := reorder.Line{SKU: sku("tee", []string{"S", "M", "L"}[i]), Order: []int{2, 2, 3}[i], UnitCost: unit,
				UnitPrice: 1000 + unit}
			for last := 100; len(l.Saves) < min(l.Order, known); {
				last = min(last, saves.Draw(t, "saves"))
				l.Saves = append(l.Saves, programme.Money(last))
			}
			p.Lines = append(p.Lines, l)
		}
		p.Named = []reorder.Named{{StaffID: "a", SKU: p.Lines[0].SKU, Pieces: 1},
			{StaffID: "b", SKU: p.Lines[2].SKU, Pieces: 1}, {StaffID: "c", SKU: p.Lines[2].SKU, Pieces: 1}}
		p.Pool = []reorder.Pool{{SKU: p.Lines[0].SKU, Spare: 1}, {SKU: p.Lines[1].SKU, ForStarters: 1, Spare: 1},
			{SKU: p.Lines[2].SKU, ForStarters: 1}}
		unit := []programme.Money{250, 250, 450} // with a seventh of 3.50 for transfers and pressing
		budget := programme.Money(rapid.IntRange(0, 3000).Draw(t, "budget"))
		got := p.Within(budget)

		in, cost, price, unnamed, starters := []int{0, 0, 0}, programme.Money(0), programme.Money(0), 0, 0
		for _, l := range got.Lines {
			i := slices.IndexFunc(p.Lines, func(x reorder.Line) bool { return x.SKU == l.SKU })
			in[i] = l.Pieces
			cost, price = cost+unit[i]*programme.Money(l.Pieces), price+p.Lines[i].UnitPrice*programme.Money(l.Pieces)
			nobody := max(0, l.Pieces-[]int{1, 0, 2}[i])
			unnamed, starters = unnamed+nobody, starters+min(nobody, []int{0, 1, 1}[i])
		}
		if got.Pieces > 0 {
			cost += 500
		}
		require.Equal(t, []any{cost, price, unnamed, starters}, []any{got.Cost, got.Price, got.Unnamed, got.Starters})
		require.LessOrEqual(t, cost, budget)
		for i := range p.Lines {
			if in[i] == p.Lines[i].Order {
				continue
			}
			rate := func(i, n int) float64 {
				if n >= len(p.Lines[i].Saves) {
					return 0 // more than was looked at saves nothing
				}
				return float64(p.Lines[i].Saves[n]) / float64(unit[i])
			}
			dearer := programme.Money(0)
			for j := range p.Lines {
				for n := range in[j] {
					if rate(j, n) >= rate(i, in[i]) {
						dearer += unit[j]
					}
				}
			}
			require.Greater(t, dearer+unit[i], budget-500, "line %d: %v of it", i, in)
		}
	})
}

// A line states all that is on its way, however late, and what is short of a stock is
// the same added up from the whole distribution.
func TestALineStatesAllThatIsOnItsWay(t *testing.T) {
	in := bakery()
	in.Lines[2].OnOrder, in.Lines[2].OnOrderLater = 1, 2
	p, _ := reorder.ProposeAnyway(in)
	l := p.Line(in.Lines[2].Quantity.SKU)
	require.NotNil(t, l)
	require.Equal(t, 3, l.OnOrder)

	h := reorder.Horizons(aShop(), aClient(), monday)
	s := reorder.NewSpread(poissonLine(sku("tee", "M"), 0.8, h.Quantity), h.Quantity)
	for _, weeks := range []int{1, h.Trigger, h.Quantity, 2 * h.Quantity} {
		pmf := poissonPMF(0.8 * float64(weeks))
		for stock := range 12 {
			want := 0.0
			for d, p := range pmf {
				want += p * float64(max(0, d-stock))
			}
			require.InDelta(t, want, s.Short(weeks, stock), 1e-6, "%d weeks, %d pieces", weeks, stock)
		}
	}
}

// The line that comes instead of another counts from the day on which an order of
// today arrives: on that day it is bought, a day later the old one still is.
func TestWhatRunsOutDoesSoFromTheDayOfArrival(t *testing.T) {
	in := runsOut(1, 0, 3)
	arrives := reorder.LastArrival(in)
	for days, used := range map[int]bool{-1: true, 0: true, 1: false} {
		in := runsOut(1, 0, 3)
		in.Client.Roles[0].Kit[1].From = arrives.Add(days)
		left := map[programme.SKU]int{}
		reorder.RunOut(&in, left)
		require.Equal(t, used, in.Lines[0].Quantity.Mean > 0, "%d days after", days)
	}
}
