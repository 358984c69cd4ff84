package wear

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// A year and a half of records may show a season; a wave is told where endings outweigh it.
func TestWhenASeasonIsLearnt(t *testing.T) {
	asOf := programme.NewDate(2026, 3, 2)
	b, learnt, _ := bookOfOne(t)
	b.client.RecordsStart = asOf - 548
	var h History
	for i := range 540 { // each day a piece for ten days; those of the summer wear out
		p := programme.Piece{StaffID: "a", SKU: programme.SKU{Garment: "tee"}, Issued: asOf.Add(i - 547),
			Reason: programme.LeftReason, Washes: 10, FromWashes: 10, ToWashes: 10}
		p.Ended = min(asOf, p.Issued+10)
		if m := p.Ended.Time().Month(); m >= time.June && m <= time.August {
			p.Reason = programme.Worn
		}
		h.Ended = append(h.Ended, p)
	}
	wave, gain := b.byMonth(&h, learnt, asOf).wave()
	require.Greater(t, gain, 4.0)
	months, ok := b.LearnSeason(&h, learnt, asOf)
	require.True(t, ok)
	for m, f := range months {
		require.InDelta(t, math.Exp(wave.at(m)), f, 1e-9)
	}
	require.Greater(t, months[6], 1.2*months[0])
	stated := NewSeason([12]float64{1, 1, 1, 1, 1, 1, 2, 1, 1, 1, 1, 1})
	b.season = &stated
	twice, ok := b.LearnSeason(&h, learnt, asOf)
	if wave, gain = b.byMonth(&h, learnt, asOf).wave(); gain >= 4 {
		require.True(t, ok)
		require.InDelta(t, stated[6]*math.Exp(wave.at(6)), twice[6], 1e-9, "times what the programme states")
	}
	b.season = nil
	for name, change := range map[string]func(){
		"a day too short":       func() { b.client.RecordsStart = asOf - 547 },
		"no records":            func() { b.client.RecordsStart = 0 },
		"found by counts alone": func() { b.client.RecordsStart, h.Hidden = asOf-548, 0.15 },
		"known":                 func() { h.Hidden, b.client.Known = 0.149, true },
	} {
		change()
		_, ok = b.LearnSeason(&h, learnt, asOf)
		require.False(t, ok, name)
		b.client.Known, h.Hidden, b.client.RecordsStart = false, 0, asOf-548
	}
	_, ok = b.LearnSeason(&History{Ended: h.Ended[:20]}, learnt, asOf)
	require.False(t, ok, "too little to tell")
	day := programme.Piece{StaffID: "a", SKU: programme.SKU{Garment: "tee"}, Issued: asOf - 90, Washes: 90}
	for name, p := range map[string]programme.Piece{"alike": {Alike: true}, "assumed": {Assumed: true},
		"replaced": {Replaced: true}, "of no kit": {SKU: programme.SKU{Garment: "cap"}}} {
		p.StaffID, p.Issued, p.Washes = day.StaffID, day.Issued, day.Washes
		if p.SKU == (programme.SKU{}) {
			p.SKU = day.SKU
		}
		require.Equal(t, monthly{}, *b.byMonth(&History{InService: []programme.Piece{p}}, learnt, asOf), name)
	}
	sum := 0.0
	for _, x := range b.byMonth(&History{InService: []programme.Piece{day}, parts: []programme.Piece{day},
		Ended: []programme.Piece{day}}, learnt, asOf) {
		sum += x.expected
	}
	require.InDelta(t, 3*90*evenRate, sum, 1e-9)
}

