package demand

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// certainLife is cloth of one known Weibull distribution, two prints of another, and mishaps at a known rate a year.
func certainLife(cloth, print wear.Weibull, mishap float64) *wear.Learnt {
	of := func(w wear.Weibull) wear.Posterior {
		return wear.Posterior{Unit: w.Scale, Nodes: []wear.ShapeNode{{Shape: w.Shape, Weight: 1,
			Rate: wear.Certain(1)}}}
	}
	return &wear.Learnt{Terms: &wear.Terms{Prints: []wear.PrintTerms{{Number: 2}}}, Cloth: of(cloth),
		Prints: []wear.Posterior{of(print)}, Mishap: wear.Certain(mishap)}
}

// The weeks by which a share of pieces has ended, by Weibull's formula: within a five-hundredth of the
// hazard, or half a day; the label's limit ends all.
func TestWhenAShareOfPiecesHasEnded(t *testing.T) {
	seldom := wear.Weibull{Shape: 1, Scale: 1e12}
	for _, shape := range []float64{0.8, 1, 2.2, 4} {
		for _, scale := range []float64{3, 40, 300} {
			p := newExact(certainLife(wear.Weibull{Shape: shape, Scale: scale}, seldom, 1e-12))
			for _, age := range []float64{0, 5, 38} {
				for _, pace := range []float64{0.2, 2} {
					a := aged{p, Rotation{Pace: pace}, age}
					from := 0.0
					for _, q := range []float64{0.01, 0.1, 0.5, 0.9, 0.999} {
						at := func(hazard float64) float64 {
							return (scale*math.Pow(math.Pow(age/scale, shape)+hazard, 1/shape) - age) / pace
						}
						hazard := -math.Log1p(-q)
						name := []any{"shape %g, scale %g, age %g, pace %g, %g", shape, scale, age, pace, q}
						for _, start := range []float64{0, from} { // known that it is not before that
							got := a.endedBy(q, start)
							if at(hazard) > 530 {
								require.True(t, math.IsInf(got, 1), name...)
								continue
							} else if at(hazard) > 515 {
								continue // hardly within ten years, or hardly not
							}
							require.GreaterOrEqual(t, got, at(0.998*hazard)-0.0701, name...)
							require.LessOrEqual(t, got, at(1.002*hazard)+0.0701, name...)
						}
						from = min(at(hazard), 500)
					}
				}
			}
		}
	}
	p := newExact(certainLife(wear.Weibull{Shape: 2, Scale: 40}, seldom, 1e-12))
	limited := aged{p, Rotation{Pace: 2, Limit: 30}, 10}
	require.InDelta(t, 10, limited.endedBy(0.9, 0), 1e-9)
	require.InDelta(t, (math.Sqrt(100+1600*math.Log(1/0.9))-10)/2, limited.endedBy(0.1, 0), 0.08)
	for weeks, want := range map[float64]float64{9.999: -math.Expm1(-(29.998*29.998 - 100) / 1600), 10: 1, 11: 1} {
		require.InDelta(t, want, p.ended(10, limited.Rotation, weeks), 1e-9, "%g weeks", weeks)
		age := 10 + 2*weeks
		require.InDelta(t, -math.Expm1(-(age*age-100)/1600), p.ended(10, Rotation{Pace: 2}, weeks), 1e-9,
			"%g weeks", weeks)
	}
	hard := aged{p, Rotation{Pace: 1e-6, Limit: 30}, 10}
	require.True(t, math.IsInf(hard.endedBy(0.5, 0), 1), "the limit is beyond ten years, too")
}

// What is expected to end a piece, week by week and cause by cause: each cause has the part of a
// week's endings that it has of the week's hazard, and the limit is wear.
func TestEndingsByWeekAndCause(t *testing.T) {
	cloth, print := wear.Weibull{Shape: 2, Scale: 30}, wear.Weibull{Shape: 3, Scale: 40}
	const mishap, age, pace = 1.3, 6.0, 2.0
	p := newPredictor(certainLife(cloth, print, mishap), 9, &room{})
	hazard := func(weeks float64) (h [3]float64) {
		x := age + pace*weeks
		return [3]float64{(x*x - age*age) / 900, 2 * (x*x*x - age*age*age) / 64000, mishap * weeks * 7 / 365.2425}
	}
	sum := func(h [3]float64) float64 { return h[0] + h[1] + h[2] }
	// There in weeks 1, 2 and 3, away in 4 and 5, and there again; the limit is reached after seven weeks of wear.
	at := &presence{away: []absent{{3, 5}}}
	there := []float64{1, 2, 3, 3, 3, 4, 5, 6, 7}
	for _, limit := range []float64{0, 16, age + 7*pace} {
		got := p.prospectOf(age, Rotation{Pace: pace, Limit: limit}, unseen{}, at)
		from, alive := 0.0, 1.0
		for w, to := range there {
			end := to
			if limit > 0 {
				end = min(end, (limit-age)/pace)
			}
			was, is := hazard(from), hazard(end)
			left := math.Exp(-sum(is))
			worn := 0.0
			if limit > 0 && age+pace*to >= limit {
				worn, left = left, 0
				if alive == 0 {
					worn = 0
				}
			}
			for c, cause := range []programme.Cause{programme.CauseWorn, programme.CausePrint, programme.CauseMishap} {
				want := 0.0
				if end > from {
					want = (alive - max(left, worn)) * (is[c] - was[c]) / (sum(is) - sum(was))
				}
				if c == 0 {
					want += worn
				}
				require.InDelta(t, want, got.weekly[w][cause], 1e-9, "limit %g, week %d, cause %d", limit, w, c)
			}
			from, alive = end, left
		}
	}
	require.Equal(t, programme.CauseMishap, p.prospectOf(0, Rotation{Pace: 0.01}, unseen{}, nil).likeliest())
	require.Equal(t, programme.CauseWorn, p.prospectOf(age, Rotation{Pace: pace}, unseen{}, nil).likeliest())
	require.Equal(t, programme.CausePrint, p.prospectOf(60, Rotation{Pace: pace}, unseen{}, nil).likeliest())
}

