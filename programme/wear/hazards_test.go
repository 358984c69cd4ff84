package wear

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/integrate/quad"

	"github.com/kitmuster/kitmuster/programme"
)

// Of a piece without an ending on the books: the chances of all that may have become of it, one by one.
func TestWhatMayHaveBecomeOfAPieceAddsUp(t *testing.T) {
	for _, c := range []struct{ before, since, hidden, late float64 }{{0.3, 0.1, 0.2, 0.4}, {1.5, 0.7, 0.05, 0.9},
		{0, 0.2, 0.3, 0.1}, {0.4, 0.3, 0, 0.5}, {0.2, 0.2, 0.1, 0}} {
		early, lately, alive := 1-math.Exp(-c.before), math.Exp(-c.before)*(1-math.Exp(-c.since)),
			math.Exp(-c.before-c.since)
		silentEnding := (early + lately) * c.hidden
		toBeEntered := lately * (1 - c.hidden) * c.late
		all := silentEnding + toBeEntered + alive
		never, toCome := Unwritten(c.before, c.since, c.hidden, c.late)
		require.InDelta(t, silentEnding/all, never, 1e-12)
		require.InDelta(t, toBeEntered/all, toCome, 1e-12)

		// The weights of the silence are the slopes of the logarithm of its chance, here by
		// differences.
		chance := func(before, since float64) float64 {
			a, b := math.Exp(-before), math.Exp(-before-since)
			return math.Log((1-a)*c.hidden + (a-b)*(c.hidden+(1-c.hidden)*c.late) + b)
		}
		const step = 1e-5
		then, now := silence(c.before, c.since, c.hidden, c.late)
		require.InDelta(t, -(chance(c.before+step, c.since)-chance(c.before-step, c.since))/(2*step), then, 1e-8)
		require.InDelta(t, -(chance(c.before, c.since+step)-chance(c.before, c.since-step))/(2*step), now, 1e-8)
	}
	require.Zero(t, Gone(0, 0.5))
	require.Zero(t, Gone(0.5, 0))
	then, now := silence(0, 0, 0.3, 0)
	require.Equal(t, [2]float64{0.7, 0.7}, [2]float64{then, now})
}

// three is a class of cloth and prints of two kinds, one of them twice, with its hazards by hand.
func three(mishapPerYear float64) *Learnt {
	source := func(shape, scale float64) Source {
		life := Weibull{shape, scale}
		return Source{Prior: Prior{Weibull: life, Strength: 10, Known: true}, Baseline: life}
	}
	k := &Learnt{
		Terms: &Terms{
			Cloth: source(2, 60), Prints: []PrintTerms{{source(3, 80), 1}, {source(1.5, 100), 2}},
			Mishap: Gamma{10, 10 / mishapPerYear},
		},
		Mishap: Gamma{20, 20 / mishapPerYear},
	}
	k.Cloth = newLearner(k.Terms.Cloth.Prior, nil).posterior()
	for _, p := range k.Terms.Prints {
		k.Prints = append(k.Prints, newLearner(p.Prior, nil).posterior())
	}
	return k
}

// cumulative are the hazards of cloth and of each kind of print of three, to an age.
func cumulative(x float64) [3]float64 {
	return [3]float64{x / 60 * x / 60, x / 80 * x / 80 * x / 80, 2 * math.Pow(x/100, 1.5)}
}

func TestTheHazardsBesideACause(t *testing.T) {
	k := three(0.8)
	risks := k.risks()
	const pace = 0.5
	perWash := 0.8 / 365.2425 / pace
	for c := -1; c < 3; c++ {
		within, rate := 30*perWash, perWash
		for j := range 3 {
			if j != c {
				within += cumulative(70)[j] - cumulative(40)[j]
				rate += (cumulative(70 + 1e-4)[j] - cumulative(70 - 1e-4)[j]) / 2e-4
			}
		}
		require.InDelta(t, within, k.others(&life{from: 40, to: 70, pace: pace}, c, risks), 1e-9)
		require.InDelta(t, rate, k.others(&life{from: 70, to: 70, pace: pace}, c, risks), 1e-7)
		require.InDelta(t, rate-perWash, k.others(&life{from: 70, to: 70}, c, risks), 1e-7,
			"never washed, no days a wash")
	}
	// One of several prints ended it: those of the other kind may have.
	rate := func(j int) float64 { return (cumulative(70 + 1e-4)[j] - cumulative(70 - 1e-4)[j]) / 2e-4 }
	require.InDelta(t, rate(2), k.otherPrints(&life{to: 70}, 1, risks), 1e-7)
	require.InDelta(t, rate(1), k.otherPrints(&life{to: 70}, 2, risks), 1e-7)
}

