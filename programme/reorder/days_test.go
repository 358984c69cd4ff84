package reorder

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

// evenLine needs one or three pieces, each half likely, in four weeks: 0.5 a week.
func evenLine(k programme.SKU) demand.Line {
	return demand.Line{SKU: k, Distribution: demand.Distribution{Mean: 2, SD: 1, PMF: []float64{0, 0.5, 0, 0.5}},
		Weekly: []float64{0.5, 0.5, 0.5, 0.5}}
}

// Ten days after a Monday lie three sevenths between one week and two: the stock lasts until
// then where nine in ten pieces are served, what is owed counted.
func TestTheStockLastsUntilAnOrderArrives(t *testing.T) {
	monday := programme.NewDate(2026, 3, 2)
	line := evenLine(item("tee", "M"))
	spread := NewSpread(line, 4)
	short := func(w, stock int) (sum float64) {
		q := float64(w) / 4
		for d, p := range line.PMF {
			for k := 0; k <= d; k++ { // k of d come in these weeks
				binomial := math.Gamma(float64(d)+1) / math.Gamma(float64(k)+1) / math.Gamma(float64(d-k)+1) * math.Pow(q,
					float64(k)) * math.Pow(1-q, float64(d-k))
				sum += p * binomial * math.Max(0, float64(k-stock))
			}
		}
		return sum
	}
	for w := range 5 {
		for stock := -1; stock < 4; stock++ {
			require.InDelta(t, short(w, stock), spread.short(w, stock), 1e-9)
		}
	}
	seen := map[bool]int{}
	for lead := range 20 {
		for stock := -2; stock < 4; stock++ {
			for _, fill := range []float64{0, 0.97} {
				c := &situation{in: &Input{AsOf: monday, Client: &programme.Client{FillRate: fill}},
					lead: Lead{Blanks: lead}}
				days := c.lead.Arrival(monday+2) - monday
				w, part := int(days)/7, float64(days%7)/7
				missing := short2(short, w, part, stock)
				needed := float64(days)/7*0.5 + math.Max(0, -float64(stock))
				want := 1-missing/needed >= math.Max(0.9, fill)-1e-9
				require.Equal(t, want, c.keeps([]ahead{{spread, stock}}, monday+2), "lead %d, stock %d", lead, stock)
				seen[want]++
			}
		}
	}
	require.Greater(t, min(seen[true], seen[false]), 20)
}

func short2(short func(w, stock int) float64, w int, part float64, stock int) float64 {
	if w >= 4 { // past the horizon the test's own sum does not reach: as the product says
		s := NewSpread(evenLine(item("tee", "M")), 4)
		return s.short(w, stock) + part*(s.short(w+1, stock)-s.short(w, stock))
	}
	return short(w, stock) + part*(short(w+1, stock)-short(w, stock))
}

// Two forecasts of one line: what is on order for a day after the nearer comes later.
func TestStockIsJoinedWithBothForecasts(t *testing.T) {
	far := evenLine(item("tee", "M"))
	far.OnHand, far.OnOrder, far.Owed = 4, 9, 2
	near := far
	near.OnOrder = 5
	other := evenLine(item("tee", "L"))
	other.OnOrder = 3
	got := Stock([]demand.Line{near}, []demand.Line{far, other})
	require.Equal(t, []Stocked{
		{Trigger: near, Quantity: far, OnHand: 4, OnOrder: 5, OnOrderLater: 4, Owed: 2}, {Quantity: other, OnOrder: 3},
	}, got)
	require.Equal(t, [2]int{4 + 5 + 4 - 2, 4 + 5 - 2}, [2]int{got[0].position(), got[0].nearPosition()})
	require.Equal(t, near.PMF, got[0].nearPMF(Horizon{Trigger: 2, Quantity: 4}))
	require.Equal(t, NewSpread(other, 4).At(2), got[1].nearPMF(Horizon{Trigger: 2, Quantity: 4}))

	// Garments as the catalogue has them, then colours, then sizes from small to large; what it lacks by name.
	shop := &programme.Shop{Garments: []programme.Garment{{Code: "tee",
		Sizes: []programme.GarmentSize{{Code: "S"}, {Code: "L"}}}, {Code: "cap"}}}
	in := &Input{Shop: shop}
	for _, k := range []programme.SKU{{Garment: "cap"}, {Garment: "tee", Colour: "red", Size: "S"},
		{Garment: "tee", Colour: "black", Size: "L"}, {Garment: "tee", Colour: "black", Size: "S"},
		{Garment: "tee", Colour: "black", Size: "9"}} {
		in.Lines = append(in.Lines, Stocked{Quantity: demand.Line{SKU: k}})
	}
	var order []string
	for _, l := range in.sorted() {
		order = append(order, l.sku().Garment+l.sku().Colour+l.sku().Size)
	}
	require.Equal(t, []string{"teeblack9", "teeblackS", "teeblackL", "teeredS", "cap"}, order)
}

// The next round may be named; else it is as many days off as the shop looks anew.
func TestTheNextRoundIsTheOneNamed(t *testing.T) {
	shop := &programme.Shop{ReviewDays: 7}
	in := &Input{Shop: shop, Client: &programme.Client{}, AsOf: 100}
	require.Equal(t, [2]int{107, 7}, [2]int{int(in.nextRound()), in.review()})
	in.NextRound = 121
	require.Equal(t, [2]int{121, 21}, [2]int{int(in.nextRound()), in.review()})
	require.Equal(t, weeks(21+LeadOfClient(shop, in.Client).DaysFrom(100, 21)), in.horizon().Trigger)
	in.NextRound = 100
	require.Equal(t, 1, in.review(), "a day at least")
}

