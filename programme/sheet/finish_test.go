package sheet

import (
	"fmt"
	"maps"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// A large need is parted between clients: no client apart, no part of more artworks than are ganged
// unless one client has them, about equally many.
func TestALargeNeedIsPartedBetweenClients(t *testing.T) {
	for _, c := range []struct {
		clients, want []int // artworks of each client; of each part
	}{
		{[]int{20, 28}, []int{48}}, {[]int{20, 20, 20}, []int{40, 20}}, {[]int{30, 30}, []int{30, 30}},
		{[]int{10, 45}, []int{10, 45}},
		{[]int{60}, []int{60}}, {[]int{3, 60, 3}, []int{3, 60, 3}}, {[]int{1, 48}, []int{1, 48}},
		{[]int{25, 24}, []int{25, 24}}, {[]int{24, 25}, []int{24, 25}},
		{[]int{10, 10, 10, 10, 10, 10, 10, 10, 10, 10}, []int{40, 40, 20}},
		{[]int{10, 10, 10, 10, 10, 10}, []int{30, 30}}, {[]int{15, 15, 15, 15}, []int{30, 30}},
		{[]int{28, 1, 1, 30}, []int{30, 30}}, {[]int{20, 28, 20}, []int{48, 20}},
		{[]int{16, 16, 16, 16, 16, 16}, []int{48, 48}},
	} {
		f := &field{kind: &programme.TransferKind{}, width: 100, height: 100}
		for i, n := range c.clients {
			for range n {
				f.wants = append(f.wants, want{line: Line{Client: fmt.Sprint(i), Print: 2},
					art: &programme.Artwork{Width: 10, Height: 5}})
			}
		}
		var got []int
		at := 0
		for _, p := range f.parts() {
			got = append(got, len(p.wants))
			require.Same(t, f.wants[at].art, p.wants[0].art, "in order")
			at += len(p.wants)
			if len(c.want) > 1 {
				require.InDelta(t, 2*0.005*float64(len(f.wants)), p.whole, 1e-9, "all sheets count towards a break")
			}
		}
		require.Equal(t, c.want, got, "%v", c.clients)
	}
}

// Two layouts of 100 by 200 mm: one twice with half of it covered, one once with a quarter.
func TestHowFullSheetsAre(t *testing.T) {
	image := func(client string, w, h programme.Length) Item { return Item{Client: client, W: w * mm, H: h * mm} }
	o := &Order{
		Cost: Cost{SetUp: 900, Print: 3000, TopUp: 100, OverWorth: 50},
		Layouts: []Layout{
			{Copies: 2, Width: 100 * mm, Height: 200 * mm, Items: []Item{image("a", 50, 100), image("b", 100, 50)},
				setUp: 600, print: 2000},
			{Copies: 1, Width: 100 * mm, Height: 200 * mm,
				Items: []Item{image("a", 50, 100), {Client: "a", W: 10 * mm, H: 10 * mm, Spare: true}}, setUp: 300,
				print: 1000},
		},
	}
	(&field{}).finish(o)
	require.InDelta(t, 0.5, o.Layouts[0].Fill, 1e-9)
	require.InDelta(t, 5100.0/20000, o.Layouts[1].Fill, 1e-9)
	require.InDelta(t, (2*10000+5100)/60000.0, o.Fill, 1e-9)
	require.Equal(t, [2]string{"A", "B"}, [2]string{o.Layouts[0].Name, o.Layouts[1].Name})
	// The first is shared by halves, the second is a's; the top-up by three fifths and two: spares are nobody's.
	require.Equal(t, []Share{
		{"a", Cost{SetUp: 600, Print: 2000, TopUp: 60, OverWorth: 30}, 0.6},
		{"b", Cost{SetUp: 300, Print: 1000, TopUp: 40, OverWorth: 20}, 0.4},
	}, o.Shares)

	other := Order{Layouts: []Layout{{Copies: 3, Items: []Item{image("b", 50, 100)}}},
		Shares: []Share{{"b", Cost{Print: 500}, 1}}}
	all := addShares([]Order{*o, other})
	require.Equal(t, []string{"a", "b"}, []string{all[0].Client, all[1].Client})
	require.InDelta(t, 15000.0/40000, all[0].Area, 1e-9, "fifteen of twenty-five, and fifteen more of b's")
	require.InDelta(t, 25000.0/40000, all[1].Area, 1e-9)
	require.Equal(t, Cost{SetUp: 300, Print: 1500, TopUp: 40, OverWorth: 20}, all[1].Cost)
	require.Equal(t, map[string]int{"x": 2, "y": 1},
		maps.Collect((&Layout{Items: []Item{{Artwork: "x"}, {Artwork: "y"}, {Artwork: "x"}}}).Artworks()))

	require.Equal(t, []programme.Money{34, 33, 33}, divide(100, []float64{1, 1, 1}), "the first of equal remainders")
	require.Equal(t, []programme.Money{50, 50}, divide(100, []float64{0, 0}))
	require.Equal(t, []programme.Money{17, 83}, divide(100, []float64{1, 5}))
	require.Empty(t, divide(100, nil))
}

// A spare goes into a gap between what lies there, margins and gutters kept, turned where only that fits.
func TestASpareGoesIntoAGap(t *testing.T) {
	kind := &programme.TransferKind{Margin: 10 * mm, Gutter: 5 * mm, Cut: programme.Scissors}
	// a sheet of 200 by 110
	f := &field{kind: kind, width: int64(185 * mm), height: int64(95 * mm), arts: map[string]*programme.Artwork{}}
	layout := func() *Layout {
		return &Layout{Copies: 1, Width: 200 * mm, Height: 110 * mm,
			Items: []Item{{Artwork: "a", X: 10 * mm, Y: 10 * mm, W: 130 * mm, H: 90 * mm}}}
	}
	for name, c := range map[string]struct {
		w, h programme.Length
		turn bool
		fits bool
	}{
		"upright": {45, 90, false, true}, "lying, may be turned": {90, 45, true, true},
		"lying, may not": {90, 45, false, false}, "too wide": {46, 80, true, false}, "too high": {40, 91, false, false},
	} {
		art := &programme.Artwork{Code: "s", Client: "c", Width: c.w * mm, Height: c.h * mm, Turn: c.turn}
		l := layout()
		require.Equal(t, c.fits, f.intoGap(l, art, f.pieceOf(art, 1), f.height), name)
		if !c.fits {
			require.Len(t, l.Items, 1)
			continue
		}
		it := l.Items[1]
		require.Equal(t, [2]programme.Length{145 * mm, 10 * mm}, [2]programme.Length{it.X, it.Y}, name)
		require.Equal(t, [2]programme.Length{45 * mm, 90 * mm}, [2]programme.Length{it.W, it.H}, name)
		require.Equal(t, [3]any{"s", "c", c.turn}, [3]any{it.Artwork, it.Client, it.Turned}, name)
		require.True(t, it.Spare)
	}
	// Two of 75 by 40 lie so that one more fits only when all are laid anew.
	f.arts["a"] = &programme.Artwork{Code: "a", Client: "c", Width: 85 * mm, Height: 42 * mm}
	l := &Layout{Copies: 1, Width: 200 * mm, Height: 110 * mm, Items: []Item{
		{Artwork: "a", Client: "c", X: 30 * mm, Y: 10 * mm, W: 85 * mm, H: 42 * mm},
		{Artwork: "a", Client: "c", X: 30 * mm, Y: 57 * mm, W: 85 * mm, H: 42 * mm},
	}}
	require.False(t, f.intoGap(l, f.arts["a"], f.pieceOf(f.arts["a"], 1), f.height))
	require.True(t, f.addSpare(l, f.arts["a"], f.pieceOf(f.arts["a"], 1)))
	require.Len(t, l.Items, 3)
	spares := 0
	for i, a := range l.Items {
		require.Equal(t, [2]programme.Length{85 * mm, 42 * mm}, [2]programme.Length{a.W, a.H})
		require.True(t, a.X >= 10*mm && a.Y >= 10*mm && a.X+a.W <= 190*mm && a.Y+a.H <= 100*mm, "inside the margins")
		for _, b := range l.Items[:i] {
			apart := a.X+a.W+5*mm <= b.X || b.X+b.W+5*mm <= a.X || a.Y+a.H+5*mm <= b.Y || b.Y+b.H+5*mm <= a.Y
			require.True(t, apart, "a gutter between them")
		}
		if a.Spare {
			spares++
		}
	}
	require.Equal(t, 1, spares)
	require.True(t, f.addSpare(l, f.arts["a"], f.pieceOf(f.arts["a"], 1)))
	require.False(t, f.addSpare(l, f.arts["a"], f.pieceOf(f.arts["a"], 1)), "four are all that lie on it")
	f.size.Roll = true
	require.False(t, f.anew(layout(), f.arts["a"], f.height), "a roll is not laid anew")
}

// Digital sheets: equal ones are copies, and what a break asks for more is of what is used up soonest.
func TestEqualSheetsAreCopies(t *testing.T) {
	kind := &programme.TransferKind{
		Process: programme.Digital, Cut: programme.Scissors, SetUp: 200, MinimumOrder: 100,
		Prices: []programme.PriceBreak{{From: 1, Price: 1000}, {From: 5, Price: 700}},
		Sheets: []programme.SheetSize{{Width: 100 * mm, Height: 100 * mm}},
	}
	art := func(code string) *programme.Artwork {
		return &programme.Artwork{Code: code, Client: "c", Width: 100 * mm, Height: 50 * mm}
	}
	wants := []want{{line: Line{Artwork: "a", Client: "c", Print: 4}, art: art("a"), perMonth: 2},
		{line: Line{Artwork: "b", Client: "c", Print: 4}, art: art("b"), perMonth: 9}}
	f, err := newField("", kind, kind.Sheets[0], wants)
	require.NoError(t, err)
	task, err := newSheetsTask(f, Budget{Iterations: 20})
	require.NoError(t, err)
	require.InDelta(t, 200+3500, task.net(), 0, "four sheets cost less as five")
	require.InDelta(t, 200+3500, task.floor(), 0)
	require.Equal(t, 8*2, task.work())
	var o Order
	task.order(&o)
	require.Equal(t, 5, o.Sheets())
	require.Equal(t, Cost{SetUp: 200, Print: 3500}, o.Cost)
	var print programme.Money
	most := 0
	for i, l := range o.Layouts {
		print += l.print
		if l.Copies > o.Layouts[most].Copies {
			most = i
		}
	}
	require.InDelta(t, 3500, float64(print), 1)
	soonest := o.Layouts[task.soonest(&o)]
	b := 0
	for _, it := range soonest.Items {
		if it.Artwork == "b" {
			b++
		}
	}
	require.Equal(t, 2, b, "the sheet of what is needed most")
	kind.MinimumOrder = 5000
	require.Equal(t, Cost{SetUp: 200, Print: 3500, TopUp: 1300}, task.cost(4))
	require.Equal(t, Cost{SetUp: 200, Print: 2000, TopUp: 2800}, task.cost(2))
}

// The worth of overs, inks of a layout, and the least sheets by area.
func TestWhatALayoutAsksFor(t *testing.T) {
	art := func(inks int, set string) *programme.Artwork {
		return &programme.Artwork{Inks: inks, InkSet: set, Width: 40 * mm, Height: 20 * mm}
	}
	kind := &programme.TransferKind{Process: programme.ScreenPrinted, SetUp: 2500, SetUpPerInk: 1000, MaxOversMonths: 3,
		Gutter: 10 * mm}
	f := &field{kind: kind, width: int64(100 * mm), height: int64(90 * mm), fitted: map[string][]pack.Place{}}
	for _, a := range []*programme.Artwork{art(2, "white"), art(3, ""), art(4, "white"), art(4, "white"),
		art(1, "red")} {
		f.wants = append(f.wants, want{art: a, line: Line{Print: 6}, perMonth: 2.5})
	}
	for key, want := range map[string]int{"10000": 2, "11000": 5, "10100": 4, "00110": 4, "11111": 8, "00001": 1,
		"00000": 0} {
		copies := make([]int, 5)
		for i, c := range key {
			copies[i] = int(c - '0')
		}
		require.Equal(t, want, f.inks(copies), key)
		require.Equal(t, programme.Money(2500+1000*want), f.setUp(copies), key)
	}
	kind.Process = programme.Digital
	require.Zero(t, f.inks([]int{1, 1, 1, 1, 1}))
	require.InDelta(t, 50.0*30/9000, f.share(f.wants[0]), 1e-12)
	require.InDelta(t, 5*6*50.0*30/9000, f.floor(), 1e-9)
	require.Equal(t, 7, f.useful(f.wants[0]), "three months' need")
	kind.ShelfDays = 61
	require.Equal(t, 5, f.useful(f.wants[0]), "two months until they are too old")
	n, ok := f.slots()
	require.True(t, ok)
	require.Equal(t, 6, n, "two across, three down")
	f.wants[4].art.Width++
	_, ok = f.slots()
	require.False(t, ok, "not of one size")
	places, ok := f.fit([]int{2, 2, 2, 0, 0}, pack.Options{Iterations: 50})
	require.True(t, ok)
	require.Len(t, places, 6)
	_, ok = f.fit([]int{3, 2, 2, 0, 0}, pack.Options{Iterations: 5})
	require.False(t, ok)
	require.Contains(t, f.fitted, "[3 2 2 0 0]")

	f.tariff = tariff{breaks: []programme.PriceBreak{{From: 1, Price: 1000}, {From: 10, Price: 700}}}
	require.InDelta(t, 1000, f.eachOf(9), 0)
	require.InDelta(t, 700, f.eachOf(10), 0)
	require.InDelta(t, 1000, f.eachAbout(6), 0)
	require.InDelta(t, 700, f.eachAbout(8), 0, "ten cost less than eight")
	require.False(t, math.IsNaN(f.eachAbout(0)))
	ways := []*way{{freight: 30, tasks: []*progress{{least: 100}}}, {tasks: []*progress{{least: 50}, {least: 60}}}}
	require.InDelta(t, 110, leastOf(ways), 0)
}
