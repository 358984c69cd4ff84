package wear

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/integrate/quad"

	"github.com/kitmuster/kitmuster/programme"
)

// bookOfOne is the book of catalogueOfOne with what is known of its class made certain: cloth with a
// hazard that is the same at each of 50 washes, and 0.73 mishaps a year.
func bookOfOne(t *testing.T) (*Book, map[Class]*Learnt, Class) {
	t.Helper()
	shop, client := catalogueOfOne()
	b, err := NewBook(shop, client, nil)
	require.NoError(t, err)
	c := b.order[0]
	k := three(1)
	life := func(shape, scale float64) Posterior {
		return newLearner(Prior{Weibull: Weibull{shape, scale}, Strength: 10, Known: true}, nil).posterior()
	}
	return b, map[Class]*Learnt{c: {Terms: b.terms[c], Cloth: life(1, 50), Prints: []Posterior{life(1, 200)},
		Mishap: Gamma{k.Mishap.Count, k.Mishap.Count / 0.73}}}, c
}

const evenRate, evenMishap = 1.0/50 + 1.0/200, 0.73 / 365.2425 // a wash, a day

func teeOf(staff string) programme.Piece {
	return programme.Piece{StaffID: staff, SKU: programme.SKU{Garment: "tee"}, Washes: 30, FromWashes: 10,
		UnseenDays: 40}
}

// What may be missing unseen of each person's pieces, from each piece's chances.
func TestWhatMayBeMissingUnseen(t *testing.T) {
	b, learnt, _ := bookOfOne(t)
	h := &History{found: 3, written: 21, roles: map[string]string{"a": "floor", "b": "floor"}, Late: Late{Share: 0.4}}
	assumed, seen, late := teeOf("a"), teeOf("b"), teeOf("b")
	assumed.Assumed = true
	seen.UnseenDays = 0
	late.SKU.Size, late.LateWashes, late.LateDays = "L", 25, 10
	elsewhere := teeOf("b")
	elsewhere.SKU.Garment = "cap"
	h.InService = []programme.Piece{teeOf("a"), assumed, seen, late, elsewhere, teeOf("a")}
	list, sd := b.Doubts(h, learnt)

	const hid, wrote = 1 + 3, 9 + 21
	share := float64(hid) / (hid + wrote)
	require.InDelta(t, math.Sqrt(share*(1-share)/(hid+wrote+1)), sd, 1e-12, "the spread of a Beta distribution")
	hazard := 20*evenRate + 40*evenMishap
	g := Gone(hazard, share)
	slope := (Gone(hazard, share+1e-6) - Gone(hazard, share-1e-6)) / 2e-6
	never, toCome := Unwritten(15*evenRate+30*evenMishap, 5*evenRate+10*evenMishap, share, 0.4)
	lateSum := never + toCome
	want := []Doubt{
		{"a", programme.SKU{Garment: "tee"}, 2, g + 0.25, g*(1-g) + 0.25*0.75, slope},
		{"b", programme.SKU{Garment: "tee"}, 1, 0, 0, 0},
		{"b", late.SKU, 1, lateSum, lateSum * (1 - lateSum), slope},
		{"b", elsewhere.SKU, 1, 0, 0, 0},
		{"a", programme.SKU{Garment: "tee"}, 1, g, g * (1 - g), slope},
	}
	require.Len(t, list, len(want))
	for i, d := range list {
		require.Equal(t, [3]any{want[i].StaffID, want[i].SKU, want[i].Pieces}, [3]any{d.StaffID, d.SKU, d.Pieces})
		require.InDelta(t, want[i].Missing, d.Missing, 1e-9)
		require.InDelta(t, want[i].Noise, d.Noise, 1e-9)
		require.InDelta(t, want[i].Slope, d.Slope, 1e-5)
	}
	h.Hidden = 0.5
	list, _ = b.Doubts(h, learnt)
	require.InDelta(t, Gone(hazard, 0.5), list[4].Missing, 1e-9, "what counts say, where it is more")
	require.InDelta(t, second(Unwritten(15*evenRate+30*evenMishap, 5*evenRate+10*evenMishap, 0.5, 0.4)),
		b.Backlog(h, learnt), 1e-9)
	h.Late.Share = 0
	require.Zero(t, b.Backlog(h, learnt))
}

