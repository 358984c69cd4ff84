package sheet

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/gang"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// wantsOf needs so many of each artwork of these sizes in millimetres, of a client each.
func wantsOf(turn bool, sizes ...[3]int) (wants []want) {
	for i, s := range sizes {
		code := string(rune('a' + i))
		wants = append(wants, want{
			line: Line{Artwork: code, Client: "client " + code, Asked: s[2], Print: s[2]},
			art: &programme.Artwork{Code: code, Client: "client " + code, Width: programme.Length(s[0]) * mm,
				Height: programme.Length(s[1]) * mm, Turn: turn, Inks: 1},
		})
	}
	return wants
}

// What is paid of an order of rolls: pieces with their margins, each charged by its step,
// shared by length.
func TestAnOrderOfSeveralPiecesOfRoll(t *testing.T) {
	kind := &programme.TransferKind{
		Process: programme.Digital, Cut: programme.Scissors, Gutter: 10 * mm, Margin: 20 * mm, SetUp: 450,
		MinimumOrder: 4000, PricedBy: programme.PerMetre,
		Prices: []programme.PriceBreak{{From: 0, Price: 1000}},
		Sheets: []programme.SheetSize{{Width: 530 * mm, Height: 1030 * mm, Step: 250 * mm, Roll: true}},
	}
	// Inside its margins a roll of 490 holds images of 490 by 90: ten on a piece of 1,030, and four more.
	f, err := newField("", kind, kind.Sheets[0], wantsOf(false, [3]int{490, 90, 14}))
	require.NoError(t, err)
	task, err := newRollTask(f, Budget{Iterations: 50})
	require.NoError(t, err)
	task.improve(50)
	var o Order
	task.order(&o)
	require.Len(t, o.Layouts, 2)
	long, short := &o.Layouts[0], &o.Layouts[1]
	if long.Height < short.Height {
		long, short = short, long
	}
	require.Equal(t, [2]int{10, 4}, [2]int{len(long.Items), len(short.Items)})
	require.Equal(t, 1250*mm, long.Height, "1,030 by steps of 250")
	require.Equal(t, 500*mm, short.Height, "430 by steps of 250")
	require.Equal(t, 1750*mm, o.Length)
	require.Equal(t, (1030+430)*mm, o.Used)
	require.Equal(t, Cost{SetUp: 450, Print: 1750, TopUp: 1800}, o.Cost)
	require.Equal(t, [2]programme.Money{1250, 500}, [2]programme.Money{long.print, short.print})
	require.Equal(t, [2]programme.Money{1250, 500}, [2]programme.Money{long.setUp, short.setUp})
	require.InDelta(t, 4000, task.net(), 0)
	require.LessOrEqual(t, task.floor(), task.net())
	require.Equal(t, 14, task.work())

	// The floor is what the length by area alone would cost, at the least price there is.
	kind.MinimumOrder = 0
	require.InDelta(t, 450+1430, task.floor(), 0, "1,400 inside, two margins more and a gutter less")
	kind.MinimumOrder = 2500
	require.InDelta(t, 2500, task.floor(), 0)
	task.tariff.lengths = []programme.LengthPrice{{Length: metre, Price: 1500}, {Length: 2 * metre, Price: 2500},
		{Length: 4 * metre, Price: 5600}}
	kind.MinimumOrder = 100
	require.InDelta(t, 450+2500*1.43/2, task.floor(), 0.01, "at the price of two metres, the cheapest by length")
	kind.MinimumOrder = 3000
	require.InDelta(t, 3000, task.floor(), 0)
}

