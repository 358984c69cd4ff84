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

const mm, metre = programme.Millimetre, 1000 * programme.Millimetre

// Units of price of two pieces of 1.5 m off a roll of 0.6 m, and lengths back from them.
func TestPricesGoByTheirUnit(t *testing.T) {
	for unit, want := range map[programme.PriceUnit]float64{
		"": 2, programme.PerMetre: 3, programme.PerFoot: 3 / 0.3048, programme.PerSquareMetre: 1.8,
		programme.PerSquareFoot: 1.8 / (0.3048 * 0.3048),
	} {
		tariff := tariff{unit: unit, width: 600 * mm}
		require.InDelta(t, want, tariff.quantity(1500*mm, 2), 1e-9, "%q", unit)
		if unit != "" {
			require.Equal(t, 3*metre, tariff.height(want))
		}
	}
}

// 16.00 a metre, 13.50 from five on, 11.00 from fifteen on.
func TestTheBestBreakIsFilled(t *testing.T) {
	tariff := tariff{breaks: []programme.PriceBreak{{From: 0, Price: 1600}, {From: 5, Price: 1350},
		{From: 15, Price: 1100}}, unit: programme.PerMetre}
	for quantity, want := range map[float64]programme.Money{1: 1600, 4.9: 7840, 5: 6750, 5 - 1e-10: 6750, 14.99: 20237,
		15: 16500, 0.0003125: 1} {
		require.Equal(t, want, tariff.price(quantity), "%g", quantity)
	}
	for quantity, want := range map[float64]float64{3: 3, 4.2: 4.2, 4.21875: 4.21875, 4.3: 5, 5: 5, 12.2: 12.2,
		12.3: 15, 15: 15, 20: 20} {
		require.InDelta(t, want, tariff.filled(quantity), 0, "%g", quantity)
	}
	require.Equal(t, metre, tariff.charged(metre))
	tariff.step = 300 * mm
	for length, want := range map[programme.Length]programme.Length{1: 300 * mm, 300 * mm: 300 * mm,
		301 * mm: 600 * mm} {
		require.Equal(t, want, tariff.charged(length))
	}
	tariff.lengths = []programme.LengthPrice{{Length: metre, Price: 1500}, {Length: 2 * metre, Price: 2500}}
	require.Equal(t, metre, tariff.charged(metre))
	require.Equal(t, 2*metre, tariff.charged(metre+1))
	require.Equal(t, programme.Money(1500), tariff.setPrice(metre))
	require.Equal(t, programme.Money(2500), tariff.setPrice(metre+1))
	require.Equal(t, programme.Money(2500), tariff.setPrice(3*metre), "the longest there is")
}

// Ink sets are shared; of two artworks of one set the one with more counts.
func TestInksOfOneSetAreShared(t *testing.T) {
	art := func(inks int, set string) *programme.Artwork { return &programme.Artwork{Inks: inks, InkSet: set} }
	require.Equal(t, 3+2+4, inksOf([]*programme.Artwork{art(3, ""), art(2, ""), art(1, "a"), art(4, "a"), art(2, "a")}))
	require.Equal(t, 2+3, inksOf([]*programme.Artwork{art(2, "a"), art(3, "b")}))
	f := &field{kind: &programme.TransferKind{Process: programme.ScreenPrinted},
		arts: map[string]*programme.Artwork{"x": art(4, "a"), "y": art(2, "")}}
	l := &Layout{Items: []Item{{Artwork: "x"}, {Artwork: "x"}, {Artwork: "y"}}}
	more := art(5, "a")
	more.Code = "z"
	require.Equal(t, 5+2, f.inksWith(l, more))
	more.Code = "x"
	require.Equal(t, 5+2, f.inksWith(l, more))
	f.kind = &programme.TransferKind{Process: programme.Digital}
	require.Zero(t, f.inksWith(l, more))
}

// The longest part of a roll that no line across parts: each millimetre looked at.
func TestTheLongestUnpartedStretch(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	for range 300 {
		var items []Item
		covered := make([]bool, 130) // between two millimetres
		for range 1 + rng.IntN(8) {
			y, h := rng.IntN(100), 1+rng.IntN(25)
			items = append(items, Item{Y: programme.Length(y), H: programme.Length(h),
				X: programme.Length(rng.IntN(9))})
			for k := y; k < y+h; k++ {
				covered[k] = covered[k] || k > y
			}
		}
		longest, from := 0, -1
		occupied := make([]bool, 131)
		for _, it := range items {
			for k := it.Y; k < it.Y+it.H; k++ {
				occupied[k] = true
			}
		}
		for k := range 131 { // a stretch goes on where a line at k would cross an image
			crossing := k < 130 && covered[k]
			if from >= 0 && !crossing {
				longest = max(longest, k-from)
				from = -1
			}
			if occupied[k] && !crossing {
				from = k
			}
		}
		require.Equal(t, programme.Length(longest), stretch(items), "%v", items)
	}
}