// The pool gives first, spare pieces before those for starters; then people, the least need first.
func TestWhoGivesPiecesUp(t *testing.T) {
	tee := item("tee", "M")
	for pieces, want := range map[int]struct {
		pool  [2]int // spare, for starters
		named string
		taken string
	}{
		1: {[2]int{1, 3}, "a2 b1 c2", ""}, 2: {[2]int{0, 3}, "a2 b1 c2", ""}, 4: {[2]int{0, 1}, "a2 b1 c2", ""},
		5: {[2]int{0, 0}, "a2 b1 c2", ""},
		6: {[2]int{0, 0}, "a2 c2", "b1"}, 7: {[2]int{0, 0}, "a1 c2", "b1 a1"}, 9: {[2]int{0, 0}, "c1", "b1 a2 c1"},
		10: {[2]int{0, 0}, "", "b1 a2 c2"},
	} {
		p := &Proposal{
			Pool: []Pool{{SKU: tee, Spare: 2, ForStarters: 3}},
			Named: []Named{{StaffID: "a", SKU: tee, Pieces: 2, PEnd: 0.5},
				{StaffID: "b", SKU: tee, Pieces: 1, PEnd: 0.2},
				{StaffID: "c", SKU: tee, Pieces: 2, Why: programme.CauseOwed}},
		}
		taken := p.takeAway(tee, pieces)
		said, out := "", ""
		for _, n := range p.Named {
			said += " " + n.StaffID + string(rune('0'+n.Pieces))
		}
		for _, w := range taken {
			out += " " + w.StaffID + string(rune('0'+w.Pieces))
		}
		require.Equal(t, want.named, trimmed(said), "%d", pieces)
		require.Equal(t, want.taken, trimmed(out), "%d", pieces)
		require.Equal(t, want.pool, [2]int{p.Pool[0].Spare, p.Pool[0].ForStarters}, "%d", pieces)
	}
}

func trimmed(s string) string {
	if s == "" {
		return ""
	}
	return s[1:]
}

// A garment that roles decorate differently is pressed as often as the most of them; a line of
// the kit for every colour counts for each.
func TestHowOftenThePressCloses(t *testing.T) {
	logo := programme.Decoration{Artwork: "logo"}
	client := &programme.Client{Roles: []programme.Role{
		{Kit: []programme.KitLine{{Garment: "tee", Colour: "black", Decorations: []programme.Decoration{logo}},
			{Garment: "cap", Decorations: []programme.Decoration{logo, logo, logo}}}},
		{Kit: []programme.KitLine{{Garment: "tee", Colour: "black", Decorations: []programme.Decoration{logo, logo}}}},
	}}
	k := func(garment, colour string) programme.SKU { return programme.SKU{Garment: garment, Colour: colour} }
	for sku, want := range map[programme.SKU]int{k("tee", "black"): 2, k("tee", "white"): 0, k("cap", "red"): 3,
		k("apron", ""): 0} {
		require.Equal(t, want, pressesOf(client, sku))
	}
	p := &Proposal{Lines: []Line{{SKU: k("tee", "black"), Order: 4}, {SKU: k("cap", "red"), Order: 5}}}
	require.Equal(t, 4*2+5*3, p.presses(client))
	c := &situation{in: &Input{Client: client}}
	require.Equal(t, 2, c.presses(&Stocked{Quantity: demand.Line{SKU: k("tee", "black")}}))
	require.Equal(t, 7, c.presses(&Stocked{Presses: 7, Quantity: demand.Line{SKU: k("tee", "black")}}))
}

// The share of a sheet, gutters counted, of what the margins leave; a metre of a roll.
func TestWhatAPrintIsGuessedToCost(t *testing.T) {
	const mm = programme.Millimetre
	kind := &programme.TransferKind{Gutter: 5 * mm, Margin: 10 * mm,
		Sheets: []programme.SheetSize{{Width: 320 * mm, Height: 420 * mm}},
		Prices: []programme.PriceBreak{{Price: 1200}, {Price: 900}}}
	art := &programme.Artwork{Width: 95 * mm, Height: 55 * mm}
	require.Equal(t, programme.Money(60), imageGuess(kind, art), "a twentieth: 100 by 60 of 300 by 400")
	kind.Sheets[0].Roll = true
	require.Equal(t, programme.Money(24), imageGuess(kind, art), "of 300 by 1000")
}

// A number of the fewer lines of a proposal is noticed by what it was: four pieces and two fifths more.
func TestSmallNumbersGrowByFourPieces(t *testing.T) {
	a := HoldAnswer{Pieces: 2}
	for pieces, want := range map[int]bool{2: false, 3: false, 5: false, 6: true} {
		require.Equal(t, want, a.grown(pieces), "%d", pieces)
	}
	a = HoldAnswer{Pieces: 20}
	for pieces, want := range map[int]bool{33: false, 34: true} {
		require.Equal(t, want, a.grown(pieces), "%d", pieces)
	}
	form := func(n int) *Proposal {
		return &Proposal{Lines: []Line{{SKU: item("tee", "M"), Order: n}}}
	}
	for pieces, want := range map[int]bool{5: false, 6: true} {
		require.Equal(t, want, grown(form(2), form(pieces)), "%d", pieces)
	}
}