func second(_, b float64) float64 { return b }

// Where nobody counts, old pieces betray what nobody writes down.
func TestOldPiecesTellOfSilentEndings(t *testing.T) {
	b, learnt, c := bookOfOne(t)
	h := &History{roles: map[string]string{"a": "floor"}, Hidden: 0.3}
	late := teeOf("a")
	late.LateWashes, late.LateDays = 25, 10
	part := teeOf("a")
	part.Part = 0.5
	alike := teeOf("a")
	alike.Alike = true
	seen := teeOf("a")
	seen.UnseenDays = 0
	h.InService, h.parts = []programme.Piece{teeOf("a"), late, alike, seen}, []programme.Piece{part}
	hazard, lateHazard := 20*evenRate+40*evenMishap, 15*evenRate+30*evenMishap
	gone := 1.5*Gone(hazard, 0.3) + Gone(lateHazard, 0.3)
	learnt[c].Evidence = Evidence{Endings: programme.Endings[int]{Worn: 7}}
	require.InDelta(t, (1+gone)/(10+7+gone), b.silentShare(h, learnt), 1e-9)

	// 1/S - 1 of each: too old from half as many again as were written down and ten.
	for range 40 {
		h.InService = append(h.InService, teeOf("a"))
	}
	sum := 41.5*math.Expm1(hazard) + math.Expm1(lateHazard)
	most := (sum - 10) / 1.5
	learnt[c].Evidence.Worn = int(most)
	require.True(t, b.tooOld(h, learnt))
	learnt[c].Evidence.Worn = int(most) + 1
	require.False(t, b.tooOld(h, learnt))
}

// What one piece shows of wear: an ending or none, and what was to be expected until then.
func TestWhatAPieceShowsOfWear(t *testing.T) {
	b := &belief{risks: []risk{{Weibull{1, 50}, 1}, {Weibull{1, 200}, 1}}, mishap: evenMishap}
	gap := 20.0
	for name, c := range map[string]struct {
		change         func(p *programme.Piece)
		ends, expected float64
	}{
		"in service": {func(p *programme.Piece) { p.Ended, p.Reason = 0, "" }, 0, 25},
		"worn":       {func(*programme.Piece) {}, 1, 25},
		"lost":       {func(p *programme.Piece) { p.Reason = programme.Lost }, 0, 25},
		"still good": {func(p *programme.Piece) { p.Reason = programme.LeftReason }, 0, 25},
		"replaced":   {func(p *programme.Piece) { p.Replaced = true }, 0, 5},
		"nobody says": {func(p *programme.Piece) { p.Reason, p.FromWashes = "", 30 },
			evenRate / (evenRate + 50*evenMishap/30), 25},
		"a count found": {func(p *programme.Piece) { p.Reason, p.ToWashes = programme.Unexplained, 10+gap },
			evenRate * gap / (evenRate*gap + evenMishap*50/30*gap), 15},
		"of a holder at": {func(p *programme.Piece) { p.Reason, p.FromWashes, p.AwayDays = "", 30, 20 },
			evenRate / (evenRate + 30*evenMishap/30), 25},
	} {
		p := programme.Piece{EntryWashes: 5, FromWashes: 10, ToWashes: 30, Washes: 30, Issued: 100, Ended: 150,
			Reason: programme.Worn}
		if name == "nobody says" || name == "of a holder at" {
			p.ToWashes = 30
		}
		c.change(&p)
		ends, due := b.worn(&p, &History{})
		require.InDelta(t, c.ends, ends, 1e-9, name)
		require.InDelta(t, c.expected*evenRate, due, 1e-9, name)
	}

	quiet := programme.Piece{EntryWashes: 5, FromWashes: 10, Washes: 30, UnseenDays: 40, LateWashes: 25, LateDays: 10}
	then, now := silence(15*evenRate+30*evenMishap, 5*evenRate+10*evenMishap, 0.2, 0.4)
	require.InDelta(t, (5+15*then+5*now)*evenRate, b.endured(&quiet, 0.2, 0.4), 1e-9)
	_, due := b.worn(&quiet, &History{Hidden: 0.2, Late: Late{Share: 0.4}})
	require.InDelta(t, (5+15*then+5*now)*evenRate, due, 1e-9)
	then, _ = silence(20*evenRate+40*evenMishap, 0, 0.2, 0)
	require.InDelta(t, (5+20*then)*evenRate, b.endured(&quiet, 0.2, 0), 1e-9)
	require.InDelta(t, 25*evenRate, b.endured(&quiet, 0, 0), 1e-9)
	then, now = silence(15*evenRate+30*evenMishap, 5*evenRate+10*evenMishap, 0, 0.4)
	require.InDelta(t, (5+15*then+5*now)*evenRate, b.endured(&quiet, 0, 0.4), 1e-9)
	quiet.LateDays = 0
	then, _ = silence(20*evenRate+40*evenMishap, 0, 0.2, 0)
	require.InDelta(t, (5+20*then)*evenRate, b.endured(&quiet, 0.2, 0.4), 1e-9, "nothing is late of it")
}