// A roll whose images fit one piece is one strip; where they cannot, pieces are packed from the start.
func TestARollIsOnePieceWhereThatIsLongEnough(t *testing.T) {
	for images, strip := range map[int]bool{9: true, 10: true, 11: false} {
		kind := &programme.TransferKind{Cut: programme.Scissors, Gutter: 0,
			Prices: []programme.PriceBreak{{Price: 1000}}, PricedBy: programme.PerMetre}
		f, err := newField("", kind, programme.SheetSize{Width: 100 * mm, Height: 1000 * mm, Roll: true},
			wantsOf(false, [3]int{100, 100, images}))
		require.NoError(t, err)
		task, err := newRollTask(f, Budget{Iterations: 20})
		require.NoError(t, err)
		require.Equal(t, strip, task.strip != nil)
		require.Equal(t, !strip, task.rolls != nil)
		rolls, lengths := task.best()
		require.Len(t, rolls, (images+9)/10)
		sum := int64(0)
		for _, l := range lengths {
			sum += l
		}
		require.Equal(t, int64(images)*int64(100*mm), sum)
		require.Equal(t, 0, task.improve(0))
	}
	// Without a limit of its own a trimmer cuts no longer than a piece of roll is.
	kind := &programme.TransferKind{Cut: programme.Trimmer, LongestCut: 300 * mm,
		Prices: []programme.PriceBreak{{Price: 1000}}, PricedBy: programme.PerMetre}
	f, err := newField("", kind, programme.SheetSize{Width: 200 * mm, Height: 900 * mm, Roll: true},
		wantsOf(true, [3]int{90, 70, 31}, [3]int{60, 50, 20}))
	require.NoError(t, err)
	task, err := newRollTask(f, Budget{Iterations: 20})
	require.NoError(t, err)
	task.improve(60)
	var o Order
	task.order(&o)
	require.Greater(t, len(o.Layouts), 1)
	images := 0
	for _, l := range o.Layouts {
		images += len(l.Items)
		require.LessOrEqual(t, l.Height, 900*mm)
		require.LessOrEqual(t, stretch(l.Items), 300*mm)
		_, ok := Cuts(&l)
		require.True(t, ok)
	}
	require.Equal(t, 51, images)
}

// Of rolls for a trimmer those are kept that are less work than every shorter one, none much
// longer or dearer than the best; the least work is taken.
func TestNoKeptRollIsBothLongerAndMoreWork(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 15))
	several := 0
	for range 6 {
		kind := &programme.TransferKind{Cut: programme.Trimmer, Gutter: 3 * mm, Margin: 2 * mm, SetUp: 100,
			Prices: []programme.PriceBreak{{Price: 1000}}, PricedBy: programme.PerMetre}
		var sizes [][3]int
		for range 3 + rng.IntN(4) {
			sizes = append(sizes, [3]int{40 + rng.IntN(90), 40 + rng.IntN(90), 5 + rng.IntN(25)})
		}
		f, err := newField("", kind, programme.SheetSize{Width: 300 * mm, Height: 20 * metre, Roll: true},
			wantsOf(true, sizes...))
		require.NoError(t, err)
		task, err := newRollTask(f, Budget{Iterations: 20})
		require.NoError(t, err)
		chosen := int64(math.MaxInt64)
		for range 8 {
			task.improve(40)
			_, best := task.strip.Best()
			paid := float64(task.cost([]int64{best}).Total())
			least, ok := task.handiest()
			require.True(t, ok)
			require.LessOrEqual(t, least.Height, chosen, "never longer than what was taken before")
			chosen = least.Height
			if len(task.handy) > 1 {
				several++
			}
			for i, h := range task.handy {
				require.LessOrEqual(t, float64(h.Height), float64(best)*(1+pack.Nearly))
				require.LessOrEqual(t, float64(task.cost([]int64{h.Height}).Total()), paid*(1+pack.Nearly))
				require.GreaterOrEqual(t, h.work, least.work)
				islands, both := pack.Islands(h.Places)
				hands, ok := HandsOf(&Layout{Width: 300 * mm, Height: task.outer(h.Height),
					Items: task.items(h.Places)})
				require.True(t, ok)
				require.Equal(t, islands+both+hands.Settings, h.work)
				for k, g := range task.handy {
					require.False(t, i != k && g.Height <= h.Height && g.work <= h.work,
						"%d high, %d work is no better than %d, %d", h.Height, h.work, g.Height, g.work)
				}
			}
		}
		task.trial, task.handy = true, nil
		task.keepHandy()
		require.Empty(t, task.handy, "nobody cuts a trial apart")
	}
	require.Positive(t, several)
	for h, worse := range map[[2]int64]bool{{5, 3}: true, {6, 3}: true, {5, 4}: true, {4, 4}: false, {6, 2}: false,
		{4, 3}: false} {
		require.Equal(t, worse, handy{Packing: pack.Packing{Height: h[0]},
			work: int(h[1])}.noBetterThan(handy{Packing: pack.Packing{Height: 5}, work: 3}), "%v", h)
	}
}

