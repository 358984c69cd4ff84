package demand

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/quadrature"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// drawn is a distribution of some numbers, without rhyme or reason.
func drawn(rng *rand.Rand, lo, n int) pmf {
	p := make([]float64, n)
	sum := 0.0
	for i := range p {
		p[i] = rng.Float64() + 0.01
		sum += p[i]
	}
	for i := range p {
		p[i] /= sum
	}
	return pmf{lo, p}
}

// each calls f with every number of a distribution and its chance.
func (f pmf) each(do func(n int, p float64)) {
	for i, p := range f.p {
		do(f.lo+i, p)
	}
}

func requireSame(t *testing.T, want map[int]float64, got pmf) {
	t.Helper()
	have := map[int]float64{}
	got.each(func(n int, p float64) { have[n] += p })
	for n := range have {
		if _, ok := want[n]; !ok {
			want[n] = 0
		}
	}
	for n, p := range want {
		require.InDelta(t, p, have[n], 1e-12, "P(%d)", n)
	}
}

// Sums, powers, differences and mixtures of numbers, by going through all pairs of them.
func TestDistributionsAreReckonedWithNumberByNumber(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 7))
	for range 100 {
		f, g := drawn(rng, rng.IntN(5), 1+rng.IntN(5)), drawn(rng, rng.IntN(3), 1+rng.IntN(4))
		sum, less, mixed := map[int]float64{}, map[int]float64{}, map[int]float64{}
		n, w, mean := rng.IntN(8), rng.Float64(), 0.0
		f.each(func(a int, p float64) {
			g.each(func(b int, q float64) { sum[a+b] += p * q })
			less[max(0, a-n)] += p
			mixed[a] += w * p
			mean += float64(a) * p
		})
		g.each(func(b int, q float64) { mixed[b] += (1 - w) * q })
		requireSame(t, sum, f.plus(g))
		requireSame(t, sum, g.plus(f))
		requireSame(t, less, f.less(n))
		var m mixture
		m.add(w, f)
		m.add(1-w, g)
		requireSame(t, mixed, m.pmf())
		require.InDelta(t, mean, f.mean(), 1e-12)
		four := map[int]float64{}
		f.plus(f).plus(f.plus(f)).each(func(a int, p float64) { four[a] += p })
		requireSame(t, four, f.times(4))
		requireSame(t, sum, f.plus(certainly(3)).plus(g).less(3))
	}
	require.Equal(t, certainly(0), (&mixture{}).pmf())
	require.Equal(t, pmf{7, []float64{0.5, 0.5}},
		pmf{5, []float64{negligible / 2, negligible / 2, 0.5, 0.5, negligible / 2}}.trimmed())
	require.Equal(t, pmf{5, []float64{0.5, negligible, 0.5}}, pmf{5, []float64{0.5, negligible, 0.5}}.trimmed(),
		"the ends alone")
	require.Len(t, pmf{5, []float64{0, 0}}.trimmed().p, 1, "something stays")
}

// What is told of a distribution, from its definition.
func TestADistributionIsDescribed(t *testing.T) {
	d := pmf{2, []float64{0.1, 0.4, 0.3, 0.15, 0.05}}.describe()
	require.Len(t, d.PMF, 7)
	require.InDelta(t, 2*0.1+3*0.4+4*0.3+5*0.15+6*0.05, d.Mean, 1e-12)
	v := 0.0
	for n, p := range d.PMF {
		v += p * math.Pow(float64(n)-d.Mean, 2)
	}
	require.InDelta(t, math.Sqrt(v), d.SD, 1e-12)
	require.Equal(t, map[string]int{"0.1": 2, "0.5": 3, "0.8": 4, "0.9": 5, "0.95": 5, "0.99": 6}, d.Quantiles)
	require.Equal(t, 1, Quantile([]float64{0.3, 0.3}, 0.9), "no further than it goes")
	require.Zero(t, Quantile(nil, 0.5))
}

