package sheet_test

import (
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/inspect"
)

const inch = programme.Inch

// pressShop is an invented shop: one screen-printed kind, one roll.
func pressShop() *programme.Shop {
	return &programme.Shop{
		Currency: "USD",
		Kinds: []programme.TransferKind{
			{
				Code: "plastisol", Process: programme.ScreenPrinted, Gutter: inch / 4, Margin: inch / 4, ShelfDays: 365,
				SetUp: 3500, Prices: []programme.PriceBreak{{From: 1, Price: 900}, {From: 25, Price: 600}},
				Sheets: []programme.SheetSize{{Code: "13x19", Width: 13 * inch, Height: 19 * inch}},
			},
			{
				Code: "film", Process: programme.Digital, Gutter: inch / 4, Margin: inch / 4, MinimumOrder: 2000,
				Prices: []programme.PriceBreak{{From: 0, Price: 1800}},
				Sheets: []programme.SheetSize{{Code: "roll", Width: 22 * inch, Height: 240 * inch, Roll: true}},
			},
		},
		Artworks: []programme.Artwork{
			{Code: "a-chest", Client: "a", Kind: "plastisol", Width: 7 * inch / 2, Height: 7 * inch / 2,
				Turn: true, Inks: 1},
			{Code: "b-chest", Client: "b", Kind: "plastisol", Width: 7 * inch / 2, Height: 7 * inch / 2,
				Turn: true, Inks: 1},
			{Code: "a-neck", Client: "a", Kind: "film", Width: 3 * inch, Height: 3 * inch, Turn: true},
			{Code: "b-neck", Client: "b", Kind: "film", Width: 3 * inch, Height: 3 * inch, Turn: true},
		},
	}
}

var march = programme.NewDate(2026, 3, 9)

// TestAllowanceAgainstTheBinomial sums the binomial by another road: with the
// allowance the chance of enough good presses is at least 95 %, with one less
// it is below.
func TestAllowanceAgainstTheBinomial(t *testing.T) {
	for _, pieces := range []int{1, 2, 5, 12, 40, 150, 1000} {
		for _, rate := range []float64{0.005, 0.01, 0.03, 0.1, 0.4} {
			enough := func(extra int) float64 { // at most extra misprints among all
				return distuv.Binomial{N: float64(pieces + extra), P: rate}.CDF(float64(extra))
			}
			n := sheet.Allowance(pieces, rate)
			require.GreaterOrEqual(t, enough(n), sheet.Confidence, "%d pieces at %v", pieces, rate)
			if n > 0 {
				require.Less(t, enough(n-1), sheet.Confidence, "%d pieces at %v", pieces, rate)
			}
		}
	}
	require.Zero(t, sheet.Allowance(0, 0.1))
	require.Zero(t, sheet.Allowance(50, 0))
}

func TestAllowanceAgainstSimulation(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	const pieces, rate, jobs = 60, 0.03, 20_000
	n := pieces + sheet.Allowance(pieces, rate)
	enough := 0
	for range jobs {
		good := 0
		for range n {
			if rng.Float64() >= rate {
				good++
			}
		}
		if good >= pieces {
			enough++
		}
	}
	require.Greater(t, float64(enough)/jobs, 0.945)
}

func TestShelfIsUsedOldestFirstAndNotPastItsLife(t *testing.T) {
	line := func(pieces, daysOld int) programme.StockLine {
		return programme.StockLine{AsOf: march, Goods: programme.Goods{Kind: programme.Transfer, Code: "a-chest"},
			Pieces: pieces, Made: march.Add(-daysOld)}
	}
	coming := line(50, 0)
	coming.Expected = march.Add(3)
	coming.Made = march.Add(-400) // nobody knows how old goods on order will be
	other := line(9, 10)
	other.Kind = programme.Blank
	plan, err := sheet.Arrange(sheet.Request{AsOf: march, Shop: pressShop(),
		Needs: []sheet.Need{{Artwork: "a-chest", Pieces: 20}},
		Shelf: []programme.StockLine{line(4, 10), coming, line(7, 400), line(6, 365), other}})
	require.NoError(t, err)
	require.Equal(t, []sheet.Pick{
		{Artwork: "a-chest", Made: march.Add(-365), Pieces: 6},
		{Artwork: "a-chest", Made: march.Add(-10), Pieces: 4},
		{Artwork: "a-chest", Made: march.Add(-400), Pieces: 10, Expected: march.Add(3)},
	}, plan.Picks)
	require.Empty(t, plan.Orders)
	require.Equal(t, sheet.Line{Artwork: "a-chest", Client: "a", Kind: "plastisol", Asked: 20, FromShelf: 20,
		Expired: 7}, plan.Lines[0])
}