// screenField is a screen-printed kind on sheets of 400 by 300 with images of 100 by 100, twelve a sheet.
func screenField(t *testing.T, perOrder bool, needs ...int) *field {
	t.Helper()
	kind := &programme.TransferKind{
		Process: programme.ScreenPrinted, Cut: programme.Scissors, SetUp: 2000, SetUpPerInk: 500,
		BreaksPerOrder: perOrder, MinimumOrder: 9000,
		Prices: []programme.PriceBreak{{From: 1, Price: 900}, {From: 10, Price: 700}, {From: 20, Price: 500}},
	}
	var sizes [][3]int
	for _, n := range needs {
		sizes = append(sizes, [3]int{100, 100, n})
	}
	f, err := newField("", kind, programme.SheetSize{Width: 400 * mm, Height: 300 * mm}, wantsOf(true, sizes...))
	require.NoError(t, err)
	return f
}

// Copies are priced by the run of their layout, or by all sheets of the order.
func TestCopiesArePricedByTheirRunOrAll(t *testing.T) {
	for perOrder, want := range map[bool][3]programme.Money{false: {8 * 900, 12 * 700, 8*900 + 12*700},
		true: {8 * 500, 12 * 500, 20 * 500}} {
		o := &Order{Layouts: []Layout{{Copies: 8}, {Copies: 12}}}
		screenField(t, perOrder, 12).priceCopies(o)
		require.Equal(t, want, [3]programme.Money{o.Layouts[0].print, o.Layouts[1].print, o.Cost.Print})
	}
}

// One artwork fills sheets of twelve: the cost by hand, the printer's smallest order on top,
// and overs taken off what it is worth.
func TestWhatAnOrderOfSheetsCosts(t *testing.T) {
	for _, c := range []struct {
		need   int
		sheets int
		cost   Cost
		net    float64
	}{
		{60, 5, Cost{SetUp: 2500, Print: 4500, TopUp: 2000}, 9000},
		{96, 10, Cost{SetUp: 2500, Print: 7000}, 9500}, // ten cost less than eight
		{264, 22, Cost{SetUp: 2500, Print: 11000}, 13500},
	} {
		f := screenField(t, false, c.need)
		task, err := newGangTask(f, Budget{Iterations: 30})
		require.NoError(t, err)
		require.InDelta(t, c.net, task.net(), 0, "%d", c.need)
		require.LessOrEqual(t, task.floor(), task.net())
		require.Equal(t, 4, task.work())
		task.improve(30)
		require.True(t, task.best().Proven)
		require.InDelta(t, c.net, task.floor(), 0, "proven")
		var o Order
		task.order(&o)
		w := &way{field: f, tasks: []*progress{{task: task}}}
		w.settle(&o, &programme.Shop{Currency: "USD"})
		require.Equal(t, c.sheets, o.Sheets())
		require.Equal(t, c.cost, o.Cost)
		require.Len(t, o.Layouts[0].Items, 12)
		require.Equal(t, 1, o.Layouts[0].Inks)
	}
	// 24 transfers over, of which 10 are of use, each worth half of its twelfth of a sheet of 7.00.
	f := screenField(t, false, 96)
	f.kind.OverWorth, f.kind.MaxOversMonths = 0.5, 2
	f.wants[0].perMonth = 5
	task, err := newGangTask(f, Budget{Iterations: 30})
	require.NoError(t, err)
	require.InDelta(t, 9500-10*0.5*700.0/12, task.net(), 1e-6)
	var o Order
	task.order(&o)
	(&way{field: f, tasks: []*progress{{task: task}}}).settle(&o, &programme.Shop{Currency: "USD"})
	require.Equal(t, programme.Money(292), o.Cost.OverWorth)
}

