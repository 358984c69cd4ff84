package wear

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// The heaviest delivery of every beginning and length, by hand: sums of what was handed out
// in its steps, and the chance of each beginning averaged over its lengths.
func TestTheHeaviestDeliveryIsFoundAmongAll(t *testing.T) {
	const asOf, strength = programme.Date(28*700 + 9), 10.0
	rng := rand.New(rand.NewPCG(8, 1))
	found := 0
	for range 200 {
		var w watched
		for i := range w.issued {
			w.add(i, float64(rng.IntN(6)), 3*rng.Float64())
		}
		w.add(watchSteps, 2, 5) // too long ago to be a delivery of its own
		bad := rng.IntN(watchSteps)
		for i := bad; i < min(bad+2, watchSteps); i++ {
			w.add(i, 9, 1.5)
		}
		var want Suspicion
		ok := false
		for begin := range watchSteps {
			total := 0.0
			one := Suspicion{Weight: math.Inf(-1)}
			for _, steps := range []int{1, 2, 4} {
				s := Suspicion{From: 28 * programme.Date(700-begin), To: 28 * programme.Date(700-begin+steps),
					all: w.all}
				s.To = min(s.To, asOf+1)
				for k := range steps {
					if begin-k >= 0 {
						s.Ended += w.issued[begin-k].ended
						s.Expected += w.issued[begin-k].expected
					}
				}
				s.Weight = weightOf(wornTally{s.Ended, s.Expected}, w.all, strength, badFactors)
				total += math.Exp(s.Weight) / 3
				if s.Weight > one.Weight {
					one = s
				}
			}
			one.Weight = math.Log(total)
			if one.Ended >= 5 && one.Ended/one.Expected >= 1.5 && one.Weight > 3 && (!ok || one.Weight > want.Weight) {
				want, ok = one, true
			}
		}
		got, gotOK := w.heaviest(asOf, strength)
		require.Equal(t, ok, gotOK)
		require.InDelta(t, want.Weight, got.Weight, 1e-9)
		want.Weight, got.Weight = 0, 0
		require.Equal(t, want, got)
		if ok {
			found++
		}
	}
	require.Greater(t, found, 50)
}

// A change concerns all endings since its first day: of each step the weight by itself.
func TestAChangeBeginsWhereAllSinceWeighsMost(t *testing.T) {
	const asOf, strength = programme.Date(28*700 + 9), 10.0
	rng := rand.New(rand.NewPCG(8, 2))
	found := 0
	for range 200 {
		w := watch{asOf: asOf}
		w.whole.all = wornTally{60, 60}
		begun := rng.IntN(changeSteps)
		for i := range w.when {
			w.when[i] = wornTally{float64(rng.IntN(5)), 4 * rng.Float64()}
			if i <= begun {
				w.when[i].ended += 6
			}
		}
		var want Suspicion
		ok := false
		for i := range changeSteps {
			s := Suspicion{From: 28 * programme.Date(700-i), To: asOf + 1}
			for _, x := range w.when[:i+1] {
				s.Ended, s.Expected = s.Ended+x.ended, s.Expected+x.expected
			}
			s.Weight = weightOf(wornTally{s.Ended, s.Expected}, w.whole.all, strength, []float64{1.4, 2, 3})
			if s.Ended >= 5 && s.Ended/s.Expected >= 1.5 && s.Weight > 3 && (!ok || s.Weight > want.Weight) {
				want, ok = s, true
			}
		}
		got, gotOK := w.change(strength)
		require.Equal(t, ok, gotOK)
		require.Equal(t, want, got)
		if ok {
			found++
		}
	}
	require.Greater(t, found, 50)
}