// Transfers made before a version was approved carry the former one: they do not
// count, unless their owner uses them up.
func TestTransfersOfAFormerVersionDoNotCount(t *testing.T) {
	shop := pressShop()
	for i := range shop.Artworks {
		shop.Artworks[i].Versions = []programme.ArtworkVersion{{Version: "1", File: "a.svg", Approved: march - 900},
			{Version: "2", File: "b.svg", Approved: march - 30}}
	}
	line := func(pieces, daysOld int) programme.StockLine {
		return programme.StockLine{AsOf: march, Goods: programme.TransferGoods("a-chest"), Pieces: pieces,
			Made: march.Add(-daysOld)}
	}
	request := sheet.Request{AsOf: march, Shop: shop, Needs: []sheet.Need{{Artwork: "a-chest", Pieces: 12}},
		Shelf: []programme.StockLine{line(8, 31), line(5, 30)}}
	plan, err := sheet.Arrange(request)
	require.NoError(t, err)
	require.Equal(t, 5, plan.Lines[0].FromShelf)
	require.Equal(t, 8, plan.Lines[0].Former)
	for i := range shop.Artworks {
		shop.Artworks[i].UseUpFormer = true
	}
	plan, err = sheet.Arrange(request)
	require.NoError(t, err)
	require.Zero(t, plan.Lines[0].Former)
	require.GreaterOrEqual(t, plan.Lines[0].FromShelf, 12)
	require.Equal(t, march.Add(-31), plan.Picks[0].Made, "the former ones first")
}

func TestBadRequestsNameWhatIsWrong(t *testing.T) {
	shop := pressShop()
	shop.Artworks = append(shop.Artworks, programme.Artwork{Code: "lost", Client: "a", Kind: "foil", Width: inch,
		Height: inch},
		programme.Artwork{Code: "huge", Client: "a", Kind: "plastisol", Width: 14 * inch, Height: 20 * inch,
			Turn: true},
		programme.Artwork{Code: "flat", Client: "a", Kind: "plastisol", Width: inch})
	for need, want := range map[string]string{"nothing": "not in the shop file", "lost": `kind "foil"`,
		"huge": "does not fit 13x19", "flat": "has no size"} {
		_, err := sheet.Arrange(sheet.Request{AsOf: march, Shop: shop, Needs: []sheet.Need{{Artwork: need, Pieces: 1}}})
		require.ErrorContains(t, err, want)
	}
	_, err := sheet.Arrange(sheet.Request{AsOf: march, Shop: shop,
		Needs: []sheet.Need{{Artwork: "a-chest", Pieces: -1}}})
	require.ErrorContains(t, err, "-1 pieces")
}

// TestCapacityOfASheet: 15 left chests of 3.5 by 3.5 in on 13 by 19 in with
// margin and gutter 0.25 in (own arithmetic: 3 columns, 5 rows).
func TestCapacityOfASheet(t *testing.T) {
	plan, err := sheet.Arrange(sheet.Request{AsOf: march, Shop: pressShop(),
		Needs: []sheet.Need{{Artwork: "a-chest", Pieces: 150}}})
	require.NoError(t, err)
	require.Len(t, plan.Orders, 1)
	require.Len(t, plan.Orders[0].Layouts, 1)
	require.Len(t, plan.Orders[0].Layouts[0].Items, 15)
	require.Equal(t, 10, plan.Orders[0].Sheets())
	require.Equal(t, programme.Money(3500+10*900), plan.Cost.Total())
}