// What each kind of record says of cloth (0) and of the prints (1 and 2).
func TestWhatARecordSaysOfEachCause(t *testing.T) {
	k := three(0.8)
	risks := k.risks()
	known := func(c programme.Cause) life {
		return life{entry: 5, from: 50, to: 50, days: 90, pace: 0.5, count: 3, ended: true, known: true, cause: c}
	}
	right := func(lives float64) Observation {
		return Observation{Kind: Right, Entry: 5, Exit: 50, Count: 3, Lives: lives}
	}
	exact := func(lives, other float64) Observation {
		return Observation{Kind: Exact, Entry: 5, Exit: 50, Count: 3, Lives: lives, Other: other}
	}
	unknown := life{entry: 5, from: 50, to: 50, days: 90, pace: 0.5, count: 3, ended: true}
	gap := unknown
	gap.to = 60
	unworn := life{count: 1, ended: true}
	for name, c := range map[string]struct {
		life life
		want [3]Observation
	}{
		"worn": {known(programme.CauseWorn), [3]Observation{exact(1, 0), right(1), right(2)}},
		"print": {known(programme.CausePrint),
			[3]Observation{right(1), exact(1, k.otherPrints(&unknown, 1, risks)),
				exact(2, k.otherPrints(&unknown, 2, risks))}},
		"lost": {known(programme.CauseMishap), [3]Observation{right(1), right(1), right(2)}},
		"nobody says": {unknown, [3]Observation{exact(1, k.others(&unknown, 0, risks)),
			exact(1, k.others(&unknown, 1, risks)), exact(2, k.others(&unknown, 2, risks))}},
		"in service": {life{entry: 5, from: 50, to: 50, count: 3}, [3]Observation{right(1), right(1), right(2)}},
		"still good": {life{entry: 5, from: 50, to: 50, count: 3, ended: true, good: true},
			[3]Observation{right(1), right(1), right(2)}},
		"never washed":   {unworn, [3]Observation{{Count: 1, Lives: 1}, {Count: 1, Lives: 1}, {Count: 1, Lives: 2}}},
		"between counts": {gap, [3]Observation{}},
	} {
		k.lives = []life{c.life}
		for i, want := range c.want {
			if name == "between counts" {
				want = Observation{Kind: Interval, Entry: 5, Exit: 50, Upper: 60, Count: 3, Lives: risks[i].number,
					Other: k.others(&gap, i, risks)}
			}
			require.Equal(t, []Observation{want}, k.observations(nil, i, risks), "%s, %d", name, i)
		}
	}

	// Not seen for a while: as seen at its last sign of life, when late entries begin, and today.
	quiet := life{entry: 5, from: 50, to: 80, count: 3, pace: 0.5, days: 150, unseenDays: 60, hidden: 0.2, lateFrom: 70,
		lateDays: 20, late: 0.4}
	k.lives = []life{quiet}
	mishap := 0.8 / 365.2425
	sum := func(x float64) float64 { h := cumulative(x); return h[0] + h[1] + h[2] }
	then, now := silence(sum(70)-sum(50)+mishap*40, sum(80)-sum(70)+mishap*20, 0.2, 0.4)
	got := k.observations(nil, 0, risks)
	require.Len(t, got, 3)
	for i, want := range []Observation{{Entry: 5, Exit: 50, Count: 3 * (1 - then), Lives: 1},
		{Entry: 5, Exit: 70, Count: 3 * (then - now), Lives: 1}, {Entry: 5, Exit: 80, Count: 3 * now, Lives: 1}} {
		require.InDelta(t, want.Count, got[i].Count, 1e-9)
		want.Count, got[i].Count = 0, 0
		require.Equal(t, want, got[i])
	}
	days := 3*150 - 3*((1-then)*40+(1-now)*20)
	rate := k.mishaps(risks)
	require.InDelta(t, 10, rate.Count, 1e-12)
	require.InDelta(t, 10/0.8+days/365.2425, rate.Exposure, 1e-9)
	quiet.late, quiet.lateDays, quiet.lateFrom = 0, 0, 0
	k.lives = []life{quiet}
	then, _ = silence(sum(80)-sum(50)+mishap*60, 0, 0.2, 0)
	got = k.observations(nil, 0, risks)
	require.Len(t, got, 2)
	require.InDelta(t, 3*(1-then), got[0].Count, 1e-9)
	require.InDelta(t, 3*then, got[1].Count, 1e-9)
	require.InDelta(t, 10/0.8+3*(150-(1-then)*60)/365.2425, k.mishaps(risks).Exposure, 1e-9)
}