// How likely a piece of an age ends for a reason: by its cloth, its prints, all of them, or by days alone.
func TestHowLikelyAPieceEndsForAReason(t *testing.T) {
	b := &belief{risks: []risk{{Weibull{2, 60}, 1}, {Weibull{3, 80}, 2}}, mishap: 0.002}
	cloth, print := 2.0*30/3600, 2*3.0*30*30/512000
	for reason, want := range map[programme.Reason]float64{
		programme.Worn: cloth, programme.Print: print, programme.NoReason: 0.4*(cloth+print) + 0.002,
		programme.Unexplained: 0.4*(cloth+print) + 0.002,
		programme.Lost:        1, programme.LeftReason: 1,
	} {
		require.InDelta(t, want, b.danger(reason, 30, 0.4), 1e-9, "%q", reason)
		require.InDelta(t, 1e-9, b.danger(reason, 0, 0.4), 0, "new ones hardly end")
	}
	bare := &belief{risks: b.risks[:1]}
	require.InDelta(t, cloth, bare.danger(programme.Print, 30, 0.4), 1e-9, "what has no print ends as cloth does")
	require.Zero(t, b.wearing(20, 20))
	require.Zero(t, b.wearing(30, 20))
	require.InDelta(t, (900.0-400)/3600+2*(27000.0-8000)/512000, b.wearing(20, 30), 1e-9)
	terms := three(0.5).Terms
	require.InDelta(t, 0.5/365.2425, terms.belief().mishap, 1e-12)
}

// An ending written down within a fortnight is the one meant by a hand-over, records begin with
// their second day, and of a proposal's pieces only so many replace what had not ended.
func TestWhatAHandOverMeans(t *testing.T) {
	day := programme.NewDate(2026, 1, 5)
	shop, client := catalogueOfOne()
	client.Roles[0].Kit[0].Each = 2
	client.RecordsStart = day
	b, err := NewBook(shop, client, nil)
	require.NoError(t, err)
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: day - 99}}
	move := func(after int, kind programme.MovementKind, n int, change func(m *programme.Movement)) programme.Movement {
		m := programme.Movement{Date: day.Add(after), Kind: kind, Pieces: n, StaffID: "a",
			SKU: programme.SKU{Garment: "tee"}}
		change(&m)
		return m
	}
	issued := func(after, n int) programme.Movement {
		return move(after, programme.Issued, n, func(*programme.Movement) {})
	}
	worn := func(after int) programme.Movement {
		return move(after, programme.Ended, 1, func(m *programme.Movement) { m.Reason = programme.Worn })
	}
	kept := move(1, programme.Issued, 2, func(m *programme.Movement) { m.OldKept = true })
	proposal := move(60, programme.Issued, 1, func(m *programme.Movement) { m.Proposal = 7 })
	for name, c := range map[string]struct {
		moves                   []programme.Movement
		held, implied, replaced int
	}{
		"written down after a fortnight":     {[]programme.Movement{issued(1, 2), issued(60, 1), worn(74)}, 2, 0, 0},
		"written down a day later":           {[]programme.Movement{issued(1, 2), issued(60, 1), worn(75)}, 1, 1, 0},
		"on the day before records begin":    {[]programme.Movement{issued(-9, 2), issued(0, 1)}, 3, 0, 0},
		"on their first day":                 {[]programme.Movement{issued(-9, 2), issued(1, 1)}, 2, 1, 0},
		"two kept beside a first kit":        {[]programme.Movement{issued(1, 2), kept, issued(60, 1)}, 4, 1, 0},
		"one of a proposal, and one besides": {[]programme.Movement{issued(1, 2), proposal, issued(60, 1)}, 2, 2, 1},
		"one of a proposal":                  {[]programme.Movement{issued(1, 2), proposal}, 2, 1, 1},
	} {
		h := b.Trace(staff, c.moves, day.Add(200))
		replaced := 0
		for _, p := range h.Ended {
			if p.Replaced {
				replaced++
			}
		}
		require.Equal(t, [4]int{c.held, c.implied, c.replaced, c.replaced},
			[4]int{len(h.InService), h.Implied, replaced, h.Received}, name)
	}
	found := move(70, programme.Counted, 3, func(*programme.Movement) {})
	h := b.Trace(staff, []programme.Movement{issued(1, 2), proposal, found}, day.Add(200))
	require.Zero(t, h.Implied+h.Received, "a count found the old piece")
}