// TestPoolingSharesASetUp: two clients with 30 chests each share one layout;
// apart each would pay a set-up of its own.
func TestPoolingSharesASetUp(t *testing.T) {
	req := sheet.Request{AsOf: march, Shop: pressShop(), Needs: []sheet.Need{{Artwork: "a-chest", Pieces: 30},
		{Artwork: "b-chest", Pieces: 30}}}
	plan, err := sheet.Arrange(req)
	require.NoError(t, err)
	require.Equal(t, programme.Money(3500+5*900), plan.Cost.Total()-900*programme.Money(plan.Orders[0].Sheets()-5))
	require.Len(t, plan.Orders[0].Layouts, 1)
	require.Len(t, plan.Shares, 2)
	require.InDelta(t, 0.5, plan.Shares[0].Area, 0.05)
	alone := apart(t, req)
	require.Greater(t, alone["a"].Total()+alone["b"].Total(), plan.Cost.Total())
}

// apart is what each client's transfers would cost if nothing were shared.
func apart(t *testing.T, req sheet.Request) map[string]sheet.Cost {
	t.Helper()
	needs := map[string][]sheet.Need{}
	for _, n := range req.Needs {
		art, ok := req.Shop.Artwork(n.Artwork)
		require.True(t, ok)
		needs[art.Client] = append(needs[art.Client], n)
	}
	costs := map[string]sheet.Cost{}
	for client, own := range needs {
		alone := req
		alone.Needs = own
		plan, err := sheet.Arrange(alone)
		require.NoError(t, err)
		costs[client] = plan.Cost
	}
	return costs
}

func TestOversAreMadeOnlyAsFarAsTheyPay(t *testing.T) {
	shop := pressShop()
	req := sheet.Request{AsOf: march, Shop: shop,
		Needs: []sheet.Need{{Artwork: "a-chest", Pieces: 15 * 24, PerMonth: 30}}}
	plan, err := sheet.Arrange(req)
	require.NoError(t, err)
	// 24 sheets at $9.00 cost $216.00, 25 at $6.00 only $150.00.
	require.Equal(t, 25, plan.Orders[0].Sheets())
	require.Equal(t, programme.Money(3500+25*600), plan.Cost.Total())
	require.Equal(t, 15, plan.Lines[0].Over())
	require.Zero(t, plan.Cost.OverWorth)
	shop.Kinds[0].OverWorth, shop.Kinds[0].MaxOversMonths = 0.5, 3
	plan, err = sheet.Arrange(req)
	require.NoError(t, err)
	require.Equal(t, programme.Money(15*0.5*600/15), plan.Cost.OverWorth)
	require.Equal(t, []string{"1 layout on 25 sheets cost $35.00 to set up and $150.00 to print; transfers worth $3.00 of that are left over for the shelf, so $182.00 is for this order."}, plan.Orders[0].Why)
}

// A way of laying out that costs less in cash may still be the dearer one,
// since it leaves nothing over: the reasons must not look like a mistake.
func TestReasonsCompareWhatIsForThisOrder(t *testing.T) {
	shop := pressShop()
	shop.Kinds[0].OverWorth, shop.Kinds[0].MaxOversMonths = 0.5, 12
	plan, err := sheet.Arrange(sheet.Request{AsOf: march, Shop: shop,
		Needs: []sheet.Need{{Artwork: "a-chest", Pieces: 40, PerMonth: 90},
			{Artwork: "b-chest", Pieces: 90, PerMonth: 90}}})
	require.NoError(t, err)
	o := plan.Orders[0]
	require.Positive(t, o.Cost.OverWorth)
	require.Greater(t, len(o.Why), 1)
	amounts := regexp.MustCompile(`\$([0-9.]+)`)
	amount := func(s string, i int) float64 {
		v, err := strconv.ParseFloat(amounts.FindAllStringSubmatch(s, -1)[i][1], 64)
		require.NoError(t, err, s)
		return v
	}
	ours := amount(o.Why[0], 3)
	require.InDelta(t, (o.Cost.Total() - o.Cost.OverWorth).Float(), ours, 0.001)
	require.Contains(t, o.Why[1], "The cheapest way in cash would cost",
		"more cash than must be is not paid without a word")
	for i, w := range o.Why[2:] {
		require.Contains(t, w, "of it for this order")
		require.Greater(t, amount(w, 1), ours, w)
		require.NotEqual(t, w[strings.Index(w, "would"):], o.Why[i+1][max(0, strings.Index(o.Why[i+1], "would")):],
			"the same is not said twice")
	}
}