// An ending somewhere in a gap: the chance that a mishap was it and the days until then, by
// fine integrals of the density over the gap.
func TestAnUnseenEndingIsSharedWithMishaps(t *testing.T) {
	k := three(2)
	risks := k.risks()
	for _, l := range []life{
		{from: 20, to: 90, pace: 0.5, count: 2, days: 40, ended: true},
		{from: 0, to: 30, pace: 0.2, count: 1, days: 0, ended: true},
	} {
		rate, gap := 2/365.2425, (l.to-l.from)/l.pace
		hazard := func(day float64) float64 {
			a, b := cumulative(l.from+day*l.pace), cumulative(l.from)
			return rate*day + a[0] - b[0] + a[1] - b[1] + a[2] - b[2]
		}
		survival := func(day float64) float64 { return math.Exp(-hazard(day)) }
		integral := quad.Fixed(survival, 0, gap, 200, nil, 0)
		ended := 1 - survival(gap)
		share, days := k.inside(&l, risks)
		require.InDelta(t, rate*integral/ended, share, 1e-3)
		require.InDelta(t, (integral-gap*survival(gap))/ended, days, 0.1)
		k.lives = []life{l}
		got := k.mishaps(risks)
		require.InDelta(t, 10+l.count*share, got.Count, 1e-9)
		require.InDelta(t, 10.0/2+l.count*(l.days+days)/365.2425, got.Exposure, 1e-9)
	}
	// Of known age, of a known cause, never washed.
	perWash := 2 / 365.2425 / 0.5
	at := life{from: 70, to: 70, pace: 0.5, count: 2, days: 140, ended: true}
	for name, c := range map[string]struct {
		life   life
		events float64
	}{
		"of known age": {at, 2 * perWash / k.others(&at, -1, risks)},
		"lost": {life{from: 70, to: 70, days: 140, count: 2, ended: true, known: true,
			cause: programme.CauseMishap}, 2},
		"worn": {life{from: 70, to: 70, days: 140, count: 2, ended: true, known: true,
			cause: programme.CauseWorn}, 0},
		"never washed":  {life{days: 140, count: 2, ended: true}, 2},
		"in service":    {life{from: 70, to: 70, days: 140, count: 2}, 0},
		"as good as it": {life{from: 70, to: 70, days: 140, count: 2, ended: true, good: true}, 0},
	} {
		k.lives = []life{c.life}
		got := k.mishaps(risks)
		require.InDelta(t, 10+c.events, got.Count, 1e-9, name)
		require.InDelta(t, 5+280/365.2425, got.Exposure, 1e-9, name)
	}
}