// Clients who are better off together share a layout, and those who are not stay apart: never
// dearer than each alone (one task for each client) or all on one layout.
func TestClientsSharePagesOnlyWhereThatCostsLess(t *testing.T) {
	for _, needs := range [][]int{{30, 30}, {12, 240}, {7, 100, 31}} {
		f := screenField(t, false, needs...)
		f.kind.MinimumOrder = 0
		task, err := newGangTask(f, Budget{Iterations: 30})
		require.NoError(t, err)
		require.Len(t, task.alone, len(needs))
		var apart float64
		for _, n := range needs {
			one := screenField(t, false, n)
			one.kind.MinimumOrder = 0
			alone, err := newGangTask(one, Budget{})
			require.NoError(t, err)
			require.Empty(t, alone.alone, "a single client")
			apart += alone.net()
		}
		require.LessOrEqual(t, task.net(), apart, "at once")
		n := task.improve(40)
		require.GreaterOrEqual(t, task.tries, n)
		require.Positive(t, n)
		require.LessOrEqual(t, task.net(), apart)
	}
}

// Reasons say the amounts by hand: three artworks of 120, 24 and 12 pieces, twelve on a sheet.
func TestReasonsSayWhatSimpleRulesWouldCost(t *testing.T) {
	p := &gang.Problem{
		Need: []int{120, 24, 12}, Size: []float64{1. / 12, 1. / 12, 1. / 12}, Slots: 12,
		SetUp: func([]int) float64 { return 2500 }, Breaks: []gang.Break{{From: 1, Price: 900}},
	}
	shop := &programme.Shop{Currency: "USD"}
	layouts := []gang.Layout{{Copies: []int{10, 2, 0}, Run: 12}, {Copies: []int{0, 0, 12}, Run: 1}}
	s := p.Cost(layouts)
	o := &Order{Layouts: []Layout{{Copies: 12}, {Copies: 1}}, Cost: Cost{SetUp: 5000, Print: 11700}}
	o.Proven = true
	why := reasons(shop, []choice{{s, s, p}}, o)
	require.Equal(t, []string{
		"2 layouts on 13 sheets cost $50.00 to set up and $117.00 to print.",
		"No way to print it costs less: this was proven.",
		"One artwork a sheet would cost $192.00 on 13 sheets.",
	}, why, "one layout costs less here than what was chosen and so is no reason")

	// With worth the part for this order stands beside, and what could be saved in cash.
	p.Worth, p.Useful = []float64{30, 30, 30}, []int{50, 50, 50}
	s = p.Cost([]gang.Layout{{Copies: []int{9, 2, 1}, Run: 16}})
	cheap := p.Cost([]gang.Layout{{Copies: []int{9, 2, 1}, Run: 14}})
	o = &Order{Layouts: []Layout{{Copies: 16}},
		Cost: Cost{SetUp: 2500, Print: 14400, OverWorth: programme.Money(math.Round(s.OverWorth))}}
	require.InDelta(t, 30*(24+8+4), s.OverWorth, 0)
	why = reasons(shop, []choice{{s, cheap, p}}, o)
	require.Equal(t, "1 layout on 16 sheets cost $25.00 to set up and $144.00 to print; transfers worth $10.80 of that are left over for the shelf, so $158.20 is for this order.", why[0])
	require.Equal(t, "The cheapest way in cash would cost $18.00 less; what is left over here is worth more than that.",
		why[1])
	require.Equal(t, "One artwork a sheet would cost $192.00 on 13 sheets, $192.00 of it for this order.", why[2])

	// Parts are added up, by the only rule that all of them have; one artwork has nothing to compare with.
	part := choice{s, s, p}
	all := rules([]choice{part, part})
	require.Len(t, all, 1)
	require.InDelta(t, 2*19200, all[0].paid, 0)
	require.InDelta(t, 2*19200, all[0].net, 0)
	require.InDelta(t, 2*(16900-1080), all[0].chosenNet, 0)
	require.Equal(t, 26, all[0].sheets)
	single := &gang.Problem{Need: []int{5}, Size: []float64{0.1}, Slots: 10, SetUp: p.SetUp, Breaks: p.Breaks}
	require.Empty(t, rules([]choice{{problem: single}}))
	require.Len(t, rules([]choice{{problem: single}, {problem: single}}), 1)
	require.InDelta(t, 2*1800, dearer([]choice{{s, cheap, p}, {s, cheap, p}}), 0)
}