// TestInksOfOneSetAreSetUpOnce checks the ink colours a layout pays for.
func TestInksOfOneSetAreSetUpOnce(t *testing.T) {
	for _, c := range []struct {
		setA, setB string
		inks       int
	}{{"white", "white", 3}, {"white", "team", 5}, {"", "", 5}} {
		shop := pressShop()
		shop.Kinds[0].SetUpPerInk = 100
		shop.Artworks[0].InkSet, shop.Artworks[0].Inks = c.setA, 2
		shop.Artworks[1].InkSet, shop.Artworks[1].Inks = c.setB, 3
		plan, err := sheet.Arrange(sheet.Request{AsOf: march, Shop: shop,
			Needs: []sheet.Need{{Artwork: "a-chest", Pieces: 5}, {Artwork: "b-chest", Pieces: 5}}})
		require.NoError(t, err)
		require.Len(t, plan.Orders[0].Layouts, 1)
		require.Equal(t, c.inks, plan.Orders[0].Layouts[0].Inks)
		require.Equal(t, programme.Money(3500+100*c.inks), plan.Cost.SetUp)
	}
}

// TestMoreSearchNeverCostsMore holds because every search begins with the same
// first pass and simple rules.
func TestMoreSearchNeverCostsMore(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	for range 12 {
		req := randomRequest(rng)
		last := programme.Money(math.MaxInt64)
		for _, n := range []int{1, 4000} {
			req.Budget = sheet.Budget{Iterations: n}
			plan, err := sheet.Arrange(req)
			require.NoError(t, err)
			net := plan.Cost.Total() - plan.Cost.OverWorth
			require.LessOrEqual(t, net, last)
			last = net
		}
	}
}

// TestTheInspectorSeesFaults breaks sound plans in every way it looks for.
func TestTheInspectorSeesFaults(t *testing.T) {
	shop := pressShop()
	shop.Kinds[0].Cut = programme.Trimmer
	shop.Artworks[0].Turn = false
	sound := func() sheet.Plan {
		plan, err := sheet.Arrange(sheet.Request{AsOf: march, Shop: shop,
			Needs: []sheet.Need{{Artwork: "a-chest", Pieces: 40}, {Artwork: "b-chest", Pieces: 12}}})
		require.NoError(t, err)
		require.Empty(t, inspect.Plan(shop, &plan))
		return plan
	}
	for name, spoil := range map[string]func(p *sheet.Plan){
		"an image in the margin":     func(p *sheet.Plan) { p.Orders[0].Layouts[0].Items[0].X = 0 },
		"two images too near":        func(p *sheet.Plan) { p.Orders[0].Layouts[0].Items[1].X -= inch / 8 },
		"a wrong size":               func(p *sheet.Plan) { p.Orders[0].Layouts[0].Items[0].W -= 1 },
		"a turn that is not allowed": func(p *sheet.Plan) { turnFirst(p, "a-chest") },
		"too few copies":             func(p *sheet.Plan) { p.Orders[0].Layouts[0].Copies-- },
		"a missing image": func(p *sheet.Plan) {
			p.Orders[0].Layouts[0].Items = p.Orders[0].Layouts[0].Items[1:]
		},
		"a wrong cost":                 func(p *sheet.Plan) { p.Orders[0].Cost.Print++; p.Cost.Print++ },
		"shares that do not add up":    func(p *sheet.Plan) { p.Shares[0].Cost.SetUp-- },
		"another sheet":                func(p *sheet.Plan) { p.Orders[0].Layouts[0].Height += inch },
		"a need that does not add up":  func(p *sheet.Plan) { p.Lines[0].Print++ },
		"an artwork of another client": func(p *sheet.Plan) { p.Orders[0].Layouts[0].Items[0].Client = "z" },
	} {
		plan := sound()
		spoil(&plan)
		require.NotEmpty(t, inspect.Plan(shop, &plan), name)
	}
	box := func(x0, y0, x1, y1 int64) inspect.Box { return inspect.Box{X0: x0, Y0: y0, X1: x1, Y1: y1} }
	pinwheel := []inspect.Box{box(0, 0, 2, 1), box(2, 0, 3, 2), box(1, 2, 3, 3), box(0, 1, 1, 3), box(1, 1, 2, 2)}
	require.False(t, inspect.Guillotine(pinwheel), "a pinwheel cannot be cut by straight cuts")
	require.True(t, inspect.Guillotine(pinwheel[:2]))
}