// People differ where the likelihood of it gains enough; fewer than five tell nothing.
func TestWhenPeopleAreBelievedToDiffer(t *testing.T) {
	b, learnt, _ := bookOfOne(t)
	history := func(people int, quick float64) *History {
		h := &History{roles: map[string]string{}}
		for i := range people {
			id := string(rune('a' + i))
			h.roles[id] = "floor"
			n := 12.0 // endings of 12 expected ones, or of every second person more
			if i%2 == 1 {
				n *= quick
			}
			p := programme.Piece{StaffID: id, SKU: programme.SKU{Garment: "tee"}, Part: 1}
			for range int(n) {
				e := p
				e.Ended, e.Reason, e.Washes, e.FromWashes, e.ToWashes = 100, programme.Worn, 1/evenRate,
					1/evenRate, 1/evenRate
				if i%2 == 1 {
					e.Washes /= quick
					e.FromWashes, e.ToWashes = e.Washes, e.Washes
				}
				h.Ended = append(h.Ended, e)
			}
		}
		return h
	}
	require.Nil(t, b.learnPaces(history(8, 1), learnt), "all alike")
	paces := b.learnPaces(history(8, 3), learnt)
	require.Len(t, paces, 8)
	require.Greater(t, paces["b"].Log, paces["a"].Log+0.3)
	require.Nil(t, b.learnPaces(history(4, 3), learnt))
	require.NotNil(t, b.learnPaces(history(5, 3), learnt))
	people, shape := b.wearers(history(5, 3), learnt)
	require.InDelta(t, 1, shape, 1e-9)
	require.InDelta(t, 12, people["a"].endings, 1e-9)
	require.InDelta(t, 12, people["a"].expected, 1e-9)
	require.InDelta(t, 36, people["b"].endings, 1e-9)
	require.InDelta(t, 12, people["b"].expected, 1e-9)
}

// What a life must hold to be a life.
func TestALifeThatCannotBe(t *testing.T) {
	good := Observation{Kind: Exact, Exit: 5, Count: 1}
	require.NoError(t, good.check())
	for name, change := range map[string]func(o *Observation){
		"ends before it starts":      func(o *Observation) { o.Entry = 6 },
		"before new":                 func(o *Observation) { o.Entry = -1 },
		"never":                      func(o *Observation) { o.Exit = math.Inf(1) },
		"at no age":                  func(o *Observation) { o.Exit = 0 },
		"no interval":                func(o *Observation) { o.Kind, o.Upper = Interval, 5 },
		"no pieces":                  func(o *Observation) { o.Count = 0 },
		"endless pieces":             func(o *Observation) { o.Count = math.Inf(1) },
		"other causes below nothing": func(o *Observation) { o.Other = -0.1 },
		"fewer lives than none":      func(o *Observation) { o.Lives = -1 },
		"no number":                  func(o *Observation) { o.Entry = math.NaN() },
	} {
		o := good
		change(&o)
		require.Error(t, o.check(), name)
	}
	require.NoError(t, Observation{Kind: Interval, Entry: 5, Exit: 5, Upper: 6, Count: 0.5, Lives: 2, Other: 1}.check())
}

// Movements come as a stable sort by all their words puts them, whatever the order of the ledger.
func TestMovementsOfOneHoldingComeTogether(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 8))
	pick := func(of ...string) string { return of[rng.IntN(len(of))] }
	ledger := make([]programme.Movement, 3000)
	for i := range ledger {
		ledger[i] = programme.Movement{
			Date: programme.Date(100 + rng.IntN(30)), Kind: []programme.MovementKind{programme.Issued, programme.Ended,
				programme.Counted}[rng.IntN(3)], StaffID: pick("10", "2", "b", "a"),
			SKU: programme.SKU{Garment: pick("tee", "polo", "po"), Colour: pick("navy", "lo navy", "", "black"),
				Size: pick("M", "L")}, Ref: strconv.Itoa(i),
		}
	}
	h := &holdings{first: map[useKey]programme.Former{{"", "polo", "black"}: {Garment: "tee", Colour: "navy"}}}
	var want []*programme.Movement
	for i := range ledger {
		if ledger[i].Date <= 120 {
			want = append(want, &ledger[i])
		}
	}
	slices.SortStableFunc(want, func(a, b *programme.Movement) int {
		garmentA, colourA := h.place(a)
		garmentB, colourB := h.place(b)
		return cmp.Or(cmp.Compare(a.StaffID, b.StaffID), cmp.Compare(garmentA, garmentB), cmp.Compare(colourA, colourB),
			cmp.Compare(a.Date, b.Date), cmp.Compare(rank(a.Kind), rank(b.Kind)))
	})
	require.Equal(t, want, h.sorted(ledger, 120))
}