// The first line that crosses no image: against every line there could be.
func TestTheFirstLineBetweenImages(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	found := 0
	for range 400 {
		var items []Item
		for range 2 + rng.IntN(5) {
			items = append(items, Item{X: programme.Length(rng.IntN(30)), W: programme.Length(1 + rng.IntN(9)),
				Y: 3, H: 5})
		}
		want, first, end := -1, programme.Length(99), programme.Length(0)
		for _, it := range items {
			first, end = min(first, it.X), max(end, it.X+it.W)
		}
		for x := first + 1; x < end && want < 0; x++ {
			before, crossed := 0, false
			for _, it := range items {
				crossed = crossed || it.X < x && it.X+it.W > x
				if it.X+it.W <= x {
					before++
				}
			}
			if !crossed && before < len(items) {
				want = before
			}
		}
		n, at, ok := upright(items)
		require.Equal(t, want >= 0, ok)
		if !ok {
			continue
		}
		found++
		require.Equal(t, want, n)
		reach, from := programme.Length(0), programme.Length(99)
		for i, it := range items {
			if i < n {
				reach = max(reach, it.X+it.W)
			} else {
				from = min(from, it.X)
			}
		}
		require.Equal(t, (reach+from)/2, at, "in the middle of the gap")
	}
	require.Greater(t, found, 100)
}

// What a break asks for beyond what a roll takes lengthens the last piece first, up to the roll's length.
func TestARollIsLengthenedToItsEnd(t *testing.T) {
	for more, want := range map[programme.Length][]programme.Length{0: {8, 7}, 2: {8, 9}, 3: {8, 10}, 5: {10, 10},
		6: {10, 10, 1}, 26: {10, 10, 10, 10, 1}} {
		task := &rollTask{field: &field{size: programme.SheetSize{Width: 5, Height: 10}}}
		o := &Order{Layouts: []Layout{{Height: 8}, {Height: 7}}}
		task.lengthen(o, more)
		var got []programme.Length
		for _, l := range o.Layouts {
			got = append(got, l.Height)
		}
		require.Equal(t, want, got, "%d more", more)
	}
}

// Pieces of roll by the metre, with set-up and the printer's smallest order.
func TestWhatPiecesOfRollCost(t *testing.T) {
	kind := &programme.TransferKind{Margin: 10 * mm, Gutter: 4 * mm, SetUp: 500, MinimumOrder: 9000}
	f := &field{kind: kind, tariff: tariff{breaks: []programme.PriceBreak{{From: 0, Price: 1000},
		{From: 6, Price: 900}}, unit: programme.PerMetre}}
	task := &rollTask{field: f}
	inner := func(metres int64) int64 { return metres*int64(metre) - 16*int64(mm) } // margins less a gutter
	require.Equal(t, metre, f.outer(inner(1)))
	require.Equal(t, Cost{SetUp: 500, Print: 3000, TopUp: 5500}, task.cost([]int64{inner(1), inner(2)}))
	require.Equal(t, Cost{SetUp: 500, Print: 9000}, task.cost([]int64{inner(4), inner(6)}))
	require.Equal(t, Cost{SetUp: 500, Print: 5400, TopUp: 3100}, task.cost([]int64{inner(5) + int64(600*mm)}),
		"six metres cost less than 5.6")
	f.tariff.lengths = []programme.LengthPrice{{Length: metre, Price: 1500}, {Length: 2 * metre, Price: 2500}}
	require.Equal(t, Cost{SetUp: 500, Print: 4000, TopUp: 4500}, task.cost([]int64{inner(1), inner(2)}))
}