func turnFirst(p *sheet.Plan, artwork string) {
	for i := range p.Orders[0].Layouts {
		for j := range p.Orders[0].Layouts[i].Items {
			if it := &p.Orders[0].Layouts[i].Items[j]; it.Artwork == artwork {
				it.Turned = true
				return
			}
		}
	}
}

// TestTheFenceIsSetForEachOtherDistance: three rows of four images of 20 by 30 mm,
// 2 mm apart and 4 mm from the edge. The first row is cut off at 35 mm (4 + 30 + half
// a gutter), the next at 32; in each row the first image at 25 mm, then two at 22
// (own arithmetic): 11 cuts with four settings.
func TestTheFenceIsSetForEachOtherDistance(t *testing.T) {
	mm := programme.Millimetre
	l := sheet.Layout{Width: 94 * mm, Height: 102 * mm}
	for y := range 3 {
		for x := range 4 {
			l.Items = append(l.Items, sheet.Item{X: programme.Length(4+22*x) * mm, Y: programme.Length(4+32*y) * mm,
				W: 20 * mm, H: 30 * mm})
		}
	}
	hands, ok := sheet.HandsOf(&l)
	require.True(t, ok)
	require.Equal(t, sheet.Hands{Cuts: 11, Length: (2*94 + 3*(35+32+35)) * mm, Longest: 94 * mm, Settings: 4}, hands)
}

// TestTrimmerCutsFreeEveryImage follows the cuts of random trimmer layouts: each goes from
// edge to edge of a part, as far from its edge as the fence says, and crosses no image; at the
// end every part holds one image at most.
func TestTrimmerCutsFreeEveryImage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		req := randomRequest(rng)
		req.Shop.Kinds[0].Cut = programme.Trimmer
		req.Budget = sheet.Budget{Iterations: 10}
		plan, err := sheet.Arrange(req)
		require.NoError(t, err)
		for i := range plan.Orders {
			for j := range plan.Orders[i].Layouts {
				l := &plan.Orders[i].Layouts[j]
				cuts, ok := sheet.Cuts(l)
				require.True(t, ok)
				require.Len(t, cuts, max(0, len(l.Items)-1), "a length that only the price asks for may be empty")
				requireParts(t, l, cuts)
			}
		}
	})
}

// requireParts cuts a layout apart as a person does.
func requireParts(t require.TestingT, l *sheet.Layout, cuts []sheet.Cut) {
	type part struct{ x0, y0, x1, y1 programme.Length }
	parts := []part{{0, 0, l.Width, l.Height}}
	for i, c := range cuts {
		require.Equal(t, i+1, c.Step)
		for _, it := range l.Items {
			crosses := c.X0 < it.X+it.W && c.X1 > it.X && c.Y0 < it.Y+it.H && c.Y1 > it.Y
			require.False(t, crosses)
		}
		at := slices.IndexFunc(parts, func(p part) bool {
			across := c.Y0 == c.Y1 && p.x0 == c.X0 && p.x1 == c.X1 && p.y0 < c.Y0 && c.Y0 < p.y1
			along := c.X0 == c.X1 && p.y0 == c.Y0 && p.y1 == c.Y1 && p.x0 < c.X0 && c.X0 < p.x1
			return across || along
		})
		require.GreaterOrEqual(t, at, 0, "cut %d runs from edge to edge of no part", c.Step)
		before, after := parts[at], parts[at]
		if c.Y0 == c.Y1 {
			require.Equal(t, c.Y0-before.y0, c.Fence)
			before.y1, after.y0 = c.Y0, c.Y0
		} else {
			require.Equal(t, c.X0-before.x0, c.Fence)
			before.x1, after.x0 = c.X0, c.X0
		}
		parts = append(slices.Delete(parts, at, at+1), before, after)
	}
	for _, p := range parts {
		inside := 0
		for _, it := range l.Items {
			if it.X >= p.x0 && it.Y >= p.y0 && it.X+it.W <= p.x1 && it.Y+it.H <= p.y1 {
				inside++
			}
		}
		require.LessOrEqual(t, inside, 1)
	}
}