// A piece that may have gone already is asked for in the first week in which its holder is there, by as much
// as its hazards since it was seen say; what is left has its own chances, and its dates come earlier.
func TestWhatMayHaveGoneIsAskedForFirst(t *testing.T) {
	seldom := wear.Weibull{Shape: 1, Scale: 1e12}
	learnt := certainLife(wear.Weibull{Shape: 2, Scale: 30}, seldom, 0.8)
	p := newPredictor(learnt, 8, &room{})
	const age, pace = 24.0, 1.5
	rot := Rotation{Pace: pace}
	for name, u := range map[string]unseen{
		"not counted": {washes: 9, weeks: 10, hidden: 0.3},
		"late":        {lateWashes: 20, lateWeeks: 3, weeks: 3, washes: 20, late: 0.6},
		"both":        {washes: 9, weeks: 10, hidden: 0.3, lateWashes: 20, lateWeeks: 3, late: 0.6},
		"nobody asks": {washes: 9, weeks: 10, hidden: 0.3, forgotten: true},
	} {
		cloth := func(from, to float64) float64 { return (to*to - from*from) / 900 }
		week := 0.8 * 7 / 365.2425
		before, since := cloth(u.washes, age)+week*u.weeks, 0.0
		beforeWorn, sinceWorn := cloth(u.washes, age), 0.0
		if u.late > 0 {
			beforeWorn, sinceWorn = cloth(u.washes, u.lateWashes), cloth(u.lateWashes, age)
			before, since = beforeWorn+week*(u.weeks-u.lateWeeks), sinceWorn+week*u.lateWeeks
		}
		never, toCome := wear.Unwritten(before, since, u.hidden, u.late)
		gone, asked := never+toCome, never+toCome
		if u.forgotten {
			asked = toCome
		}
		worn := (beforeWorn + sinceWorn) / (before + since)
		by, share := p.gone(age, u)
		require.InDelta(t, gone, by.sum(), 1e-9, name)
		require.InDelta(t, worn*gone, by[programme.CauseWorn], 1e-9, name)
		require.InDelta(t, (1-worn)*gone, by[programme.CauseMishap], 1e-9, name)
		require.InDelta(t, asked, share*gone, 1e-9, name)

		back := &presence{away: []absent{{0, 2}}} // comes back after two weeks
		known, got := p.prospectOf(age, rot, unseen{}, back), p.prospectOf(age, rot, u, back)
		for w := range known.weekly {
			want := (1 - gone) * known.weekly[w][programme.CauseWorn]
			if w == 2 {
				want += asked * worn
			}
			require.InDelta(t, want, got.weekly[w][programme.CauseWorn], 1e-9, "%s, week %d", name, w)
		}
		ended := p.prospectOf(age, rot, u, nil).dates()
		for i, q := range []float64{0.1, 0.5, 0.9} {
			t50 := 0.0
			if q > gone { // the hazard is x²/900 + 0.8 a year from there
				target := -math.Log1p(-(q - gone) / (1 - gone))
				lo, hi := 0.0, 200.0
				for range 60 {
					if mid := (lo + hi) / 2; cloth(age, age+pace*mid)+week*mid < target {
						lo = mid
					} else {
						hi = mid
					}
				}
				t50 = lo
			}
			require.InDelta(t, t50, ended[i], 0.08+2e-3*t50, "%s: %g", name, q)
		}
	}
	require.Equal(t, programme.Date(0), dateIn(1000, math.Inf(1)))
	require.Equal(t, programme.Date(1011), dateIn(1000, 1.6))
	old := p.prospectOf(age, rot, unseen{}, &presence{away: []absent{{0, 600}}})
	require.True(t, math.IsInf(old.dates()[0], 1), "nothing ends within ten years while nobody wears it")
}