// Poisson numbers by logarithms; a large one is the sum of two halves.
func TestPoissonNumbers(t *testing.T) {
	chance := func(mean float64, n int) float64 {
		g, _ := math.Lgamma(float64(n) + 1)
		return math.Exp(float64(n)*math.Log(mean) - mean - g)
	}
	for n, p := range CompoundPoisson(1000, []float64{1}, 1200) {
		require.InDelta(t, chance(1000, n), p, 1e-10)
	}
	for _, mean := range []float64{1e-6, 0.4, 60, 81, 900} {
		total := 0.0
		poisson(mean).each(func(n int, p float64) {
			require.InDelta(t, chance(mean, n), p, 1e-12, "%d of %g", n, mean)
			total += p
		})
		require.InDelta(t, 1, total, 1e-10)
		require.InEpsilon(t, mean, poisson(mean).mean(), 1e-9)
	}
	three := kits(1.3, 3)
	three.each(func(n int, p float64) {
		want := 0.0
		if n%3 == 0 {
			want = chance(1.3, n/3)
		}
		require.InDelta(t, want, p, 1e-12)
	})
	require.InDelta(t, 3.9, three.mean(), 1e-9)
	require.Equal(t, certainly(0), kits(0, 3))
	require.Equal(t, certainly(0), kits(1, 0))
	require.InDelta(t, 0.25+0.25, convolved([]float64{0.5, 0.5}, []float64{0.5, 0.5}, 1)[1], 0)
	require.Len(t, convolved([]float64{0.5, 0.5}, []float64{0.5, 0.5}, 1), 2)
}

// What is there of the old meets the first pieces that are needed: of each outcome, one by one.
func TestALineIsSplitOutcomeByOutcome(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 8))
	old := programme.SKU{Garment: "old"}
	for range 100 {
		d := drawn(rng, 0, 1+rng.IntN(8)).describe()
		l := Line{SKU: programme.SKU{Garment: "new"}, Distribution: d, Owed: rng.IntN(4), OnHand: 3, OnOrder: 2}
		l.ByCause = programme.Causes{Endings: programme.Endings[float64]{Worn: 0.75 * d.Mean}, Hires: 0.25 * d.Mean}
		for w := range 4 {
			l.Weekly = append(l.Weekly, d.Mean*[]float64{0.1, 0.4, 0.2, 0.3}[w])
		}
		first := rng.IntN(8)
		others, rest := l.Split(old, first)
		require.Equal(t, [2]programme.SKU{old, l.SKU}, [2]programme.SKU{others.SKU, rest.SKU})
		require.Equal(t, [2]int{min(l.Owed, first), l.Owed - min(l.Owed, first)}, [2]int{others.Owed, rest.Owed},
			"who is short comes first")
		left := first - others.Owed
		low, high := map[int]float64{}, map[int]float64{}
		for n, p := range d.PMF {
			low[min(n, left)] += p
			high[max(0, n-left)] += p
		}
		requireSame(t, low, pmf{0, others.PMF})
		requireSame(t, high, pmf{0, rest.PMF})
		require.InDelta(t, d.Mean, others.Mean+rest.Mean, 1e-9)
		require.InDelta(t, others.Mean, others.ByCause.Sum(), 1e-9)
		require.InDelta(t, rest.Mean, rest.ByCause.Sum(), 1e-9)
		require.InDelta(t, 0.75*rest.Mean, rest.ByCause.Worn, 1e-9)
		sum, late := 0.0, 0.0
		for w := range l.Weekly {
			require.InDelta(t, l.Weekly[w], others.Weekly[w]+rest.Weekly[w], 1e-12)
			sum, late = sum+others.Weekly[w], late+rest.Weekly[w]
			require.True(t, late < 1e-12 || w == len(l.Weekly)-1 || others.Weekly[w+1] < 1e-12, "the old go out first")
		}
		require.InDelta(t, others.Mean, sum, 1e-9)
		require.Equal(t, [4]int{3, 2, 0, 0}, [4]int{rest.OnHand, rest.OnOrder, others.OnHand, others.OnOrder},
			"stock stays with the line")
	}
	none := Line{}
	others, rest := none.Split(old, 3)
	require.Zero(t, others.Mean+rest.Mean)
}