// The first cut runs across the longer side, and across a square; of settings that as many
// images wait for, the one that was found first comes first.
func TestTheFirstCutRunsAcross(t *testing.T) {
	grid := func(width, height programme.Length) *sheet.Layout {
		l := &sheet.Layout{Width: width, Height: height}
		for _, x := range []programme.Length{0, width / 2} {
			for _, y := range []programme.Length{0, height / 2} {
				l.Items = append(l.Items, sheet.Item{X: x, Y: y, W: width / 2, H: height / 2})
			}
		}
		return l
	}
	for size, across := range map[[2]programme.Length]bool{{100, 100}: true, {100, 140}: true, {140, 100}: false} {
		cuts, ok := sheet.Cuts(grid(size[0], size[1]))
		require.True(t, ok)
		require.Equal(t, across, cuts[0].Y0 == cuts[0].Y1, "%v", size)
	}
	// Two rows of 60 and 40 high: the upper row's cut at 30 and the lower row's at 70 want two images each.
	l := &sheet.Layout{Width: 100, Height: 100, Items: []sheet.Item{{W: 30, H: 60}, {X: 30, W: 70, H: 60},
		{Y: 60, W: 70, H: 40}, {X: 70, Y: 60, W: 30, H: 40}}}
	cuts, ok := sheet.Cuts(l)
	require.True(t, ok)
	require.Equal(t, []programme.Length{60, 30, 70}, []programme.Length{cuts[0].Fence, cuts[1].Fence, cuts[2].Fence})
	// With three images in the lower row, what more of them wait for comes first.
	l.Items = []sheet.Item{{W: 30, H: 60}, {X: 30, W: 70, H: 60}, {Y: 60, W: 40, H: 40}, {X: 40, Y: 60, W: 30, H: 40},
		{X: 70, Y: 60, W: 30, H: 40}}
	cuts, ok = sheet.Cuts(l)
	require.True(t, ok)
	require.Equal(t, []programme.Length{60, 40, 30, 30}, []programme.Length{cuts[0].Fence, cuts[1].Fence, cuts[2].Fence,
		cuts[3].Fence})
	_, ok = sheet.Cuts(&sheet.Layout{Width: 3, Height: 3, Items: []sheet.Item{{W: 2, H: 1}, {X: 2, W: 1, H: 2},
		{X: 1, Y: 2, W: 2, H: 1}, {Y: 1, W: 1, H: 2}}})
	require.False(t, ok, "a pinwheel")
}

// Names are packed as wide as their letters are, once each: a spoilt one is printed
// anew, and no other person can use a spare one.
func TestNamesAreLaidOutOnceInTheirOwnWidth(t *testing.T) {
	shop := pressShop()
	shop.Kinds[1].Spoilage = 0.2
	shop.Artworks = append(shop.Artworks, programme.Artwork{Code: "a-name", Client: "a", Kind: "film", Width: 4 * inch,
		Height: inch / 2, Turn: true, Text: programme.FirstName})
	req := sheet.Request{Shop: shop, AsOf: march, Fill: true, Needs: []sheet.Need{{Artwork: "a-name=Li", Pieces: 2},
		{Artwork: "a-name=Maximilian", Pieces: 1}, {Artwork: "a-neck", Pieces: 5}}}
	req.Spares = sheet.Likely(req)
	plan, err := sheet.Arrange(req)
	require.NoError(t, err)
	require.Empty(t, inspect.Plan(shop, &plan))
	n, wide := map[string]int{}, map[string]programme.Length{}
	for _, l := range plan.Orders[0].Layouts {
		for _, it := range l.Items {
			n[it.Artwork]++
			wide[it.Artwork] = max(it.W, it.H)
		}
	}
	require.Equal(t, 2, n["a-name=Li"])
	require.Equal(t, 1, n["a-name=Maximilian"])
	require.Greater(t, n["a-neck"], 5)
	require.Zero(t, n["a-name"])
	require.Greater(t, wide["a-name=Maximilian"], 4*wide["a-name=Li"])
}