// How many lie in straight rows, both ways, and what each costs on a sheet and off a roll.
func TestAGuessByHand(t *testing.T) {
	art := &programme.Artwork{Width: 90 * mm, Height: 40 * mm, Turn: true, Inks: 3}
	kind := &programme.TransferKind{
		Process: programme.ScreenPrinted, Cut: programme.Scissors, Gutter: 10 * mm, Margin: 5 * mm, SetUp: 700,
		SetUpPerInk: 100,
		Prices:      []programme.PriceBreak{{From: 1, Price: 3000}, {From: 3, Price: 2400}},
		Sheets:      []programme.SheetSize{{Width: 310 * mm, Height: 260 * mm}},
	}
	// 310 by 260 without margins and with a gutter: rows of 100 by 50.
	f, err := newField("", kind, kind.Sheets[0], []want{{art: art}})
	require.NoError(t, err)
	require.Equal(t, [2]int64{int64(310 * mm), int64(260 * mm)}, [2]int64{f.width, f.height})
	require.Equal(t, pack.Piece{W: int64(100 * mm), H: int64(50 * mm), Count: 1, Turn: true}, f.piece(f.wants[0], 1))
	n := f.onOne()
	require.GreaterOrEqual(t, n, 15, "three across, five down")
	for pieces, sheets := range map[int]int{1: 1, n: 1, n + 1: 2, 2*n - 1: 2, 2 * n: 2, 2*n + 1: 3} {
		each := 3000.0
		if sheets >= 3 {
			each = 2400
		}
		guess, ok := Estimate(kind, art, pieces)
		require.True(t, ok)
		require.InDelta(t, each/float64(n), guess.Print, 1e-6, "%d pieces", pieces)
		require.InDelta(t, 1000/float64(pieces), guess.SetUp, 1e-9)
		require.InDelta(t, guess.Print+guess.SetUp, guess.Each(), 0)
	}
	none, ok := Estimate(kind, &programme.Artwork{Width: 400 * mm, Height: 40 * mm}, 1)
	require.False(t, ok)
	require.True(t, math.IsInf(none.Print, 1))

	// Off a roll of 310 mm: three across lengthwise need 50 mm a row, six across 100 mm.
	kind.Process, kind.SetUp, kind.PricedBy = programme.Digital, 0, programme.PerMetre
	kind.Prices = []programme.PriceBreak{{From: 0, Price: 2000}}
	kind.Sheets = []programme.SheetSize{{Width: 310 * mm, Height: metre, Roll: true}}
	for pieces, rows := range map[int]int{3: 1, 4: 2, 12: 4} {
		guess, ok := Estimate(kind, art, pieces)
		require.True(t, ok)
		long := float64(50 * rows) // what rows take is a gutter more than their margins: none at all
		require.InDelta(t, math.Round(2000*long/1000)/float64(pieces), guess.Print, 1e-6, "%d pieces", pieces)
	}
	// Sixty need twenty rows, a metre; more go onto a second piece.
	guess, _ := Estimate(kind, art, 63)
	require.InDelta(t, 2100.0/63, guess.Print, 0.1)
}

// As many sheets as the next break asks for, where all together cost no more.
func TestSheetsAreFilledUpToABreak(t *testing.T) {
	f := &field{kind: &programme.TransferKind{}, tariff: tariff{breaks: []programme.PriceBreak{{From: 1, Price: 1000},
		{From: 10, Price: 700}, {From: 20, Price: 360}}}}
	for n, want := range map[int]int{6: 0, 7: 3, 9: 1, 10: 0, 11: 9, 19: 1, 20: 0, 25: 0} {
		require.Equal(t, want, f.toNextBreak(n), "%d sheets", n)
	}
	// By the square metre: half of one a sheet, so that five square metres are ten sheets and
	// 5.1 eleven; they cost 5.00 each, from there on 3.50, from ten square metres on 2.00.
	f.size = programme.SheetSize{Width: 500 * mm, Height: metre}
	for from, breaks := range map[float64][2]int{5: {10, 20}, 5.1: {11, 20}} {
		f.tariff = tariff{unit: programme.PerSquareMetre, width: 500 * mm,
			breaks: []programme.PriceBreak{{From: 0, Price: 1000}, {From: from, Price: 700}, {From: 10, Price: 400}}}
		require.InDelta(t, 500, f.eachOf(9), 1e-9)
		require.InDelta(t, 350, f.eachOf(float64(breaks[0])), 1e-9)
		require.Equal(t, breaks[0]-8, f.toNextBreak(8), "from %g", from)
		require.Equal(t, 8, f.toNextBreak(12), "from %g", from)
		f.fitted, f.width, f.height, f.wants = map[string][]pack.Place{}, 1, 1, wantsOf(false, [3]int{1, 1, 9})
		p := f.problem()
		require.Equal(t, []int{0, breaks[0], 20}, []int{p.Breaks[0].From, p.Breaks[1].From, p.Breaks[2].From})
		for i, want := range []float64{500, 350, 200} {
			require.InDelta(t, want, p.Breaks[i].Price, 1e-9)
		}
	}
}