// Somebody who is away on two stretches, day by day in hundredths of weeks.
func TestTimeStandsStillWhileSomebodyIsAway(t *testing.T) {
	asOf := programme.Date(20000)
	spell := func(from, until programme.Date, share float64) programme.Spell {
		return programme.Spell{From: from, Until: until, Share: share}
	}
	require.Nil(t, presenceOf(wear.Absence{spell(asOf-30, asOf, 0)}, asOf), "back tomorrow")
	require.Nil(t, presenceOf(wear.Absence{spell(asOf+5, asOf+9, 0.5)}, asOf), "there for half")
	p := presenceOf(wear.Absence{spell(asOf-3, asOf+7, 0), spell(asOf+15, asOf+28, 0)}, asOf)
	require.Equal(t, []absent{{0, 1}, {2, 4}}, p.away)
	there := func(t float64) (sum float64) {
		for i := range int(math.Round(100 * t)) {
			if x := (float64(i) + 0.5) / 100; x > 1 && x < 2 || x > 4 {
				sum += 0.01
			}
		}
		return sum
	}
	for _, weeks := range []float64{0, 0.5, 1, 1.5, 2, 3, 4, 4.5, 9} {
		require.InDelta(t, there(weeks), p.there(weeks), 1e-9)
		require.InDelta(t, weeks, (*presence)(nil).there(weeks), 0)
		require.InDelta(t, weeks, (*presence)(nil).when(weeks), 0)
	}
	for weeks, want := range map[float64]float64{0.25: 1.25, 1: 2, 1.5: 4.5, 3: 6} {
		require.InDelta(t, want, p.when(weeks), 1e-9)
	}
	require.Equal(t, 1, p.first())
	require.Zero(t, (*presence)(nil).first())
	for first, spells := range map[int]wear.Absence{0: {spell(asOf+2, asOf+9, 0)},
		4: {spell(asOf-3, asOf+7, 0), spell(asOf+8, asOf+28, 0)}, 1000000: {spell(asOf-3, 0, 0)}} {
		require.Equal(t, first, presenceOf(spells, asOf).first())
	}
	gone := presenceOf(wear.Absence{spell(asOf+8, 0, 0)}, asOf)
	require.InDelta(t, 1, gone.there(5), 1e-9)
	require.True(t, math.IsInf(gone.when(1.5), 1))

	// Renewals follow in the weeks in which they are there.
	again := []byCause{{0.1}, {0.2}, {0.4}, {0.8}}
	require.Equal(t, byCause{0.1 + 0.2 + 0.2}, upTo(again, 2.5))
	require.Equal(t, byCause{}, upTo(again, 0))
	sum := byCause{}
	for _, x := range p.renewedWhile(again, 1) {
		for c := range x {
			sum[c] += x[c]
		}
	}
	require.InDelta(t, upTo(again, p.there(4)-p.there(1))[0], sum[0], 1e-12)
	require.InDelta(t, 0.1, p.renewedWhile(again, 1)[0][0], 1e-12, "there in the second week")
	require.Zero(t, p.renewedWhile(again, 1)[1][0], "away in the third")
}

// A piece is still on the books: how likely each cause has ended it, from its hazards before and
// since late entries began.
func TestWhatMayHaveEndedAPieceUnseen(t *testing.T) {
	u := unseen{washes: 10, weeks: 6, hidden: 0.2, lateWashes: 25, lateWeeks: 2, late: 0.4}
	require.True(t, (&unseen{}).none())
	require.False(t, u.none())
	require.False(t, (&unseen{late: 0.1}).none())
	require.InDelta(t, 0.5, u.asked(0.3, 0.2), 1e-12)
	u.forgotten = true
	require.InDelta(t, 0.2, u.asked(0.3, 0.2), 1e-12)

	in := &Input{History: wear.History{Hidden: 0.3, Late: wear.Late{Share: 0.4}, Counts: true}}
	piece := programme.Piece{FromWashes: 10, UnseenDays: 42, LateWashes: 25, LateDays: 14}
	require.Equal(t, unseen{washes: 10, weeks: 6, hidden: 0.3, lateWashes: 25, lateWeeks: 2, late: 0.4},
		in.unseen(&piece))
	piece.LateDays = 0
	require.Equal(t, unseen{washes: 10, weeks: 6, hidden: 0.3}, in.unseen(&piece))
	in.History.Hidden, in.History.Counts = 0, false
	require.Equal(t, unseen{}, in.unseen(&piece))
	piece.LateDays = 14
	require.Equal(t, unseen{washes: 10, weeks: 6, forgotten: true, lateWashes: 25, lateWeeks: 2, late: 0.4},
		in.unseen(&piece))
	in.History.Late.Share = 0
	require.Equal(t, unseen{}, in.unseen(&piece))
	in.History.Hidden, piece.UnseenDays = 0.3, 0
	require.Equal(t, unseen{}, in.unseen(&piece))
}