// With a hazard that is the same at each wash and a wash a day, what is expected of a piece
// in a step is its days in it.
func TestWhatIsExpectedOfAPieceLiesInTheStepsOfItsDays(t *testing.T) {
	const asOf, scale = programme.Date(28*700 + 9), 50.0
	even := &belief{risks: []risk{{Weibull{1, scale}, 1}}}
	rng := rand.New(rand.NewPCG(8, 3))
	for range 300 {
		since := asOf.Add(-rng.IntN(300))
		p := programme.Piece{EntryWashes: 7}
		end := asOf
		if rng.IntN(2) == 0 {
			p.Ended = since.Add(rng.IntN(asOf.Sub(since) + 1))
			end = p.Ended
		}
		p.Washes = p.EntryWashes + float64(end-since)
		if rng.IntN(9) == 0 {
			p.Replaced = true
		}
		part, ends := 0.25, float64(rng.IntN(2))*0.25
		w := watch{asOf: asOf}
		w.spread(&p, even, since, part, ends)
		var want [changeSteps]wornTally
		if back := 700 - int(end)/28; back < changeSteps && !p.Replaced {
			want[back].ended = ends
			for day := since + 1; day <= end; day++ { // a day's washes lie behind its morning
				if i := 700 - int(day-1)/28; i < changeSteps {
					want[i].expected += part / scale
				}
			}
		}
		for i := range want {
			require.InDelta(t, want[i].ended, w.when[i].ended, 1e-12)
			require.InDelta(t, want[i].expected, w.when[i].expected, 1e-9)
		}
	}
}

// Thirteen steps a year and client; of garments, all that weigh enough are told, but of all
// garments together the weightiest alone where nothing of a single one was told before.
func TestWhichSuspicionsAreTold(t *testing.T) {
	at := func(n int) float64 { return math.Log(365.2425 / 28 * float64(n)) }
	require.InDelta(t, at(7), AlarmAt(7), 1e-12)
	require.InDelta(t, at(1), AlarmAt(0), 1e-12)
	s := func(garment string, weight float64) Suspicion { return Suspicion{Garment: garment, Weight: weight} }
	for name, c := range map[string]struct{ all, told []Suspicion }{
		"all garments, just so": {[]Suspicion{s("", at(3)), s("tee", 9)}, []Suspicion{s("", at(3))}},
		"all garments, hardly":  {[]Suspicion{s("", at(3)-1e-9), s("tee", at(5))}, []Suspicion{s("tee", at(5))}},
		"a garment, hardly":     {[]Suspicion{s("tee", at(5)-1e-9)}, nil},
		"two garments":          {[]Suspicion{s("tee", 9), s("cap", 8)}, []Suspicion{s("tee", 9), s("cap", 8)}},
		"a garment is weightier": {[]Suspicion{s("tee", 9), s("", 8), s("cap", 7)},
			[]Suspicion{s("tee", 9), s("cap", 7)}},
		"nothing is to be told at all": {nil, nil},
	} {
		require.Equal(t, c.told, Alarms(c.all, 3, 5), name)
	}
	for ended, want := range map[float64]bool{4.9: false, 5: true} {
		require.Equal(t, want, (&Suspicion{Ended: ended, Expected: 2}).worth())
	}
	require.True(t, (&Suspicion{Ended: 9, Expected: 6}).worth(), "half as many again")
	require.False(t, (&Suspicion{Ended: 8.9, Expected: 6}).worth())
}

