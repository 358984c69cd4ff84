package reorder

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

// standing is a client of tees in M and L, at 14.00 and 20.00, whose order would bring both to ten.
func standing(onHand, owed int) *situation {
	line := func(size string) Stocked {
		return Stocked{Quantity: demand.Line{SKU: item("tee", size)}, OnHand: onHand, Owed: owed}
	}
	client := &programme.Client{Prices: []programme.Price{{Garment: "tee", Price: 1400},
		{Garment: "tee", Size: "L", Price: 2000}}}
	return &situation{
		in:       &Input{Shop: &programme.Shop{ReviewDays: 7}, Client: client, AsOf: 1000},
		ordinary: []Stocked{line("M"), line("L")}, plan: &plan{levels: []int{10, 10}},
		horizon: Horizon{Trigger: 3, Quantity: 12},
	}
}

// The programme's smallest order, in pieces and in money: just so much is enough.
func TestTheSmallestOrder(t *testing.T) {
	c := standing(4, 0)
	require.Equal(t, 12, c.wantedPieces())
	price := c.wantedPrice()
	require.Equal(t, programme.Money(20400), price, "six at 14.00 and six at 20.00")
	for name, x := range map[string]struct {
		least programme.SmallestOrder
		small bool
	}{
		"none": {programme.SmallestOrder{}, false}, "just so many": {programme.SmallestOrder{Pieces: 12}, false},
		"one too few":       {programme.SmallestOrder{Pieces: 13}, true},
		"just so much":      {programme.SmallestOrder{Price: 20400}, false},
		"a cent too little": {programme.SmallestOrder{Price: 20401}, true},
		"one of both":       {programme.SmallestOrder{Pieces: 5, Price: 99999}, true},
	} {
		c.in.Client.SmallestOrder = x.least
		require.Equal(t, x.small, c.tooSmall(), name)
		d := Decision{Due: true}
		c.restrain(&d)
		require.Equal(t, !x.small, d.Due, name)
		if x.small {
			require.Equal(t, []Reason{{Kind: OrderTooSmall, Pieces: 12}}, d.Reasons)
			require.Equal(t, programme.Date(1007), d.NextDue)
		}
	}
	short := standing(0, 1)
	short.in.Client.SmallestOrder = programme.SmallestOrder{Pieces: 99}
	d := Decision{Due: true}
	short.restrain(&d)
	require.True(t, d.Due, "somebody is short")
}

// In the cover of the last order only what it was not made for is an event: more endings together,
// or of the line that has most beyond what was expected.
func TestWhatMakesAnOrderBeforeTheLastIsUsedUp(t *testing.T) {
	c := standing(0, 0)
	last := &Last{
		Number: 7, AsOf: 986, CoverUntil: 1042, Expected: 16, ByLine: map[programme.SKU]float64{item("tee", "M"): 4,
			item("tee", "L"): 12},
		Struck: map[programme.SKU]int{}, Ended: map[programme.SKU]int{},
	}
	c.in.Last = last
	// A quarter of the time has passed: four endings were expected, one and three of them by line.
	sum := func(of, n int, expected float64, k *programme.SKU) []Occurrence {
		return []Occurrence{{Kind: MoreEnded, Pieces: n, Expected: expected, SKU: k, Number: 7, On: 986}}[:of]
	}
	m, l := item("tee", "M"), item("tee", "L")
	for name, x := range map[string]struct {
		m, l int
		want []Occurrence
	}{
		"as expected":            {1, 3, nil},
		"as many as can be":      {2, 5, nil},
		"together too many":      {2, 6, sum(1, 8, 4, nil)},
		"too many of one line":   {3, 1, sum(1, 3, 1, &m)},
		"hardly too many of one": {2, 1, nil},
		"most beyond it":         {4, 3, sum(1, 4, 1, &m)},
		"too many of the other":  {0, 7, sum(1, 7, 3, &l)},
	} {
		last.Ended = map[programme.SKU]int{m: x.m, l: x.l}
		require.Equal(t, x.want, c.since(0), name)
	}
	last.Expected = 40 // of what was not ordered too
	last.Ended = map[programme.SKU]int{m: 6, l: 7}
	require.Equal(t, sum(1, 6, 1, &m), c.since(0), "five beyond one are more than four beyond three")
	last.Expected = 16
	last.Ended = map[programme.SKU]int{item("tee", "S"): 1}
	require.Empty(t, c.since(0))
	last.Joined = []string{"a", "b"}
	require.Equal(t, []Occurrence{{Kind: PeopleJoined, Staff: []string{"a", "b"}, Number: 7, On: 986},
		{Kind: KitsShort, Pieces: 3, Number: 7, On: 986}}, c.since(3))

	// An order of a day comes in two weeks more; of 1027 on it comes after the cover.
	for day, want := range map[programme.Date]bool{1000: true, 1027: true, 1028: false} {
		require.Equal(t, want, c.inLastCover(day), "%d", day)
	}
	last.Joined, last.Ended = nil, nil
	d := Decision{Due: true}
	c.restrain(&d)
	require.False(t, d.Due)
	require.Equal(t, []Reason{{Kind: JustOrdered}}, d.Reasons)
	require.Equal(t, programme.Date(1028), d.NextDue, "the first round whose order would come after it")
	c.in.Last = nil
	require.Empty(t, c.since(3))

	// What the client struck off is no shortage in the cover; what is more of it is.
	c = standing(0, 3)
	c.in.Last = last
	last.Struck[m] = 2
	short, struck := c.uncovered()
	require.Equal(t, [2]int{4, 2}, [2]int{short, struck})
	last.Struck[m] = 9
	short, struck = c.uncovered()
	require.Equal(t, [2]int{3, 3}, [2]int{short, struck})
	c.in.Last = nil
	short, struck = c.uncovered()
	require.Equal(t, [2]int{6, 0}, [2]int{short, struck})
}