// An artwork fits where its gutter may lie outside, either way round if it may be turned, to the last hundredth.
func TestWhichArtworksFitASheet(t *testing.T) {
	kind := &programme.TransferKind{Code: "k", Gutter: 4, Margin: 10}
	size := programme.SheetSize{Code: "s", Width: 120, Height: 80} // 100 by 60 inside its margins
	for _, c := range []struct {
		w, h  programme.Length
		turn  bool
		wrong string
	}{
		{100, 60, false, ""}, {101, 60, false, "does not fit s"}, {100, 61, false, "does not fit s"},
		{60, 100, false, "does not fit s"},
		{60, 100, true, ""}, {61, 100, true, "does not fit s"}, {60, 101, true, "does not fit s"},
		{101, 60, true, "does not fit s"}, {100, 61, true, "does not fit s"}, {100, 60, true, ""},
		{0, 50, false, "has no size"}, {50, 0, true, "has no size"}, {1, 1, false, ""},
	} {
		f, err := newField("", kind, size, []want{{art: &programme.Artwork{Width: c.w, Height: c.h, Turn: c.turn}}})
		if c.wrong != "" {
			require.ErrorContains(t, err, c.wrong, "%v", c)
			continue
		}
		require.NoError(t, err, "%v", c)
		require.Equal(t, [2]int64{104, 64}, [2]int64{f.width, f.height})
	}
	// a length that is not given is a hundred metres
	for height, want := range map[programme.Length]int64{0: int64(endless) - 16, 500: 484} {
		f, err := newField("", kind, programme.SheetSize{Width: 120, Height: height, Roll: true}, nil)
		require.NoError(t, err)
		require.Equal(t, want, f.height)
	}
}

// Only screen-printed sheets of many artworks are planned in parts.
func TestWhatIsPlannedInParts(t *testing.T) {
	var wants []want
	for i := range gangMost + 1 {
		w := wantsOf(false, [3]int{20, 20, 1})[0]
		w.line.Client = string(rune('a' + i/30))
		wants = append(wants, w)
	}
	for _, c := range []struct {
		process programme.Process
		roll    bool
		tasks   int
	}{{programme.ScreenPrinted, false, 2}, {programme.Digital, false, 1}, {programme.Digital, true, 1},
		{programme.ScreenPrinted, true, 1}} {
		kind := &programme.TransferKind{Process: c.process, Prices: []programme.PriceBreak{{From: 1, Price: 100}}}
		w, err := newWay(Request{Shop: &programme.Shop{}}, kind, programme.SheetSize{Width: 200 * mm, Height: 200 * mm,
			Roll: c.roll}, wants)
		require.NoError(t, err)
		require.Len(t, w.tasks, c.tasks, "%v", c)
	}
}