// What people who leave take along ties their garments together; the covariance that lines lack
// is found here by drawing each person's time of leaving.
func TestWhatTiesAPersonsGarments(t *testing.T) {
	stay := retention{moments: []quadrature.Node{{At: 9, Weight: 0.6}, {At: 2, Weight: 0.3}, {At: 5, Weight: 0.1}}}
	one, two := &programme.Person{StaffID: "1"}, &programme.Person{StaffID: "2"}
	var together ties
	a, b, c := []float64{3, 1, 2}, []float64{4, 2, 1}, []float64{5, 0, 3}
	together.add(one, "", stay, 3, a)
	together.add(one, "", stay, 3, b)
	together.add(two, "", stay, 3, c)
	together.add(two, "tee", stay, 3, c)
	together.add(two, "", stay, 3, []float64{7})
	weights := []float64{0.6, 0.3, 0.1}
	vary := func(x []float64) float64 {
		m, s := 0.0, 0.0
		for i, w := range weights {
			m += w * x[i]
		}
		for i, w := range weights {
			s += w * (x[i] - m) * (x[i] - m)
		}
		return s
	}
	both := []float64{7, 3, 3}
	require.InDelta(t, vary(a), variance(weights, a), 1e-12)
	want := vary(both) - vary(a) - vary(b)
	require.InDelta(t, want, together.covariance("", wear.Certain(0.3), 1), 1e-9, "twice the covariance of the two")
	require.InDelta(t, 0, together.covariance("tee", wear.Certain(0.3), 1), 1e-9)
	require.InDelta(t, want+(spread(2)-1)*(vary(both)+vary(c)), together.covariance("", wear.Certain(0.3), 2), 1e-9)

	// The fall of what is expected when all leave e times as often: by differences in the chance of staying.
	x := &tied{weights: weights, sum: both, moments: 3}
	mean := func(stay float64) float64 { return stay*7 + (1-stay)*(0.3*3+0.1*3)/0.4 }
	const h = 1e-5
	require.InDelta(t, -(mean(math.Pow(0.6, math.Exp(h)))-mean(math.Pow(0.6, math.Exp(-h))))/(2*h),
		x.lostByGoing(), 1e-6)
	lost := x.lostByGoing() + (&tied{weights: weights, sum: c, moments: 3}).lostByGoing()
	require.InDelta(t, want+lost*lost/4, together.covariance("", wear.Gamma{Count: 4, Exposure: 10}, 1), 1e-9)
	require.Zero(t, (&tied{weights: []float64{1}, sum: []float64{3}, moments: 1}).lostByGoing())
}

// Noise adds its variance and keeps the mean, however small it is.
func TestWideningAddsVarianceAndKeepsTheMean(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 9))
	for _, more := range []float64{0.4, 3, 40} {
		f := drawn(rng, 60, 12)
		before, after := f.describe(), f.widened(more).describe()
		require.InDelta(t, before.Mean, after.Mean, 1e-6)
		require.InDelta(t, before.SD*before.SD+more, after.SD*after.SD, 1e-5)
		near := drawn(rng, 0, 4)
		require.InDelta(t, near.mean(), near.widened(more).mean(), 0.25*math.Sqrt(more), "near zero about")
	}
	f := drawn(rng, 0, 4)
	require.Equal(t, f, f.widened(0))
	require.InDelta(t, f.mean()-0.1, f.lowered(f.mean()-0.1).mean(), 1e-12)
	require.Equal(t, certainly(0), certainly(0).lowered(0))
}

