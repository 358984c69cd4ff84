package wear

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// washedDaily is a rotation of one kind in which every piece has a wash a day, to day 200:
// batches of so many pieces handed out on those days, with so many of them left.
func washedDaily(cloth Weibull, batches ...[3]float64) *rotation {
	r := &rotation{use: &Use{PerWeek: 7}, takes: []stocktake{{belief: &belief{risks: []risk{{cloth, 1}}}}}}
	for d := range 201 {
		r.days, r.washes, r.held = append(r.days, programme.Date(d)), append(r.washes, float64(d)), append(r.held, 1)
	}
	for _, b := range batches {
		r.batches = append(r.batches, batch{in: programme.Date(b[0]), number: int(b[1]), left: b[2]})
	}
	return r
}

func partsOf(c *closing) map[int]float64 {
	parts := map[int]float64{}
	for _, s := range c.shares {
		parts[s.batch] += s.part
	}
	return parts
}

// With a hazard that grows as the square of age, pieces of 100 days are a hundred times as
// likely as those of 10 to be the one that wore out; a batch gives no more than it has left.
func TestEndingsAreSharedByDangerAsFarAsPiecesAreLeft(t *testing.T) {
	cloth := Weibull{Shape: 3, Scale: 80}
	for name, c := range map[string]struct {
		batches [][3]float64
		parts   map[int]float64
	}{
		"by number and danger": {[][3]float64{{50, 2, 2}, {100, 4, 1}, {100, 3, 3}},
			map[int]float64{0: 8. / 12, 1: 1. / 12, 2: 3. / 12}},
		"as far as there is left": {[][3]float64{{50, 1, 0.1}, {140, 1, 1}, {140, 3, 3}},
			map[int]float64{0: 0.1, 1: 0.9 / 4, 2: 0.9 * 3 / 4}},
		"the rest of today's": {[][3]float64{{50, 1, 0.1}, {60, 1, 0.2}, {150, 2, 2}, {151, 1, 1}},
			map[int]float64{0: 0.1, 1: 0.2, 2: 0.7}},
		"the only one there is": {[][3]float64{{50, 2, 2}, {150, 1, 1}}, map[int]float64{0: 1}},
		"of today alone": {[][3]float64{{150, 1, 0.4}, {150, 2, 2}, {151, 1, 1}},
			map[int]float64{0: 0.4, 1: 0.6}},
	} {
		r := washedDaily(cloth, c.batches...)
		r.batches = append(r.batches, batch{kind: 1, in: 3, number: 5, left: 5}) // of another size
		end := &closing{out: 150, from: 150, to: 150, reason: programme.Worn}
		r.shareOne(end)
		got := partsOf(end)
		require.Len(t, got, len(c.parts), name)
		require.Len(t, end.shares, len(c.parts), "%s: each batch once", name)
		for i, part := range c.parts {
			require.InDelta(t, part, got[i], 1e-9, name)
			require.InDelta(t, c.batches[i][2]-part, r.batches[i].left, 1e-9, name)
			whole := 0
			if part == 1 {
				whole = 1
			}
			require.Equal(t, [2]int{whole, 1 - whole}, [2]int{r.batches[i].whole, r.batches[i].parts}, name)
			seen := 0.0
			if c.batches[i][1] == c.batches[i][2] {
				seen = 150 - c.batches[i][0]
			}
			require.InDelta(t, seen, r.batches[i].seen, 1e-9, "%s: nothing of it had ended before", name)
		}
	}
}

// Whatever is left of which batch, an ending is shared out whole and nobody gives more than is left.
func TestAnEndingIsSharedOutWhole(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 9))
	for range 400 {
		r := washedDaily(Weibull{Shape: 0.5 + 4*rng.Float64(), Scale: 60})
		all := 0.0
		for range 1 + rng.IntN(7) {
			n := 1 + rng.IntN(3)
			b := batch{in: programme.Date(rng.IntN(130)), number: n, left: float64(n)}
			if rng.IntN(2) == 0 {
				b.left, b.parts = rng.Float64()*float64(n), 1
			}
			r.batches = append(r.batches, b)
			all += b.left
		}
		c := &closing{out: 130, from: 130, to: 130, reason: []programme.Reason{programme.Worn, programme.Lost,
			programme.Unexplained}[rng.IntN(3)]}
		r.shareOne(c)
		sum, left := 0.0, 0.0
		for i, part := range partsOf(c) {
			require.Positive(t, part)
			require.Less(t, r.batches[i].in, c.out)
			sum += part
		}
		for i := range r.batches {
			require.GreaterOrEqual(t, r.batches[i].left, 0.0)
			left += r.batches[i].left
		}
		require.InDelta(t, min(1, all), sum, 4*settledPart)
		require.InDelta(t, all-sum, left, 7*settledPart)
	}
}