// The same under each lifetime: the hazards until late entries begin and since, by Weibull's formula. A
// piece that has gone is an ending at once, where somebody asks for another, and then a new piece follows; where
// only mishaps end pieces, Poisson's formula tells how many.
func TestWhatMayHaveGoneUnderEachLifetime(t *testing.T) {
	lifetimes := []Lifetime{
		{Weight: 0.4, Mishap: 0.02, Wash: []wear.Weibull{{Shape: 2, Scale: 30}}, Number: []float64{1}},
		{Weight: 0.6, Mishap: 0.01, Wash: []wear.Weibull{{Shape: 3, Scale: 50}}, Number: []float64{1}},
	}
	const age, pace = 24.0, 1.5
	r := newRenewals(lifetimes, Rotation{Pace: pace}, 8, coarse, &room{})
	for name, u := range map[string]unseen{
		"not counted": {washes: 9, weeks: 10, hidden: 0.3},
		"late":        {lateWashes: 20, lateWeeks: 3, weeks: 3, washes: 20, late: 0.6},
		"both":        {washes: 9, weeks: 10, hidden: 0.3, lateWashes: 20, lateWeeks: 3, late: 0.6},
	} {
		never, toCome := r.unwritten(age, u)
		for q, l := range lifetimes {
			cloth := func(from, to float64) float64 {
				w := l.Wash[0]
				return math.Pow(to/w.Scale, w.Shape) - math.Pow(from/w.Scale, w.Shape)
			}
			before, since := cloth(u.washes, age)+l.Mishap*u.weeks, 0.0
			if u.late > 0 {
				before, since = cloth(u.washes, u.lateWashes)+l.Mishap*(u.weeks-u.lateWeeks),
					cloth(u.lateWashes, age)+l.Mishap*u.lateWeeks
			}
			wantNever, wantToCome := wear.Unwritten(before, since, u.hidden, u.late)
			require.InDelta(t, wantNever, never[q], 1e-12, name)
			require.InDelta(t, wantToCome, toCome[q], 1e-12, name)
		}
	}

	lost := newRenewals([]Lifetime{{Weight: 1, Mishap: 0.1}}, Rotation{Pace: pace}, 8, coarse, &room{})
	atLeast := func(n int, mean float64) float64 {
		sum := 1.0
		for k, p := range CompoundPoisson(mean, []float64{1}, 20) {
			if k < n {
				sum -= p
			}
		}
		return sum
	}
	for _, forgotten := range []bool{false, true} {
		u := unseen{weeks: 10, hidden: 0.3, lateWeeks: 3, late: 0.6, forgotten: forgotten}
		never, toCome := wear.Unwritten(0.7, 0.3, 0.3, 0.6)
		asked := toCome
		if !forgotten {
			asked += never
		}
		got := lost.piece(age, u).tails(6)
		for n := 1; n < 4; n++ {
			require.InDelta(t, (1-never-toCome)*atLeast(n, 0.6)+asked*atLeast(n-1, 0.6), got[n], 2e-4, "%d endings", n)
		}
		require.InDelta(t, asked, lost.piece(age, u).tails(0)[1], 1e-12, "at once")
	}
}

// What is known of a class as a whole sets the first endings that a few lifetimes expect of a
// piece, each by the same factor, and a factor common to all the further ones; none is more than those before it.
func TestFirstEndingsAgreeWithAllThatIsKnown(t *testing.T) {
	lifetimes := []Lifetime{{Weight: 0.25, Mishap: 0.05}, {Weight: 0.75, Mishap: 0.02}}
	plain := newRenewals(lifetimes, Rotation{Pace: 1}, 10, coarse, &room{})
	was := plain.Tails(5, 10)
	r := newRenewals(lifetimes, Rotation{Pace: 1}, 10, coarse, &room{})
	r.again = 1.25
	r.exact = func(age, weeks float64) float64 { return 0.013*age + 0.02*weeks }
	got := r.Tails(5, 10)
	d := r.Depth() + 1
	factor := (0.013*5 + 0.02*10) / (0.25*was[1] + 0.75*was[d+1])
	for q := range lifetimes {
		require.InDelta(t, 1, got[q*d], 0)
		require.InDelta(t, factor*was[q*d+1], got[q*d+1], 1e-12)
		require.InDelta(t, 1.25*was[q*d+2], got[q*d+2], 1e-12)
		require.InDelta(t, 1.25*was[q*d+3], got[q*d+3], 1e-12)
	}
	for _, certain := range []float64{1, 0.003} {
		r := newRenewals(lifetimes, Rotation{Pace: 1}, 10, coarse, &room{})
		r.again, r.exact = 1, func(float64, float64) float64 { return certain }
		got := r.Tails(5, 10)
		for n := 1; n < d; n++ {
			require.LessOrEqual(t, got[n], got[n-1])
		}
		require.LessOrEqual(t, got[1], 1.0)
	}
}