// How a piece counts as evidence: what it lasted, under observation for how long, and how it came to be known.
func TestHowAPieceCountsAsEvidence(t *testing.T) {
	b, _, c := bookOfOne(t)
	b.client.RecordsStart = 90
	use, _ := b.Use("floor", "tee", "")
	base := programme.Piece{StaffID: "a", SKU: programme.SKU{Garment: "tee"}, Issued: 100, EntryWashes: 2,
		FromWashes: 52, ToWashes: 52, Washes: 52}
	piece := func(change func(p *programme.Piece)) programme.Piece {
		p := base
		change(&p)
		return p
	}
	ended := func(reason programme.Reason, more ...func(p *programme.Piece)) programme.Piece {
		return piece(func(p *programme.Piece) {
			p.Ended, p.Reason = 200, reason
			for _, m := range more {
				m(p)
			}
		})
	}
	one := func(l life) *life {
		if l.count == 0 {
			l.count = 1
		}
		return &l
	}
	// halfway between 12 and 25 washes later
	gap := func(p *programme.Piece) { p.FromWashes, p.ToWashes, p.Washes = 27, 52, 37 }
	for name, p := range map[string]struct {
		piece    programme.Piece
		history  History
		life     *life
		evidence Evidence
	}{
		"in service": {piece(func(*programme.Piece) {}), History{},
			one(life{entry: 2, from: 52, to: 52, days: 200, pace: 0.25}), Evidence{InService: 1}},
		"with days away": {piece(func(p *programme.Piece) { p.AwayDays = 100 }), History{},
			one(life{entry: 2, from: 52, to: 52, days: 100, pace: 0.5}), Evidence{InService: 1}},
		"older than the records": {piece(func(p *programme.Piece) { p.Issued = 10 }), History{},
			one(life{entry: 2, from: 52, to: 52, days: 210, pace: 50.0 / 210}), Evidence{InService: 1}},
		"seen first at a count": {piece(func(p *programme.Piece) { p.Since = 200 }), History{},
			one(life{entry: 2, from: 52, to: 52, days: 100, pace: 0.5}), Evidence{InService: 1}},
		"only assumed": {piece(func(p *programme.Piece) { p.Assumed = true }), History{}, nil,
			Evidence{InService: 1, Assumed: 1}},
		"worn": {ended(programme.Worn), History{},
			one(life{entry: 2, from: 52, to: 52, days: 100, pace: 0.5, ended: true, known: true}),
			Evidence{Endings: programme.Endings[int]{Worn: 1}}},
		"before records": {ended(programme.Worn, func(p *programme.Piece) { p.Issued, p.Ended = 10, 80 }),
			History{}, nil, Evidence{}},
		"on their first day": {ended(programme.Worn,
			func(p *programme.Piece) { p.Issued, p.Ended, p.EntryWashes = 10, 90, 52 }), History{}, one(life{entry: 52,
			from: 52, to: 52, ended: true, known: true}), Evidence{Endings: programme.Endings[int]{Worn: 1}}},
		"of unknown cause": {ended(""), History{},
			one(life{entry: 2, from: 52, to: 52, days: 100, pace: 0.5, ended: true}), Evidence{Unexplained: 1}},
		"read from a hand-over": {ended("", func(p *programme.Piece) { p.Implied = true }), History{},
			one(life{entry: 2, from: 52, to: 52, days: 100, pace: 0.5, ended: true}),
			Evidence{Unexplained: 1, HandedOver: 1}},
		"returned": {ended(programme.LeftReason), History{},
			one(life{entry: 2, from: 52, to: 52, days: 100, pace: 0.5, ended: true, good: true}), Evidence{Other: 1}},
		"missing at a count": {ended(programme.Unexplained, gap), History{},
			one(life{entry: 2, from: 27, to: 52, days: 100 - 10/0.35, pace: 0.35, ended: true}),
			Evidence{Unexplained: 1, Counted: 1}},
		"assumed and ended": {ended(programme.Worn, func(p *programme.Piece) { p.Assumed = true }), History{},
			nil, Evidence{Ageless: 1}},
		"assumed and missing": {ended(programme.Unexplained, func(p *programme.Piece) { p.Assumed = true }),
			History{}, nil, Evidence{}},
		"assumed and returned": {ended(programme.LeftReason, func(p *programme.Piece) { p.Assumed = true }),
			History{}, nil, Evidence{}},
		"assumed and handed over": {ended("", func(p *programme.Piece) { p.Assumed, p.Implied = true, true }),
			History{}, nil, Evidence{}},
		"thrown out for a new one": {ended(programme.Worn,
			func(p *programme.Piece) {
				p.Replaced, p.FromWashes, p.UnseenDays = true, 32, 40
			}), History{}, one(life{entry: 2, from: 32, to: 32, days: 60, pace: 0.5, ended: true,
			good: true}), Evidence{Other: 1}},
		"kept by a leaver": {
			ended(programme.LeftReason, func(p *programme.Piece) { p.FromWashes, p.UnseenDays = 32, 40 }),
			History{Hidden: 0.2},
			one(life{entry: 2, from: 32, to: 52, days: 100, pace: 0.5, ended: true, good: true, unseenDays: 40,
				hidden: 0.2}), Evidence{Other: 1},
		},
		"kept by a leaver, nothing hidden": {
			ended(programme.LeftReason, func(p *programme.Piece) { p.FromWashes, p.UnseenDays = 32, 40 }), History{},
			one(life{entry: 2, from: 52, to: 52, days: 100, pace: 0.5, ended: true, good: true}), Evidence{Other: 1},
		},
		"not seen for a while": {
			piece(func(p *programme.Piece) { p.FromWashes, p.UnseenDays = 32, 40 }), History{Hidden: 0.2},
			one(life{entry: 2, from: 32, to: 52, days: 200, pace: 0.25, unseenDays: 40, hidden: 0.2, lateFrom: 52}),
			Evidence{InService: 1},
		},
		"entered late": {
			piece(func(p *programme.Piece) { p.FromWashes, p.UnseenDays, p.LateWashes, p.LateDays = 32, 40, 42, 20 }),
			History{Late: Late{Share: 0.3}},
			one(life{entry: 2, from: 32, to: 52, days: 200, pace: 0.25, unseenDays: 40, lateFrom: 42, lateDays: 20,
				late: 0.3}), Evidence{InService: 1},
		},
		"of somebody who wears harder": {
			piece(func(p *programme.Piece) { p.FromWashes, p.UnseenDays, p.LateWashes, p.LateDays = 32, 40, 42, 20 }),
			History{Late: Late{Share: 0.3}, paces: map[string]Pace{"a": {Log: math.Ln2, SD: 0.1}}},
			one(life{entry: 4, from: 64, to: 104, days: 200, pace: 0.5, blur: 0.005, unseenDays: 40, lateFrom: 84,
				lateDays: 20, late: 0.3}), Evidence{InService: 1},
		},
		"a part of a piece": {ended(programme.Worn, func(p *programme.Piece) { p.Part = 0.6 }), History{},
			one(life{entry: 2, from: 52, to: 52, days: 100, pace: 0.5, ended: true, known: true, count: 0.6}),
			Evidence{Endings: programme.Endings[int]{Worn: 1}}},
	} {
		out := map[Class]*Learnt{c: {}}
		b.sort(&p.piece, use, &p.history, 300, out)
		if p.life == nil {
			require.Empty(t, out[c].lives, name)
		} else {
			require.Len(t, out[c].lives, 1, name)
			got := out[c].lives[0]
			for _, x := range [][2]*float64{{&p.life.days, &got.days}, {&p.life.pace, &got.pace},
				{&p.life.blur, &got.blur}, {&p.life.entry, &got.entry}, {&p.life.from, &got.from},
				{&p.life.to, &got.to}, {&p.life.lateFrom, &got.lateFrom}} {
				require.InDelta(t, *x[0], *x[1], 1e-9, name)
				*x[1] = *x[0]
			}
			require.Equal(t, *p.life, got, name)
		}
		require.Equal(t, p.evidence, out[c].sums.whole(), name)
	}
}