// Of two pieces one is there; which, says what each would have lived through: exp(-a) to
// exp(-b), exactly. Pieces that are there for certain change nothing of it.
func TestOfTwoPiecesTheOneWithLessBehindItIsThere(t *testing.T) {
	cloth := Weibull{Shape: 2, Scale: 100}
	r := washedDaily(cloth, [3]float64{20, 1, 0.5}, [3]float64{90, 3, 2.5}, [3]float64{40, 2, 2},
		[3]float64{150, 1, 0.5})
	r.batches[0].parts, r.batches[1].parts, r.batches[3].parts = 1, 1, 1
	r.batches[0].seen, r.batches[1].seen = 30, 5
	r.batches[0].called = 0.4
	r.weigh(0, 150)
	a := (130.0*130-30*30)/1e4 - 0.4
	b := (60.0*60 - 5*5) / 1e4
	first := math.Exp(-a) / (math.Exp(-a) + math.Exp(-b))
	require.InDelta(t, first, r.batches[0].left, 1e-6)
	require.InDelta(t, 2+1-first, r.batches[1].left, 1e-6)
	require.InDelta(t, 2, r.batches[2].left, 0, "nothing of it may have ended")
	require.InDelta(t, 0.5, r.batches[3].left, 0, "handed out that day")
	require.Equal(t, [2]float64{130, 60}, [2]float64{r.batches[0].seen, r.batches[1].seen})
	require.Zero(t, r.batches[0].called, "told once")
	// Endings that were of it for certain are not in doubt: of five one is gone, two may be.
	r = washedDaily(cloth, [3]float64{20, 5, 3}, [3]float64{90, 1, 0.5})
	r.batches[0].whole, r.batches[0].parts, r.batches[1].parts = 1, 2, 1
	r.weigh(0, 150)
	require.InDelta(t, 3.5, r.batches[0].left+r.batches[1].left, 1e-6)
	require.True(t, 2 < r.batches[0].left && r.batches[0].left < 3,
		"two are there for certain, and the older lasted less likely")
}

// One factor on all odds brings the pieces expected to those that are held.
func TestOddsAreRaisedTogether(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	for range 200 {
		r := &rotation{}
		pieces := 0
		for i := range 2 + rng.IntN(5) {
			n := 1 + rng.IntN(3)
			pieces += n
			r.batches = append(r.batches, batch{number: n + 2, whole: 1})
			r.unsure = append(r.unsure, doubtful{batch: i, pieces: n, odds: math.Exp(6*rng.Float64() - 3)})
		}
		total := float64(pieces) * (0.05 + 0.9*rng.Float64())
		r.raise(total)
		sum, factor := 0.0, 0.0
		for i, u := range r.unsure {
			p := (r.batches[i].left - 1) / float64(u.pieces) // one is there for certain
			sum += p * float64(u.pieces)
			if f := p / (1 - p) / u.odds; i == 0 {
				factor = f
			} else {
				require.InEpsilon(t, factor, f, 1e-6, "the same for all")
			}
		}
		require.InDelta(t, total, sum, 1e-5)
	}
}

// That a piece ended says that it was there, the more so the more of the danger was its own.
func TestAnEndingRaisesTheOddsOfWhatMayHaveEnded(t *testing.T) {
	r := washedDaily(Weibull{Shape: 1, Scale: 50}, [3]float64{10, 1, 0.5}, [3]float64{20, 1, 0.25},
		[3]float64{30, 2, 2})
	r.batches[0].parts, r.batches[1].parts = 1, 1
	r.claims = []float64{0.5, 0.25, 2}
	r.call(2.75)
	require.InDelta(t, 1/2.75, r.batches[0].called, 1e-12)
	require.InDelta(t, 1/2.75, r.batches[1].called, 1e-12)
	require.Zero(t, r.batches[2].called, "surely there")
	r.claims = []float64{0.5, 0, 0}
	r.call(0.01)
	require.InDelta(t, 1/2.75+settling, r.batches[0].called, 1e-12, "which settles the matter")
}