// The cause that ends a new piece first, against an integral over its life; lives and
// mishaps are known, so that there is one distribution.
func TestWhichCauseEndsANewPieceFirst(t *testing.T) {
	k := three(1)
	k.Mishap = Certain(1)
	const pace = 3.5 // a week: half a wash a day
	perWash := 1 / 365.2425 * 2
	survival := func(x float64) float64 { h := cumulative(x); return math.Exp(-h[0] - h[1] - h[2] - perWash*x) }
	density := func(rate func(x float64) float64) float64 {
		return quad.Fixed(func(x float64) float64 { return rate(x) * survival(x) }, 0, 400, 800, nil, 0)
	}
	first := k.first(pace)
	require.InDelta(t, density(func(x float64) float64 { return 2 * x / 3600 }), first.Worn, 1e-4)
	require.InDelta(t, density(func(x float64) float64 { return 3*x*x/512000 + 2*1.5*math.Sqrt(x)/1000 }),
		first.Print, 1e-4)
	require.InDelta(t, density(func(float64) float64 { return perWash }), first.Mishap, 1e-4)
	median := k.MedianLife(pace)
	require.InDelta(t, 0.5, survival(median), 1e-6)
	require.InDelta(t, median, k.whole(pace).median().Median, 1e-6)
	require.InDelta(t, median/3.5/(365.2425/12/7), k.span(k.whole(pace), k.before().whole(pace), pace).Months.Median,
		1e-6)
}

// Alone, a kind of print is seen print by print: of two, one ended and one lasted.
func TestOneCauseByItselfAndAllTogether(t *testing.T) {
	k := three(1)
	k.lives = []life{
		{entry: 5, from: 50, to: 50, pace: 0.5, count: 3, ended: true, known: true, cause: programme.CauseWorn},
		{entry: 0, from: 40, to: 40, pace: 0.5, count: 2},
		{entry: 0, from: 30, to: 30, pace: 0.5, count: 1, ended: true, good: true},
		{entry: 0, from: 0, to: 0, count: 1, ended: true},
		{entry: 0, from: 60, to: 60, pace: 0.5, count: 1, ended: true},
		{entry: 0, from: 20, to: 60, pace: 0.5, count: 4, ended: true},
	}
	require.Equal(t, []Observation{
		{Kind: Exact, Entry: 5, Exit: 50, Count: 3, Lives: 1}, {Exit: 40, Count: 2}, {Exit: 30, Count: 1}, {Count: 1},
		{Exit: 60, Count: 1}, {Exit: 20, Count: 4},
	}, k.alone(0))
	together := k.anyCause()
	require.Equal(t, []Observation{
		{Kind: Exact, Entry: 5, Exit: 50, Count: 3}, {Exit: 40, Count: 2}, {Exit: 30, Count: 1}, {Count: 1},
		{Kind: Exact, Exit: 60, Count: 1},
	}, together[:5])
	sum := 0.0
	for _, o := range together[5:] {
		sum += o.Count
	}
	require.InDelta(t, 4, sum, 1e-9)
	k.Terms.Prints, k.Prints = k.Terms.Prints[1:], k.Prints[1:]
	k.lives = []life{{from: 50, to: 50, count: 3, ended: true, known: true, cause: programme.CausePrint}}
	require.Equal(t, []Observation{{Kind: Exact, Exit: 50, Count: 3, Lives: 1}, {Exit: 50, Count: 3}}, k.alone(1))
}

// A quantile of weighed points lies on the line between the middles of their steps.
func TestQuantilesLieBetweenTheMiddlesOfSteps(t *testing.T) {
	points := func() []weighted { return []weighted{{30, 0.5}, {10, 0.2}, {20, 0.3}} } // middles 0.75, 0.1, 0.35
	for q, want := range map[float64]float64{0: 10, 0.1: 10, 0.225: 15, 0.35: 20, 0.55: 25, 0.75: 30, 0.9: 30} {
		require.InDelta(t, want, quantileOf(points(), q), 1e-9, "%g", q)
	}
	require.InDelta(t, 7, quantileOf([]weighted{{7, 1}}, 0.1), 0)
}