// Lives that differ in anything stay apart; equal ones, wherever they stand, are one of their sum.
func TestEqualLivesArePooled(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	two := func() float64 { return float64(rng.IntN(2)) }
	sums := map[life]float64{}
	var lives []life
	for range 4000 {
		l := life{entry: two(), from: 1 + two(), to: 2 + two(), days: two(), pace: two(),
			cause: programme.Cause(rng.IntN(2)),
			known: rng.IntN(2) == 0, ended: rng.IntN(2) == 0, good: rng.IntN(2) == 0, unseenDays: two(), hidden: two()}
		if rng.IntN(3) == 0 {
			l.lateFrom, l.lateDays = two(), two()
		}
		sums[l]++
		l.count = 1
		lives = append(lives, l)
	}
	out := pool(lives)
	require.Len(t, out, len(sums))
	for _, l := range out {
		n := l.count
		l.count = 0
		require.InDelta(t, sums[l], n, 0)
	}
}

// What a source has learnt elsewhere: intervals by their expected ending, here by fine
// integrals, and endings that others share by their chance.
func TestWhatOthersHaveTaught(t *testing.T) {
	const k, rate = 2.0, 0.7
	l := &learner{
		endings:  3,
		exposed:  []exposed{{2, math.Log(0.5), math.Inf(-1), 0}, {1, math.Log(0.9), math.Log(0.3), 0}},
		shared:   []shared{{count: 4, at: math.Log(0.8), other: 0.5}},
		interval: []between{{count: 5, from: math.Log(0.4), to: math.Log(1.1), other: 0.3}},
	}
	got := l.tally(k, rate)
	hazard := rate * k * 0.8
	from, to := 0.4*0.4, 1.1*1.1 // in exposure
	perExposure := rate + 0.3/(to-from)
	ended := -math.Expm1(-perExposure * (to - from))
	inside := quad.Fixed(func(x float64) float64 { return x * perExposure * math.Exp(-perExposure*x) }, 0, to-from, 100,
		nil, 0) / ended
	require.InDelta(t, 3+4*hazard/(hazard+0.5)+5*rate/perExposure, got.endings, 1e-9)
	require.InDelta(t, 2*0.25+0.81-0.09+5*inside, got.exposure, 1e-9)

	// The shop's experience without the client's own part.
	e := &Experience{known: map[sourceKey]*pooled{{"cloth", "hot"}: {
		prior: Prior{Strength: 10}, shape: 3, endings: 40, exposure: 70, share: map[string]tally{"mine": {15, 30}},
	}}}
	s := Source{Code: "cloth", Regime: "hot", Baseline: Weibull{2, 50},
		Prior: Prior{Weibull: Weibull{2, 50}, Strength: 10}}
	mine := e.prior("mine", s)
	require.InDelta(t, 2*math.Pow(1.5, 25.0/35), mine.Shape, 1e-12)
	require.InDelta(t, 50*math.Cbrt(50.0/35), mine.Scale, 1e-12, "50 of exposure for 35 endings")
	require.InDelta(t, 10, mine.Strength, 0)
	other := e.prior("other", s)
	require.InDelta(t, 50*math.Cbrt(80.0/50), other.Scale, 1e-12)
	s.Regime = "cold"
	require.Equal(t, s.Prior, e.prior("mine", s), "nothing is known of it")
	require.Equal(t, s.Prior, (*Experience)(nil).prior("mine", s))

	// All evidence of two clients together is that of each.
	one := &learner{prior: Prior{Strength: 3}, exposed: l.exposed, endings: 2, sumLog: 0.5}
	both := joined([]*learner{one, l})
	require.Equal(t, [4]int{4, 1, 1, 0}, [4]int{len(both.exposed), len(both.shared), len(both.interval), 0})
	require.InDelta(t, 5, both.endings, 0)
	require.InDelta(t, 0.5, both.sumLog, 0)
}