// Quantiles far out, where a single chance cannot be held, against the whole distribution.
func TestQuantilesOfThousands(t *testing.T) {
	pmf := make([]float64, 3000)
	for d := 2400; d < 3000; d++ {
		pmf[d] = 1.0 / 600
	}
	s := NewSpread(demand.Line{Distribution: demand.Distribution{Mean: 2699.5, SD: 173, PMF: pmf}}, 10)
	kept := thin(pmf, 0.3, len(pmf))
	for _, k := range []int{600, 700, 780, 810, 850, 950} {
		sum := 0.0
		for _, p := range kept[:k+1] {
			sum += p
		}
		require.InDelta(t, sum, atMost(pmf, 0.3, k), 1e-9, "%d", k)
	}
	for _, chance := range []float64{0.05, 0.5, 0.9} {
		require.Equal(t, demand.Quantile(kept, chance), s.Quantile(3, chance))
	}
	require.Zero(t, s.Quantile(0, 0.9))
	require.Equal(t, demand.Quantile(pmf, 0.9), s.Quantile(10, 0.9))
	require.Zero(t, NewSpread(demand.Line{}, 4).Quantile(2, 0.5))
}

// The numbers that the customer asked for stay where the need is still about what was offered.
func TestWhichChangesAreKeptInTheNextForm(t *testing.T) {
	shop := twoSuppliers()
	client := &programme.Client{Code: "c",
		Roles: []programme.Role{{Kit: []programme.KitLine{{Garment: "tee"}, {Garment: "cap"}}}}}
	old := &Proposal{Lines: []Line{
		{SKU: item("tee", "M"), Order: 4, Offered: 10, Changed: true},
		{SKU: item("tee", "L"), Order: 4, Offered: 10, Changed: true}, {SKU: item("tee", "S"), Order: 3, Offered: 8},
		{SKU: item("cap", "M"), Order: 2, Offered: 0, Changed: true},
		{SKU: item("cap", "L"), Order: 0, Offered: 0, Changed: true},
		{SKU: item("hat", "M"), Order: 2, Offered: 0, Changed: true},
		{SKU: item("cap", "S"), Order: 2, Offered: 5, Changed: true},
	}}
	now := &Proposal{Lines: []Line{{SKU: item("tee", "M"), Order: 11}, {SKU: item("tee", "L"), Order: 14},
		{SKU: item("tee", "S"), Order: 9}}}
	require.NoError(t, now.Keep(shop, client, old))
	got := now.bySKU()
	require.Equal(t, map[programme.SKU]int{item("tee", "M"): 4, item("tee", "L"): 14, item("tee", "S"): 9,
		item("cap", "M"): 2}, got,
		"the need of L has grown, S was never changed, nobody offers a hat, and of the caps in S there is no need any more")
}

// States in which pieces are to be expected, and those in which a proposal lapses once its last day is over.
func TestWhatIsExpectedOfAState(t *testing.T) {
	for _, s := range States() {
		require.Equal(t, s == Accepted || s == Ordered || s == PartReceived, s.Coming(), "%s", s)
	}
	for name, c := range map[string]struct {
		state State
		until programme.Date
		want  bool
	}{
		"sent": {Sent, 0, true}, "drafted": {Drafted, 0, true}, "put off until today": {PutOff, 120, true},
		"until tomorrow": {PutOff, 121, false}, "received": {Received, 0, false},
	} {
		p := &Proposal{State: c.state, Until: c.until, OrderBy: 119}
		require.Equal(t, c.want, p.Lapses(120), name)
		require.False(t, p.Lapses(119), name)
	}
}