// How the months are told apart: the most probable wave against a search of all, and what is
// expected of a piece in each month by its days.
func TestTheWaveOfAYearIsTheMostProbable(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	for range 20 {
		var m monthly
		for i := range m {
			m[i] = wornTally{float64(rng.IntN(20) + 4*(i%6)), 8 + 8*rng.Float64()}
		}
		value := func(c, s float64) float64 {
			sum, all, level := 0.0, 0.0, 0.0
			for i, x := range m {
				f := c*math.Cos(2*math.Pi*(float64(i)+0.5)/12) + s*math.Sin(2*math.Pi*(float64(i)+0.5)/12)
				sum, all, level = sum+x.ended*f, all+x.ended, level+x.expected*math.Exp(f)
			}
			return sum - all*math.Log(level) - (c*c+s*s)/(2*0.15*0.15)
		}
		w, gain := m.wave()
		best := value(w.cos, w.sin)
		require.InDelta(t, best-value(0, 0), gain, 1e-9)
		for range 200 {
			require.LessOrEqual(t, value(w.cos+rng.NormFloat64()/20, w.sin+rng.NormFloat64()/20), best)
		}
		require.InDelta(t, w.cos*math.Cos(math.Pi*7/12)+w.sin*math.Sin(math.Pi*7/12), w.at(3), 1e-12,
			"the middle of April")
		// Slopes by differences.
		v, d := m.slopes(wave{0.1, -0.2}), 1e-4
		require.InDelta(t, (value(0.1+d, -0.2)-value(0.1-d, -0.2))/(2*d), v.c, 1e-4)
		require.InDelta(t, (value(0.1, -0.2+d)-value(0.1, -0.2-d))/(2*d), v.s, 1e-4)
		require.InDelta(t, -(value(0.1+d, -0.2)-2*value(0.1, -0.2)+value(0.1-d, -0.2))/(d*d), v.cc, 1e-3)
		require.InDelta(t, -(value(0.1, -0.2+d)-2*value(0.1, -0.2)+value(0.1, -0.2-d))/(d*d), v.ss, 1e-3)
		require.InDelta(t, -(value(0.1+d, -0.2+d)-value(0.1-d, -0.2+d)-value(0.1+d, -0.2-d)+value(0.1-d,
			-0.2-d))/(4*d*d), v.cs, 1e-3)
	}
}

func TestWhatIsExpectedOfAPieceLiesInTheMonthsOfItsDays(t *testing.T) {
	const scale = 50.0
	shop, client := catalogueOfOne()
	book, err := NewBook(shop, client, nil)
	require.NoError(t, err)
	even := &belief{risks: []risk{{Weibull{1, scale}, 1}}}
	rng := rand.New(rand.NewPCG(8, 6))
	until := programme.NewDate(2026, 3, 9)
	for range 200 {
		p := programme.Piece{Issued: until.Add(-rng.IntN(900)), EntryWashes: 3, Part: 0.5, Reason: programme.Worn}
		last := until
		if rng.IntN(2) == 0 {
			p.Ended = p.Issued.Add(rng.IntN(900))
			last = p.Ended
		}
		p.Washes = p.EntryWashes + float64(last-p.Issued)
		p.FromWashes, p.ToWashes = p.Washes, p.Washes
		gap := rng.IntN(4) == 0
		if gap {
			p.FromWashes--
		}
		if p.Ended == 0 {
			p.Reason = ""
		}
		var got monthly
		got.add(book, &p, &Use{}, even, &History{}, until)
		var want monthly
		if p.Ended > 0 && p.Ended <= until && !gap {
			want[p.Ended.Time().Month()-1].ended = 0.5
		}
		for day := p.Issued + 1; day <= min(last, until); day++ {
			want[day.Time().Month()-1].expected += 0.5 / scale
		}
		for i := range want {
			require.InDelta(t, want[i].ended, got[i].ended, 1e-9)
			require.InDelta(t, want[i].expected, got[i].expected, 1e-9)
		}
	}
}

// What is not known of ages counts on average: the hazard of a cause over all factors that a
// log-normal number may be, whose logarithm has twice the blur as variance.
func TestAHazardAtAgesThatAreNotKnown(t *testing.T) {
	for _, blur := range []float64{0, 0.005, 0.08} {
		for _, shape := range []float64{0.8, 2, 3.5} {
			w := risk{Weibull{shape, 40}, 2}
			sum, all := 0.0, 0.0
			for z := -8.0; z <= 8; z += 0.01 {
				p, factor := math.Exp(-z*z/2), math.Exp(z*math.Sqrt(2*blur))
				sum, all = sum+p*w.cumulative(10*factor, 25*factor), all+p
			}
			require.InEpsilon(t, sum/all, w.blurred(blur).cumulative(10, 25), 1e-6, "blur %g, shape %g", blur, shape)
		}
	}
}