// The likelihood of a rate against its definition, its slopes by differences and its top by a search.
func TestTheLikelihoodOfARateIsAsDefined(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 1))
	for range 50 {
		x := &terms{}
		for range 1 + rng.IntN(5) {
			x.count, x.slope, x.other = append(x.count, float64(1+rng.IntN(2))), append(x.slope, 0.2+2*rng.Float64()),
				append(x.other, rng.Float64())
			x.sharedCount, x.hazard, x.sharedOther = append(x.sharedCount, float64(1+rng.IntN(2))),
				append(x.hazard, 0.2+2*rng.Float64()), append(x.sharedOther, rng.Float64())
		}
		conj := Gamma{3, 4}
		value := func(y float64) float64 {
			r := math.Exp(y)
			v := conj.Count*y - conj.Exposure*r
			for i, n := range x.count {
				v += n * math.Log(1-math.Exp(-r*x.slope[i]-x.other[i]))
			}
			for i, n := range x.sharedCount {
				v += n * math.Log(r*x.hazard[i]+x.sharedOther[i])
			}
			return v
		}
		y := rng.NormFloat64()
		v, d1, d2 := x.value(conj, y)
		require.InDelta(t, value(y), v, 1e-9)
		const h = 1e-4
		require.InDelta(t, (value(y+h)-value(y-h))/(2*h), d1, 1e-5)
		require.InDelta(t, (value(y+h)-2*value(y)+value(y-h))/(h*h), d2, 1e-4)
		top, most, curve := x.mode(conj, 0)
		require.InDelta(t, value(top), most, 1e-9)
		require.InDelta(t, 0, second3(x.value(conj, top)), 1e-4)
		require.InDelta(t, third(x.value(conj, top)), curve, 1e-6)
		near, _, _ := x.mode(conj, top+2)
		require.InDelta(t, top, near, 1e-4)
	}
	require.InDelta(t, 1.7, golden(func(a float64) float64 { return -(a - 1.7) * (a - 1.7) }, -3, 8, 1e-6), 1e-6)
	require.InDelta(t, -2.9, golden(func(a float64) float64 { return -math.Abs(a + 2.9) }, -3, 8, 1e-6), 1e-6)
	require.InDelta(t, math.Exp(600)*(1+5), power(605), math.Exp(600)*1e-9)
	require.InEpsilon(t, math.Exp(599), power(599), 1e-9)
}