// Counts by hand: what was there in the morning and did not end, against what was counted;
// pieces of that day may have been handed out after it.
func TestWhatACountSaysIsMissing(t *testing.T) {
	for _, c := range []struct{ known, morning, out, counted, missing, surplus int }{
		{3, 3, 0, 3, 0, 0}, {3, 3, 0, 1, 2, 0}, {2, 3, 1, 2, 0, 0}, {2, 3, 1, 1, 1, 0}, {3, 3, 0, 5, 0, 2},
		{3, 2, 1, 1, 0, 0}, {3, 2, 1, 0, 1, 0}, {3, 2, 1, 2, 0, 0}, {3, 2, 1, 4, 0, 1}, {5, 4, 0, 4, 0, 0},
		{5, 4, 0, 3, 1, 0}, {0, 0, 0, 2, 0, 2},
	} {
		s := stocktake{known: c.known, morning: c.morning, out: c.out}
		missing, surplus := s.count(c.counted)
		require.Equal(t, [3]int{c.missing, c.surplus, c.known - c.missing}, [3]int{missing, surplus, s.known}, "%+v", c)
	}
	// A day begins with what is known; where nothing is, nothing was there to be seen before.
	s := stocktake{known: 2, counted: 5, day: 5}
	s.turn(9)
	require.Equal(t, [3]int{9, 2, 5}, [3]int{int(s.day), s.morning, int(s.counted)})
	s.end(9, 1)
	require.Equal(t, []stayed{{9, 1}}, s.stayed)
	s.turn(9)
	require.Equal(t, [3]int{2, 1, 1}, [3]int{s.morning, s.out, s.known}, "the same day")
	s.end(9, 5)
	s.turn(12)
	require.Equal(t, programme.Date(5), s.counted, "endings since tell of it")
	s.stayed = nil
	s.turn(14)
	require.Equal(t, programme.Date(14), s.counted)
	// The second unseen ending came after the day through which only one lasted.
	s = stocktake{counted: 5, stayed: []stayed{{10, 1}, {20, 2}}}
	require.Equal(t, [3]programme.Date{5, 10, 20}, [3]programme.Date{s.earliest(1), s.earliest(2), s.earliest(3)})
	// Two missing ones lie at a quarter and three quarters of forty days, both at the end's day rounded up.
	r := &rotation{}
	s = stocktake{kind: 4, counted: 60}
	r.miss(&s, &programme.Movement{Date: 101}, 2)
	require.Equal(t, [2]programme.Date{71, 91}, [2]programme.Date{r.steps[0].date, r.steps[1].date})
	for _, e := range r.steps {
		require.Equal(t, [3]programme.Date{60, 101, 4}, [3]programme.Date{e.from, e.to, programme.Date(e.kind)})
		require.True(t, e.unseen)
	}
}

// What did not come back with a leaver's things ended before, unless it was counted that day.
func TestWhatALeaverDidNotBringBack(t *testing.T) {
	for counted, want := range map[programme.Date]int{80: 2, 99: 2, 100: 0, 101: 0} {
		r := &rotation{takes: []stocktake{{known: 2, morning: 2, counted: counted, day: counted,
			sku: programme.SKU{Size: "M"}}, {known: 0, counted: 3}}}
		r.missedAtLeaving(&programme.Movement{StaffID: "a"}, 100)
		require.Len(t, r.steps, want, "counted on day %d", counted)
		require.Equal(t, want > 0, r.takes[0].returned)
		require.False(t, r.takes[1].returned)
		require.Equal(t, 2-want, r.takes[0].known)
		for _, e := range r.steps {
			require.Equal(t, [2]programme.Date{counted, 100}, [2]programme.Date{e.from, e.to})
			require.Equal(t, "M", e.SKU.Size)
		}
	}
	// What was handed out on the last day did not come back either.
	r := &rotation{takes: []stocktake{{known: 2, morning: 1, counted: 50, day: 100}}}
	r.missedAtLeaving(&programme.Movement{StaffID: "a"}, 100)
	require.Len(t, r.steps, 2)
}