// Clients of few people, those who keep a pool and those who say so expect no starters.
func TestWhoseStartersWait(t *testing.T) {
	plain := &programme.Client{}
	for people, want := range map[int]bool{0: true, 19: true, 20: false, 500: false} {
		require.Equal(t, want, startersWait(plain, people), "%d people", people)
	}
	require.True(t, startersWait(&programme.Client{Pool: 1}, 500))
	require.True(t, startersWait(&programme.Client{Starters: programme.StartersWait}, 500))
	for people, want := range map[int]bool{0: false, 1: true, 19: true, 20: false} {
		c := &situation{in: &Input{Client: plain, People: people}}
		require.Equal(t, want, c.few(), "%d people", people)
	}
	require.False(t, (&situation{in: &Input{Client: &programme.Client{Pool: 1}, People: 5}}).few())
}

// A piece costs its blank, its transfers and its time at the press, and never nothing.
func TestWhatAPieceCosts(t *testing.T) {
	shop := twoSuppliers()
	shop.Press = programme.Press{PiecesPerHour: 50, CostPerHour: 2000}
	c := &situation{in: &Input{Shop: shop, Client: &programme.Client{}}}
	require.Equal(t, programme.Money(400+35+2*40),
		c.pieceCost(&Stocked{Quantity: demand.Line{SKU: item("tee", "M")}, TransferCost: 35, Presses: 2}))
	require.Equal(t, programme.Money(1), c.pieceCost(&Stocked{Quantity: demand.Line{SKU: item("lost", "M")}}))
	require.InDelta(t, 0.5, pressHours(&programme.Shop{}, 30), 1e-12, "sixty an hour where nobody says")
}

// How likely pieces of a proposal end is told of people, the likeliest first; equal chances by number, day and washes.
func TestWhoseEndingIsLikelier(t *testing.T) {
	base := end{staff: "b", pEnd: 0.5, issued: 100, washes: 20}
	for name, c := range map[string]struct {
		change func(e *end)
		before bool // the changed one comes first
	}{
		"likelier":        {func(e *end) { e.pEnd = 0.51 }, true},
		"less likely":     {func(e *end) { e.pEnd = 0.49 }, false},
		"hardly likelier": {func(e *end) { e.pEnd += 1e-11; e.staff = "c" }, false},
		"a lower number":  {func(e *end) { e.staff = "a" }, true},
		"a later day":     {func(e *end) { e.issued = 101 }, false},
		"an earlier day":  {func(e *end) { e.issued = 99 }, true},
		"more washes":     {func(e *end) { e.washes = 21 }, true},
		"fewer washes":    {func(e *end) { e.washes = 19 }, false},
	} {
		other := base
		c.change(&other)
		require.Equal(t, c.before, byChance(other, base) < 0, name)
		require.Equal(t, !c.before, byChance(base, other) < 0, name)
	}
}

// What is used of old blanks is what is needed of them at most: the mean rounded up, and what is owed.
func TestAsManyOldBlanksAreUsedAsAreNeeded(t *testing.T) {
	for _, c := range []struct{ onHand, owed, blanks, left int }{{0, 2, 9, 9 - 2 - 2}, {1, 2, 9, 9 - 3},
		{0, 0, 9, 9 - 2}, {3, 0, 9, 9}, {0, 0, 1, 0}} {
		old, next := item("old", "M"), item("new", "M")
		line := demand.Line{SKU: next, Distribution: demand.Distribution{Mean: 1.25, PMF: []float64{0.25, 0.25, 0.5}},
			Owed: c.owed}
		in := &Input{Lines: []Stocked{{Quantity: demand.Line{SKU: old}, OnHand: c.onHand},
			{Quantity: line, Owed: c.owed}}}
		blanks := map[programme.SKU]int{old: c.blanks}
		in.useUp(&in.Lines[0], &in.Lines[1], blanks)
		require.Equal(t, c.left, blanks[old], "%+v", c)
		require.True(t, in.Lines[0].RunsOut)
		require.Equal(t, c.blanks, in.Lines[0].Blanks)
	}
	worn := &Input{Lines: []Stocked{{Quantity: demand.Line{SKU: item("old", "M"),
		Distribution: demand.Distribution{Mean: leastMean}}, OnHand: 4}, {Quantity: demand.Line{SKU: item("new",
		"M")}}}}
	worn.useUp(&worn.Lines[0], &worn.Lines[1], map[programme.SKU]int{})
	require.False(t, worn.Lines[0].RunsOut, "another role wears it on")
	require.False(t, math.Signbit(worn.Lines[0].Quantity.Mean))
}