func second3(_, d1, _ float64) float64 { return d1 }
func third(_, _, d2 float64) float64   { return d2 }

// The most probable shape against a fine search, with its spread from the curve there.
func TestTheMostProbableShapeIsFound(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 2))
	for i := range 12 {
		var obs []Observation
		truth := Weibull{1.5 + 3*rng.Float64(), 30 + 60*rng.Float64()}
		for range 5 + 20*i {
			x := truth.Quantile(rng.Float64())
			o := Observation{Kind: Exact, Exit: x, Count: 1}
			if rng.IntN(3) == 0 {
				o.Kind = Right
			} else if rng.IntN(3) == 0 {
				o.Kind, o.Exit, o.Upper = Interval, 0.8*x, 1.2*x
			}
			obs = append(obs, o)
		}
		prior := Prior{Weibull: Weibull{2.5, 50}, Strength: 8}
		mode, sd := newLearner(prior, obs).mode()
		f := func(a float64) float64 { v, _ := newLearner(prior, obs).at(a); return v }
		best := golden(f, mode-2, mode+2, 1e-5)
		require.InDelta(t, best, mode, 0.1*sd)
		h := sd / 4
		require.InEpsilon(t, 1/math.Sqrt(-(f(best+h)-2*f(best)+f(best-h))/(h*h)), sd, 0.15)
	}
}

