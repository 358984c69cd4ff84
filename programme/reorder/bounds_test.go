package reorder

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// Two pieces and more than a fifth of the greater number are noticed, all or nothing always.
func TestWhichNumbersOfPiecesDiffer(t *testing.T) {
	for _, c := range []struct {
		a, b  int
		share float64
		want  bool
	}{
		{0, 0, 0.2, false}, {5, 5, 0.2, false}, {0, 1, 0.2, true}, {1, 0, 0.2, true}, {1, 2, 0.2, false},
		{4, 6, 0.2, true}, {6, 4, 0.2, true},
		{8, 10, 0.2, false}, {7, 10, 0.2, true}, {10, 7, 0.2, true}, {18, 20, 0.1, false}, {17, 20, 0.1, true},
	} {
		require.Equal(t, c.want, apart(c.a, c.b, 2, c.share), "%d and %d", c.a, c.b)
	}
	for _, c := range []struct {
		a, b programme.Money
		want bool
	}{{10000, 10500, false}, {10000, 10526, false}, {10000, 10527, true}, {10527, 10000, true}, {0, 0, false},
		{0, 1, true}} {
		require.Equal(t, c.want, pricier(c.a, c.b), "%d and %d", c.a, c.b)
	}
}

// A bit of each size is a total that differs only where no size differs by itself; the same for the price.
func TestOnlyTheClearestDifferenceIsTold(t *testing.T) {
	form := func(price programme.Money, order ...int) *Proposal {
		p := &Proposal{AsOf: 100, OrderBy: 102, Arrives: 110, Price: price}
		for i, n := range order {
			p.Lines = append(p.Lines, Line{SKU: programme.SKU{Garment: "tee", Size: string(rune('a' + i))}, Order: n})
		}
		return p
	}
	old := form(1000, 10, 10)
	total := Noticeable(old, form(5000, 11, 12))
	require.Equal(t, []Difference{{Kind: OtherTotal, Was: 20, Is: 23}}, total)
	pieces := Noticeable(old, form(5000, 13, 10))
	require.Equal(t, []Difference{{Kind: OtherPieces, SKU: old.Lines[0].SKU, Was: 10, Is: 13}}, pieces)
	price := Noticeable(old, form(5000, 10, 10))
	require.Equal(t, []Difference{{Kind: OtherPrice, WasCost: 1000, IsCost: 5000}}, price)
	later := form(5000, 10, 10)
	later.AsOf, later.Arrives = 102, 117
	require.Equal(t, price, Noticeable(old, later), "the last day for a yes still keeps the promise")
	later.AsOf = 103
	moved := Difference{Kind: OtherArrival, WasDay: 110, IsDay: 117}
	require.Equal(t, append(price, moved), Noticeable(old, later))
	later.Arrives = 110
	require.Equal(t, price, Noticeable(old, later))
}

// Four pieces and two fifths more of one size are more than was refused; what the customer had
// changed was offered as it stood before.
func TestWhatHasGrownSinceANo(t *testing.T) {
	form := func(n int) *Proposal {
		return &Proposal{State: Declined, Answered: 100, Lines: []Line{{SKU: programme.SKU{Garment: "tee"}, Order: n}}}
	}
	for now, want := range map[int]bool{10: false, 13: false, 14: false, 16: false, 17: true, 5: false, 0: false} {
		require.Equal(t, want, grown(form(10), form(now)), "%d", now)
	}
	changed := form(10)
	changed.Lines[0].Changed, changed.Lines[0].Offered = true, 15
	require.False(t, grown(changed, form(17)))
	require.True(t, grown(changed, form(26)))
	changed.Lines[0].Offered = 5
	require.True(t, grown(changed, form(17)), "and no less than what was refused")
	require.False(t, grown(changed, form(16)))
	short := form(10)
	short.Named = []Named{{Pieces: 3, Why: programme.CauseWorn}}
	require.False(t, grown(form(10), short))
	short.Named[0].Why = programme.CauseOwed
	require.True(t, grown(form(10), short))
	require.False(t, grown(short, short))
	for day, want := range map[programme.Date]bool{155: true, 156: false} {
		require.Equal(t, want, Stands(form(10), form(10), day, 56), "%d days after the no", day-100)
	}
}

// An answer about clothing that waits for a yes holds from its day on for the cover, a yes for
// what it ordered besides.
func TestHowLongAnAnswerAboutProtectiveClothingHolds(t *testing.T) {
	k := programme.SKU{Garment: "vest"}
	for name, c := range map[string]struct {
		yes          bool
		pieces, days int
		asked        bool
	}{
		"a no, at once":              {false, 10, 0, false},
		"a no, to the last day":      {false, 10, 55, false},
		"a no, after its cover":      {false, 10, 56, true},
		"before it was said":         {false, 10, -1, true},
		"a no, a little more":        {false, 16, 9, false},
		"a no, clearly more":         {false, 17, 9, true},
		"a yes, a few more are due":  {true, 6, 9, false},
		"a yes, many more are due":   {true, 7, 9, true},
		"a no, fewer than were said": {false, 1, 9, false},
	} {
		got := Unanswered([]Hold{{SKU: k, Pieces: c.pieces}}, []HoldAnswer{{SKU: k, Yes: c.yes, Pieces: 10, On: 100}},
			programme.Date(100+c.days), 56)
		require.Equal(t, c.asked, len(got) == 1, name)
	}
	require.Equal(t, 91, AnswerDays(&programme.Client{}))
	require.Equal(t, 7, AnswerDays(&programme.Client{CoverWeeks: 1}))
}