// What the shelf gives: the allowance for spoilage too, nothing of empty batches, and old ones where
// the kind does not say how long transfers keep. A million pieces are the most that can be planned.
func TestWhatTheShelfGives(t *testing.T) {
	day := programme.NewDate(2026, 3, 9)
	shop := &programme.Shop{
		Kinds:    []programme.TransferKind{{Code: "k", Spoilage: 0.1, Prices: []programme.PriceBreak{{Price: 1}}}},
		Artworks: []programme.Artwork{{Code: "a", Client: "c", Kind: "k", Width: 1, Height: 1}},
	}
	batch := func(pieces, old int) programme.StockLine {
		return programme.StockLine{AsOf: day, Goods: programme.TransferGoods("a"), Pieces: pieces, Made: day.Add(-old)}
	}
	req := Request{AsOf: day, Shop: shop, Needs: []Need{{Artwork: "a", Pieces: 20}},
		Shelf: []programme.StockLine{batch(15, 2000), batch(0, 3000), batch(-4, 2500), batch(30, 10)}}
	spare := Allowance(20, 0.1)
	require.Positive(t, spare)
	wants, picks, err := gather(req)
	require.NoError(t, err)
	require.Equal(t, []Pick{{"a", day.Add(-2000), 15, 0}, {"a", day.Add(-10), 5 + spare, 0}}, picks)
	require.Equal(t, Line{Artwork: "a", Client: "c", Kind: "k", Asked: 20, Spoilage: spare, FromShelf: 20 + spare},
		wants[0].line)
	for pieces, wrong := range map[int]bool{1_000_000: false, 1_000_001: true, 0: false, -1: true} {
		_, _, err := gather(Request{AsOf: day, Shop: shop, Needs: []Need{{Artwork: "a", Pieces: pieces}}})
		require.Equal(t, wrong, err != nil, "%d", pieces)
	}
}

// A rule that would cost at least half a hundredth more is a reason; a whole one must be
// saved in cash to be told of.
func TestWhichReasonsAreWorthTelling(t *testing.T) {
	p := &gang.Problem{
		Need: []int{144, 1}, Size: []float64{1. / 12, 1. / 12}, Slots: 12,
		SetUp: func([]int) float64 { return 100 }, Breaks: []gang.Break{{From: 1, Price: 900}},
	}
	shop := &programme.Shop{Currency: "USD"}
	apart := p.Cost([]gang.Layout{{Copies: []int{12, 0}, Run: 12}, {Copies: []int{0, 12}, Run: 1}})
	o := &Order{Layouts: []Layout{{Copies: 12}, {Copies: 1}}, Cost: Cost{SetUp: 200, Print: 11700}}
	require.Equal(t, []string{
		"2 layouts on 13 sheets cost $2.00 to set up and $117.00 to print.",
		"Everything on one layout would cost $127.00 on 14 sheets.",
	}, reasons(shop, []choice{{apart, apart, p}}, o), "the ratio of the need comes to the same and is not said again")
	for less, told := range map[float64]int{0.99: 2, 1: 3, 250: 3} { // less is what could be saved in cash
		cheap := apart
		cheap.Print -= less
		require.Len(t, reasons(shop, []choice{{apart, cheap, p}}, o), told, "%g less", less)
	}
	// by how much one layout is dearer
	for over, told := range map[float64]bool{800: true, 0.51: true, 0.5: false, 0: false, -3: false} {
		chosen := apart
		chosen.Print += 800 - over
		require.Equal(t, told, len(reasons(shop, []choice{{chosen, chosen, p}}, o)) > 1, "%g dearer", over)
	}
	o.Cost.OverWorth = 1
	require.Contains(t, reasons(shop, []choice{{apart, apart, p}}, o)[1], "$127.00 of it for this order")
}