// Everything known of a person's pace goes into two factors on washes, rounded so that many
// people share them; nobody's is the usual one.
func TestTheFactorsOfAPace(t *testing.T) {
	require.Nil(t, Pace{}.Nodes())
	nodes := Pace{Log: 0.32, SD: 0.17}.Nodes()
	require.Len(t, nodes, 2)
	require.InDelta(t, math.Exp(0.3-0.15), nodes[0].At, 1e-12)
	require.InDelta(t, math.Exp(0.3+0.15), nodes[1].At, 1e-12)
	require.InDelta(t, 0.5, nodes[0].Weight, 0)
}

// Taken for certain, a life is the best fit of its endings: 4 at an exposure of 6 lives.
func TestWhatThePlugInBelieves(t *testing.T) {
	k := three(1)
	k.Mishap = Gamma{10 + 3, 10 + 6}
	for _, s := range k.Terms.sources() {
		s.Known = false
	}
	for range 4 {
		k.lives = append(k.lives, life{from: 60, to: 60, pace: 0.5, days: 120, count: 1, ended: true, known: true,
			cause: programme.CauseWorn})
	}
	k.lives = append(k.lives, life{from: 60, to: 60, pace: 0.5, days: 120, count: 2})
	got := k.PlugIn()
	require.InDelta(t, 60*math.Sqrt(6.0/4), got.Cloth.Typical().Scale, 1e-6)
	// Half an ending of each kind of print, where none was seen, at six and twelve lives.
	require.InDelta(t, 60*math.Cbrt(6/0.5), got.Prints[0].Typical().Scale, 1e-4)
	require.InDelta(t, 60*math.Pow(12/0.5, 1/1.5), got.Prints[1].Typical().Scale, 1e-3)
	require.True(t, got.Mishap.IsCertain())
	require.InDelta(t, 0.5, got.Mishap.Mean(), 1e-12)
}

// Of intervals the middle counts, and what never ended counts as there.
func TestKaplanMeierTakesTheMiddleOfIntervals(t *testing.T) {
	steps := KaplanMeier([]Observation{
		{Kind: Interval, Exit: 10, Upper: 20, Count: 1}, {Kind: Interval, Exit: 12, Upper: math.Inf(1), Count: 2},
		{Kind: Exact, Exit: 30, Count: 1}, {Kind: Right, Exit: 30, Count: 1},
	})
	require.Len(t, steps, 2)
	require.Equal(t, [3]float64{15, 3, 1}, [3]float64{steps[0].Washes, steps[0].AtRisk, steps[0].Endings})
	require.InDelta(t, 2.0/3, steps[0].Survival, 1e-12)
	require.Equal(t, [3]float64{30, 2, 1}, [3]float64{steps[1].Washes, steps[1].AtRisk, steps[1].Endings})
	require.InDelta(t, 1.0/3, steps[1].Survival, 1e-12)
}