// Two standard deviations of a Poisson number, and two pieces at least.
func TestHowManyEndingsAreAnEvent(t *testing.T) {
	for _, c := range []struct {
		ended    int
		expected float64
		want     bool
	}{{2, 0, true}, {1, 0, false}, {2, 0.1, false}, {3, 1, true}, {9, 4, true}, {8, 4, true}, {7, 4, false},
		{24, 16, true}, {23, 16, false}, {0, 9, false}} {
		require.Equal(t, c.want, beyond(c.ended, c.expected), "%d of %g", c.ended, c.expected)
	}
	l := Last{AsOf: 100, CoverUntil: 150}
	for day, want := range map[programme.Date]float64{100: 0, 125: 0.5, 150: 1, 200: 1} {
		require.InDelta(t, want, l.passed(day), 1e-12)
	}
	l.CoverUntil = 100
	require.Zero(t, l.passed(120))
}

// A line needs the supplier of its blanks where some are bought, and the printer of what its
// colour carries.
func TestWhichLinesNeedASupplier(t *testing.T) {
	shop := &programme.Shop{
		Garments: []programme.Garment{{Code: "tee", Supplier: "cloth"}},
		Kinds: []programme.TransferKind{{Code: "screen", Printer: "prints", SetUp: 900, SetUpPerInk: 50},
			{Code: "film", Printer: "films", SetUp: 300}, {Code: "foil", Printer: "prints", SetUp: 100}},
		Artworks: []programme.Artwork{{Code: "logo", Kind: "screen", Inks: 3}, {Code: "small", Kind: "screen", Inks: 1},
			{Code: "name", Kind: "film"}},
	}
	kit := func(colour string, artworks ...string) programme.KitLine {
		k := programme.KitLine{Garment: "tee", Colour: colour}
		for _, a := range artworks {
			k.Decorations = append(k.Decorations, programme.Decoration{Artwork: a})
		}
		return k
	}
	client := &programme.Client{Roles: []programme.Role{{Kit: []programme.KitLine{kit("black", "logo"),
		kit("white", "lost", "name")}}}}
	black, white := programme.SKU{Garment: "tee", Colour: "black"}, programme.SKU{Garment: "tee", Colour: "white"}
	for name, c := range map[string]struct {
		line programme.SKU
		buy  int
		from string
		want bool
	}{
		"blanks":                     {black, 1, "cloth", true},
		"blanks of the shelf":        {black, 0, "cloth", false},
		"its print":                  {black, 0, "prints", true},
		"the print of another":       {white, 5, "prints", false},
		"its second print":           {white, 0, "films", true},
		"a print that it lacks":      {black, 5, "films", false},
		"nothing of what it is none": {programme.SKU{Garment: "cap"}, 5, "cloth", false},
	} {
		require.Equal(t, c.want, needs(shop, client, c.line, c.buy, c.from), name)
	}
	client.Roles[0].Kit[1].Colour = ""
	require.True(t, needs(shop, client, black, 0, "films"), "a line of the kit for every colour")
	require.Equal(t, programme.Money(900+3*50+100), setUpsOf(shop, "prints"))
	require.Equal(t, programme.Money(300), setUpsOf(shop, "films"))

	p := &Proposal{
		Lines: []Line{
			{SKU: black, Order: 4, Buy: 2, Saves: []programme.Money{50, 20, -10, 5}},
			{SKU: white, Order: 3, Saves: []programme.Money{7, -1, 2}},
			{SKU: programme.SKU{Garment: "tee", Colour: "grey"}, Buy: 5, Saves: []programme.Money{99}},
		},
		Suppliers: []SupplierOrder{{Supplier: "cloth", Pieces: 77, Saves: 7}, {Supplier: "films"}},
	}
	p.WeighWays(shop, client)
	require.Equal(t, []SupplierOrder{{Supplier: "cloth", Pieces: 4, Saves: 75},
		{Supplier: "films", Pieces: 7, Saves: 84}}, p.Suppliers)
}

// What a blank costs goes by all pieces of its garment that are bought together; the best
// break that they reach counts.
func TestWhatABlankCostsGoesByTheBestBreak(t *testing.T) {
	g := &programme.Garment{Breaks: []programme.CostBreak{{From: 12, Percent: 5}, {From: 36, Percent: 20},
		{From: 24, Percent: 10}}}
	for pieces, want := range map[int]programme.Money{11: 1000, 12: 950, 23: 950, 24: 900, 35: 900, 36: 800, 99: 800} {
		require.Equal(t, want, unitCost(1000, g, pieces), "%d", pieces)
	}
}