// How far a bad delivery's washes count for more: of three factors on the hazard the mean
// of their roots, by the likelihood, with the chance that it is bad.
func TestABadDeliveryIsForecastByWhatItsEndingsSay(t *testing.T) {
	shop, client := catalogueOfOne()
	b, err := NewBook(shop, client, nil)
	require.NoError(t, err)
	learnt := b.Learn(History{}, 0)
	shape := learnt[b.order[0]].Cloth.Typical().Shape
	s := Suspicion{Delivery: true, Garment: "tee", From: 100, To: 128, Ended: 9, Expected: 2, Weight: 5,
		all: wornTally{30, 22}}
	strength := b.strength()
	likelihood := func(f float64) float64 {
		a, x := strength+30-9, strength+22-2
		return math.Pow(f, 9) * math.Pow((x+2)/(x+2*f), a+9)
	}
	mean, sum := 0.0, 0.0
	for _, f := range []float64{1.7, 3, 5} {
		mean, sum = mean+likelihood(f)*math.Pow(f, 1/shape), sum+likelihood(f)
	}
	var h History
	b.findBadDelivery(&h, []Suspicion{s}, learnt)
	want := badDelivery{"tee", 100, 128, 1 + (mean/sum-1)/(1+math.Exp(4.5-5))}
	require.InDelta(t, want.factor, h.bad.factor, 1e-9)
	require.Equal(t, [3]any{want.garment, want.from, want.to}, [3]any{h.bad.garment, h.bad.from, h.bad.to})

	for name, change := range map[string]func(*Suspicion){
		"it weighs too little": func(s *Suspicion) { s.Weight = 3.5 - 1e-9 },
		"all pieces do":        func(s *Suspicion) { s.Delivery = false },
	} {
		other := s
		change(&other)
		b.findBadDelivery(&h, []Suspicion{other, s}, learnt)
		require.Nil(t, h.bad, name)
	}
	s.Weight = 3.5
	b.findBadDelivery(&h, []Suspicion{s}, learnt)
	require.NotNil(t, h.bad)
	h.bad.factor = 3
	for name, c := range map[string]struct {
		piece programme.Piece
		want  float64
	}{
		"on its first day":        {programme.Piece{Issued: 100, SKU: programme.SKU{Garment: "tee"}}, 3},
		"on its last":             {programme.Piece{Issued: 127, SKU: programme.SKU{Garment: "tee"}}, 3},
		"the day after":           {programme.Piece{Issued: 128, SKU: programme.SKU{Garment: "tee"}}, 1},
		"the day before":          {programme.Piece{Issued: 99, SKU: programme.SKU{Garment: "tee"}}, 1},
		"of something else":       {programme.Piece{Issued: 110, SKU: programme.SKU{Garment: "cap"}}, 1},
		"whatever its other days": {programme.Piece{Issued: 110, Ended: 120, SKU: programme.SKU{Garment: "tee"}}, 3},
	} {
		require.InDelta(t, c.want, h.Acceleration(&c.piece), 0, name)
	}
	aged := h.aged(&programme.Piece{Issued: 110, SKU: programme.SKU{Garment: "tee"}, EntryWashes: 1, FromWashes: 2,
		ToWashes: 3, Washes: 4, LateWashes: 5, UnseenDays: 6})
	require.Equal(t, programme.Piece{Issued: 110, SKU: programme.SKU{Garment: "tee"}, EntryWashes: 3, FromWashes: 6,
		ToWashes: 9, Washes: 12, LateWashes: 15, UnseenDays: 6}, *aged)
}

// catalogueOfOne is a programme of one tee a head, washed every day, and printed once.
func catalogueOfOne() (*programme.Shop, *programme.Client) {
	shop := &programme.Shop{
		Baselines: programme.DefaultBaselines(),
		Garments:  []programme.Garment{{Code: "tee", FabricClass: "cotton-tee-carded", WearsPerWash: 1}},
		Kinds: []programme.TransferKind{{Code: "screen", Decoration: "plastisol"},
			{Code: "film", Decoration: "dtf"}},
		Artworks: []programme.Artwork{{Code: "mark", Kind: "screen"}, {Code: "name", Kind: "film"}},
	}
	kit := programme.KitLine{Garment: "tee", Each: 1, WearsAWeek: 7,
		Decorations: []programme.Decoration{{Artwork: "mark"}}}
	return shop, &programme.Client{
		Code: "one", Laundering: programme.Laundering{Regime: "home-low"}, Work: programme.Work{Duty: programme.Medium},
		Roles: []programme.Role{{Code: "floor", Kit: []programme.KitLine{kit}}},
	}
}