// A cubic is read as it is, on the grid and between; a jump by straight lines.
func TestCurvesAreReadBetweenTheirPoints(t *testing.T) {
	f := func(x float64) float64 { return 2 - x + 0.5*x*x - 0.1*x*x*x }
	var g []float64
	for i := range 9 {
		g = append(g, f(float64(i)))
	}
	for _, x := range []float64{0, 0.3, 1, 3.5, 6.9, 8} {
		require.InDelta(t, f(x), cubic(g, x), 1e-9)
	}
	jump := &grid{step: 0.5, jumpAt: 2}
	c := curve{right: []float64{0, 1, 5, 6}, left: []float64{0, 1, 2, 6}}
	for weeks, want := range map[float64]float64{0: 0, 0.25: 0.5, 0.75: 1.5, 1: 5, 1.25: 5.5, 1.5: 6} {
		require.InDelta(t, want, jump.read(c, weeks), 1e-9)
	}
}

// The months that wear most and least, the first of equal ones; days as people say them.
func TestMonthsAndSpansAreSaid(t *testing.T) {
	in := &Input{Client: &programme.Client{}}
	in.Client.Work.WearByMonth = [12]float64{1, 1, 0.8, 1, 1.3, 1, 1.3, 1, 1, 0.8, 1, 1}
	hard, soft := in.hardestAndSoftest()
	require.Equal(t, "May, March", hard.String()+", "+soft.String())
	in.Client.Work.WearByMonth = [12]float64{0.5, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1.2}
	hard, soft = in.hardestAndSoftest()
	require.Equal(t, "December, January", hard.String()+", "+soft.String())
	for days, want := range map[int]string{1: "1 days", 13: "13 days", 14: "2 weeks", 15: "3 weeks", 21: "3 weeks"} {
		require.Equal(t, want, spanOf(days))
	}
}

// What the sums take is estimated as it grows: one more number than pieces, or sixteen standard deviations.
func TestTheEffortOfASum(t *testing.T) {
	tee := programme.SKU{Garment: "tee"}
	held := func(counts ...int) (out []programme.Piece) {
		for i, n := range counts {
			out = append(out, slices.Repeat([]programme.Piece{{StaffID: string(rune('a' + i)), SKU: tee}}, n)...)
		}
		return out
	}
	require.InDelta(t, 4*1, steps(held(3)), 1e-9)
	require.InDelta(t, 4+3*(1+3), steps(held(3, 2)), 1e-9)
	spread := 16 * math.Sqrt(900+0.16*900*900)
	require.InDelta(t, 901+3*(1+min(900, spread)), steps(held(900, 2)), 1e-6)
	many := slices.Repeat([]int{1}, 1000)
	sum := 0.0
	for i := range many {
		sum += 2 * (1 + min(float64(i), 16*math.Sqrt(1.16*float64(i))))
	}
	require.InDelta(t, sum, steps(manyHolders(tee, 1000)), 1e-6)

	ledger := []programme.Movement{
		{StaffID: "a", SKU: tee, Kind: programme.Issued, Pieces: 3, Date: 10},
		{StaffID: "b", SKU: tee, Kind: programme.Issued, Pieces: 4, Date: 10},
		{StaffID: "a", SKU: tee, Kind: programme.Issued, Pieces: 2, Date: 11},
		{StaffID: "a", SKU: tee, Kind: programme.Issued, Pieces: 9, Date: 13},
		{StaffID: "b", SKU: tee, Kind: programme.Ended, Pieces: 9, Date: 11},
		{StaffID: "c", SKU: tee, Kind: programme.Issued, Pieces: 8, Date: 12},
	}
	got := heaviest(ledger, 12, func(m *programme.Movement) bool { return m.StaffID != "c" })
	require.Equal(t, TooMuch{StaffID: "a", Garment: "tee", Issued: 17, Held: 5, Rows: 2}, *got)
}

func manyHolders(k programme.SKU, n int) (out []programme.Piece) {
	for i := range n {
		out = append(out, programme.Piece{StaffID: string(rune(1000 + i)), SKU: k})
	}
	return out
}