// Some parts of a need: where all sheets count towards a break, the price is that of the whole need.
func TestAPartIsPricedAsTheWhole(t *testing.T) {
	f := screenField(t, true, 60)
	require.Len(t, f.problem().Breaks, 3, "a need by itself")
	for whole, want := range map[float64]float64{6: 900, 8.5: 700, 10: 700, 14: 700, 14.2: 500, 40: 500} {
		f.whole = whole
		require.Equal(t, []gang.Break{{From: 1, Price: want}}, f.problem().Breaks, "%g sheets in all", whole)
	}
	f.kind.BreaksPerOrder = false
	require.Len(t, f.problem().Breaks, 3)
	// What overs are worth goes by the price of about as many sheets as are needed.
	f.kind.OverWorth, f.kind.MaxOversMonths, f.wants[0].perMonth = 0.4, 3, 2
	p := f.problem()
	require.Equal(t, []int{6}, p.Useful)
	require.InDelta(t, 0.4*900/12, p.Worth[0], 1e-9)
	require.InDelta(t, 1.0/12, p.Size[0], 1e-12)
	require.Equal(t, 12, p.Slots)
}

// Of tasks that can still save, the one that promises most for its work; a dearer way must first get level.
func TestTheMostPromisingTaskGoesOn(t *testing.T) {
	task := func(value, least, vain float64) *progress {
		return &progress{task: effort(1), value: value, least: least, vain: vain}
	}
	at := func(freight programme.Money, tasks ...*progress) *way { return &way{freight: freight, tasks: tasks} }
	a, b, c := task(100, 60, 0), task(100, 90, 0), task(50, 49.6, 0)
	require.Same(t, a, promising([][]*way{{at(0, a, b, c)}}))
	a.done = true
	require.Same(t, b, promising([][]*way{{at(0, a, b, c)}}))
	b.vain = 1e9
	require.Same(t, b, promising([][]*way{{at(0, a, b, c)}}), "half a hundredth is worth nothing")
	b.done = true
	require.Nil(t, promising([][]*way{{at(0, a, b, c)}}))
	c.least = 49.5
	require.Same(t, c, promising([][]*way{{at(0, a, b, c)}}))
	near, far := task(100, 80, 0), task(103, 60, 0)
	require.Same(t, near, promising([][]*way{{at(0, near), at(0, far)}}), "(100 - 60) / 4 against 20")
	far.least = 15
	require.Same(t, far, promising([][]*way{{at(0, near), at(0, far)}}))
	require.Same(t, near, promising([][]*way{{at(0, near), at(90, far)}}), "freight counts")
	w, dear := at(5, task(100, 80, 0), task(20, 10, 0)), at(0, task(126, 80, 0))
	require.InDelta(t, 125, w.value(), 0)
	require.InDelta(t, 95, w.floor(), 0)
	require.Same(t, w, cheapest([]*way{dear, w}))
	require.Same(t, w, cheapest([]*way{w, dear}))
}

// effort is a task of which only the work of a try counts.
type effort int

func (e effort) improve(int) int { return 0 }
func (e effort) net() float64    { return 0 }
func (e effort) floor() float64  { return 0 }
func (e effort) work() int       { return int(e) }
func (e effort) order(*Order)    {}

// Names of layouts go on after Z; images are sorted as one reads.
func TestLayoutsAreNamedInOrder(t *testing.T) {
	for i, want := range map[int]string{0: "A", 25: "Z", 26: "AA", 27: "AB", 51: "AZ", 52: "BA", 701: "ZZ",
		702: "AAA"} {
		require.Equal(t, want, layoutName(i))
	}
	items := []Item{{X: 1, Y: 2}, {X: 0, Y: 2, Artwork: "b"}, {X: 0, Y: 2, Artwork: "a"}, {X: 9, Y: 1}}
	sortItems(items)
	require.Equal(t, []Item{{X: 9, Y: 1}, {X: 0, Y: 2, Artwork: "a"}, {X: 0, Y: 2, Artwork: "b"}, {X: 1, Y: 2}}, items)
}

// A spare is worth having for a year's need, less what is too old by then.
func TestHowManySparesAreWorthHaving(t *testing.T) {
	kind := &programme.TransferKind{}
	f := &field{kind: kind}
	const asOf = programme.Date(20000)
	s := Spare{PerMonth: 2.5, From: asOf + 61}
	require.Equal(t, 30, f.worthHaving(s, asOf))
	kind.MaxOversMonths = 4
	require.Equal(t, 10, f.worthHaving(s, asOf))
	kind.ShelfDays = 122 // two months after they are needed
	require.Equal(t, 5, f.worthHaving(s, asOf))
	require.Equal(t, 1, f.worthHaving(Spare{From: asOf}, asOf))
	require.Equal(t, 1, f.worthHaving(Spare{PerMonth: 3}, asOf))
}