// What was found to fit a sheet is remembered; that nothing was found only until somebody
// tries harder. Four 3 by 2 lie in a pinwheel on 5 by 5, which a trimmer does not cut.
func TestWhatFitsASheetIsRemembered(t *testing.T) {
	kind := &programme.TransferKind{Process: programme.ScreenPrinted, Cut: programme.Scissors,
		Prices: []programme.PriceBreak{{From: 1, Price: 100}}}
	f, err := newField("", kind, programme.SheetSize{Width: 5 * mm, Height: 5 * mm},
		wantsOf(true, [3]int{3, 2, 4}, [3]int{3, 2, 4}))
	require.NoError(t, err)
	for cut, most := range map[programme.CutStyle]int{programme.Scissors: 4, programme.Trimmer: 3} {
		kind.Cut, f.fitted, f.effort = cut, map[string][]pack.Place{}, 50
		n, ok := f.slots()
		require.True(t, ok)
		require.Equal(t, most, n)
		_, ok = f.fit([]int{2, 2}, pack.Options{Iterations: 50})
		require.Equal(t, most == 4, ok)
		places, ok := f.fit([]int{2, 1}, pack.Options{Iterations: 50})
		require.True(t, ok)
		require.Len(t, places, 3)
		again, ok := f.fit([]int{2, 1}, pack.Options{})
		require.True(t, ok)
		require.Same(t, &places[0], &again[0])
		f.fitted["[1 1]"] = nil // as if it had been tried in vain
		_, ok = f.fit([]int{1, 1}, pack.Options{Iterations: 50})
		require.False(t, ok)
		_, ok = f.fit([]int{1, 1}, pack.Options{Iterations: 51})
		require.True(t, ok)
		_, ok = f.fit([]int{1, 1}, pack.Options{Iterations: 50})
		require.True(t, ok)
	}
}

// Where all sheets count towards a break, those of all parts are filled up to it together:
// five and four are ordered as ten.
func TestPartsAreFilledUpToABreakTogether(t *testing.T) {
	for perOrder, want := range map[bool]Cost{true: {SetUp: 5000, Print: 7000},
		false: {SetUp: 5000, Print: 5*900 + 4*900}} {
		f := screenField(t, perOrder, 60, 48)
		w := &way{field: f}
		var o Order
		for _, part := range []*field{f.part(0, 1), f.part(1, 2)} {
			task, err := newGangTask(part, Budget{Iterations: 20})
			require.NoError(t, err)
			w.tasks = append(w.tasks, &progress{task: task})
			task.order(&o)
		}
		require.Equal(t, 9, o.Sheets())
		w.settle(&o, &programme.Shop{Currency: "USD"})
		require.Equal(t, want, o.Cost)
	}
}

// recorded is a task that notes how many tries it is asked for, each of which saves something
// until a number of them.
type recorded struct {
	asked          []int
	value          float64
	saves          float64
	until, working int
}

func (r *recorded) improve(n int) int {
	r.asked = append(r.asked, n)
	if len(r.asked) <= r.until {
		r.value -= r.saves
	}
	return n
}
func (r *recorded) net() float64   { return r.value }
func (r *recorded) floor() float64 { return r.value / 2 }
func (r *recorded) work() int      { return r.working }
func (r *recorded) order(*Order)   {}