// Of equal savings the first by name is named.
func TestTheGreatestSavingIsNamed(t *testing.T) {
	require.Equal(t, SharesFreight, largest(map[Shared]programme.Money{}))
	require.Equal(t, SharesPrice, largest(map[Shared]programme.Money{SharesFreight: 4, SharesMinimum: 5, SharesPrice: 6,
		SharesSheet: 6}))
	require.Equal(t, SharesMinimum, largest(map[Shared]programme.Money{SharesFreight: -4, SharesMinimum: -2,
		SharesPrice: -3, SharesSheet: -3}))
	for n, want := range map[int]int{-1: 12, 0: 12, 1: 1, 5: 5} {
		require.Equal(t, want, PullTerms{Most: n}.most())
	}
	require.Equal(t, 8, PullTerms{}.sharing())
}

// A client is near its due day to the last of the days looked at.
func TestWhoIsNearlyDue(t *testing.T) {
	s := &shopper{situation: &situation{in: &Input{AsOf: 100}}}
	for due, want := range map[programme.Date]bool{0: false, 100: true, 128: true, 129: false} {
		s.decision.NextDue = due
		require.Equal(t, want, PullTerms{WithinDays: 28}.near(s), "%d", due)
	}
}

// Of clients that are nearly due the nearest stay, in whatever order they come; who is due or far off is not
// touched.
func TestTheNearestStay(t *testing.T) {
	of := func(code string, due bool, on programme.Date) *Candidate {
		s := &shopper{situation: &situation{in: &Input{Client: &programme.Client{Code: code}}}}
		s.decision.Due, s.decision.NextDue = due, on
		return &Candidate{Decision: s.decision, shopper: s}
	}
	for seed := range uint64(20) {
		all := []*Candidate{of("now", true, 1), {}, of("d", false, 30), of("b", false, 20), of("c", false, 20),
			of("a", false, 40), of("e", false, 10)}
		want := map[*Candidate]bool{all[0]: true, all[3]: true, all[4]: true, all[6]: true}
		near := NewNearest(PullTerms{Most: 3})
		for _, i := range rand.New(rand.NewPCG(seed, 1)).Perm(len(all)) {
			near.Add(all[i])
		}
		for _, c := range all {
			require.Equal(t, want[c], c.shopper != nil)
		}
	}
}

// The chance that a size is needed by nobody: all its wearers leave and no starter has it.
func TestHowLikelyASizeIsNeverNeeded(t *testing.T) {
	require.InDelta(t, 0.25, neverNeeded(2, 0.6931471805599453, 0), 1e-12)
	require.InDelta(t, 0.125, neverNeeded(2, 0.6931471805599453, 0.6931471805599453), 1e-12)
	require.InDelta(t, 1, neverNeeded(0, 0.3, 0), 0)
	m := programme.Missing{Worn: 0.1, Starter: 0.5, Kit: 0.8}
	require.InDelta(t, (0.1*(3+1)+0.5*4+0.8*2)/11,
		missingShare(m, programme.Causes{Endings: programme.Endings[float64]{Worn: 2, Mishap: 1}, Resize: 2, Hires: 4,
			Kit: 2}), 1e-12)
	require.InDelta(t, 0.5, missingShare(m, programme.Causes{}), 0)
	require.InDelta(t, 200, usualOrder(1000, 4, 0.2), 1e-9, "the root of 2 × 1000 × 4 / 0.2")
}

// The last day for a yes is the last working day before the next round where the stock lasts
// that long, and two working days are left for an answer in any case.
func TestTheLastDayForAYesLiesBeforeTheNextRound(t *testing.T) {
	monday := programme.NewDate(2026, 3, 2)
	for review := 1; review < 15; review++ {
		for day := range 7 {
			in := &Input{Shop: &programme.Shop{ReviewDays: review}, Client: &programme.Client{}, AsOf: monday.Add(day)}
			working := func(d programme.Date) bool { return d.Sub(monday)%7 < 5 }
			want, answers := programme.Date(0), 0
			for d := in.AsOf; d < in.AsOf.Add(review) || answers < 3; d++ {
				if working(d) { // the first working day is the one on which the mail is read
					want, answers = d, answers+1
				}
			}
			got, late := (&situation{in: in}).orderBy()
			require.Equal(t, want, got, "a round every %d days, on day %d", review, day)
			require.False(t, late)
			first := in.AsOf
			for !working(first) {
				first++
			}
			second := first + 1
			for !working(second) {
				second++
			}
			third := second + 1
			for !working(third) {
				third++
			}
			last := max(third, in.AsOf.Add(review-1))
			for !working(last) {
				last++ // a yes of the weekend is ordered on Monday
			}
			require.Equal(t, last, lastArrival(in.Shop, in.Client, in.AsOf))
		}
	}
}