// The budget goes out in slices of eight tries, or of half of what a task had; all of it to
// whoever promises most, up to what may be spent in all, until nothing can be saved or somebody says stop.
func TestTheBudgetGoesOutInSlices(t *testing.T) {
	one := func(r *recorded) *progress {
		return &progress{task: r, value: r.net(), least: r.floor()}
	}
	spend := func(b Budget, tasks ...*recorded) {
		w := &way{}
		for _, r := range tasks {
			w.tasks = append(w.tasks, one(r))
		}
		share([][]*way{{w}}, b)
	}
	r := &recorded{value: 100, working: 1}
	spend(Budget{Iterations: 40}, r)
	require.Equal(t, []int{8, 8, 8, 12, 18}, r.asked, "40 tries, to the end of a slice")
	r = &recorded{value: 100, working: 1}
	spend(Budget{Iterations: 40, Most: 17}, r)
	require.Equal(t, []int{8, 8, 8}, r.asked)
	r = &recorded{value: 100, working: 1}
	spend(Budget{Iterations: 16, Most: 40}, r)
	require.Equal(t, []int{8, 8}, r.asked, "no more than what each has")
	r = &recorded{value: 0, working: 1}
	spend(Budget{Iterations: 16}, r)
	require.Empty(t, r.asked, "nothing can be saved")
	stops := 0
	r = &recorded{value: 100, working: 1}
	spend(Budget{Iterations: 80, Stop: func() bool { stops++; return stops > 2 }}, r)
	require.Len(t, r.asked, 2)
	a, b := &recorded{value: 100, working: 1}, &recorded{value: 100, working: 1}
	spend(Budget{Iterations: 16}, a, b)
	require.Equal(t, [2][]int{{8, 8}, {8, 8}}, [2][]int{a.asked, b.asked},
		"two tasks have twice as much, in turns where neither saves")

	// What was spent since the last saving is in vain; a saving begins anew.
	r = &recorded{value: 100, working: 3, saves: 5, until: 1}
	p := one(r)
	require.Equal(t, 10, p.spend(10))
	require.Equal(t, [4]float64{95, 47.5, 0, 10}, [4]float64{p.value, p.least, p.vain, float64(p.tries)})
	p.spend(4)
	require.Equal(t, [4]float64{95, 47.5, 12, 14}, [4]float64{p.value, p.least, p.vain, float64(p.tries)})
	require.False(t, p.done)
	p.spend(0)
	require.True(t, p.done, "who tries nothing more can improve nothing")
	r.value -= 1e-9
	p.spend(2)
	require.InDelta(t, 18, p.vain, 0, "rounding saves nothing")

	// Twice the work for half as much again to save: the easier first. The dearer way gets a
	// quarter, whichever comes first in the list.
	easy, hard := &progress{task: effort(1), value: 100, least: 60}, &progress{task: effort(2), value: 100, least: 40}
	require.Same(t, easy, promising([][]*way{{&way{tasks: []*progress{hard, easy}}}}))
	near, far := &progress{task: effort(1), value: 100, least: 80}, &progress{task: effort(1), value: 103, least: 60}
	require.Same(t, near, promising([][]*way{{&way{tasks: []*progress{far}}, &way{tasks: []*progress{near}}}}))
	first, second := &way{tasks: []*progress{{value: 50}}}, &way{tasks: []*progress{{value: 50}}}
	require.Same(t, first, cheapest([]*way{first, second}), "the first of equals")
}

// Spares that suit an order: soonest used first, of equals the one used most, those of no
// known use last; not of another kind, nor what the sheets carry more than enough of.
func TestInWhichOrderSparesAreLaid(t *testing.T) {
	day := programme.NewDate(2026, 3, 9)
	shop := &programme.Shop{}
	for _, code := range []string{"a", "b", "c", "d", "e", "f"} {
		kind := "k"
		if code == "f" {
			kind = "other"
		}
		shop.Artworks = append(shop.Artworks, programme.Artwork{Code: code, Kind: kind})
	}
	f := &field{kind: &programme.TransferKind{Code: "k", MaxOversMonths: 2},
		wants: []want{{line: Line{Artwork: "b", Print: 5}}}}
	o := &Order{Layouts: []Layout{{Copies: 3, Items: []Item{{Artwork: "b"}, {Artwork: "b"}, {Artwork: "e"}}}}}
	list := f.spares(o, []Spare{
		{Artwork: "d"}, {Artwork: "a"}, {"b", 4, day + 20}, {"c", 5, day + 20}, {"e", 2, day + 5}, {"f", 9, day},
		{Artwork: "nobody's"}, {"a", 1, day + 20},
	}, Request{AsOf: day, Shop: shop})
	var got []string
	var left []int
	for _, s := range list {
		got, left = append(got, s.Artwork), append(left, s.left)
	}
	require.Equal(t, []string{"e", "c", "b", "a", "a", "d"}, got)
	require.Equal(t, []int{1, 10, 7, 2, 1, 1}, left,
		"of two months' need, less what is over already: three of e, one of b")
}
