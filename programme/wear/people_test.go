package wear_test

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// worn is thirty people who wore out twelve tees each, one after the other, every
// second of them at a pace.
func worn(t *testing.T, pace float64) wear.History {
	t.Helper()
	shop, client := smallShop()
	client.Roles[0].Kit[0].Each, client.Roles[0].Kit[0].Decorations = 1, nil
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(2, 7))
	cloth := wear.FromMedian(40, 2.5)
	var moves []programme.Movement
	for i := range 30 {
		f := 1.0
		if i%2 == 1 {
			f = pace
		}
		for day, n := 1, 0; n < 12; n++ {
			m := issue(day, "M", 1)
			day += max(1, int(math.Round(cloth.Scale*math.Pow(rng.ExpFloat64(), 1/cloth.Shape)/f)))
			e := ended(day, "M", 1, programme.Worn)
			m.StaffID, e.StaffID = strconv.Itoa(i), strconv.Itoa(i)
			moves = append(moves, m, e)
		}
	}
	h, _ := book.LearnWithSilence(book.Trace(nil, moves, monday.Add(800)), monday.Add(800))
	return h
}

// Fifty people whose log paces have a standard deviation of 0.4, with pieces that
// came to an end or are still worn: the life learnt is that of pace 1. With paces taken as known it came out
// a tenth too short, and with each one's mean hazard at its mean age the shape a sixth too steep.
func TestLivesAreThoseOfTheUsualPaceWherePeopleDiffer(t *testing.T) {
	shop, client := smallShop()
	client.Roles[0].Kit[0].Each, client.Roles[0].Kit[0].Decorations = 1, nil
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	cloth := book.Classes()[0].Cloth.Weibull
	sum, shapes, none := 0.0, 0.0, 0
	const clients = 40
	for c := range clients {
		rng := rand.New(rand.NewPCG(9, uint64(c)))
		var moves []programme.Movement
		const until = 120
		for i := range 50 {
			pace := math.Exp(0.4 * rng.NormFloat64())
			for day := 0; ; {
				m := issue(day, "M", 1)
				m.StaffID = strconv.Itoa(i)
				moves = append(moves, m)
				if day += max(1,
					int(math.Round(cloth.Scale*math.Pow(rng.ExpFloat64(), 1/cloth.Shape)/pace))); day >= until {
					break
				}
				e := ended(day, "M", 1, programme.Worn)
				e.StaffID = m.StaffID
				moves = append(moves, e)
			}
		}
		h, learnt := book.LearnWithSilence(book.Trace(nil, moves, monday.Add(until)), monday.Add(until))
		if h.Pace("0") == (wear.Pace{}) {
			none++
			continue
		}
		got := learnt[book.Classes()[0].Class].Cloth.Typical()
		sum, shapes = sum+math.Log(got.Median()/cloth.Median()), shapes+math.Log(got.Shape/cloth.Shape)
	}
	t.Logf("off by %+.3f on average, shapes by %+.3f, nobody told apart at %d of %d clients", sum/float64(clients-none),
		shapes/float64(clients-none), none, clients)
	require.InDelta(t, 0, sum/float64(clients-none), 0.04)
	require.InDelta(t, 0, shapes/float64(clients-none), 0.04)
	require.Less(t, none, clients/4)
}

func TestPeopleWhoWearHarderAreLearnt(t *testing.T) {
	h := worn(t, 1.7)
	slow, fast := 0.0, 0.0
	for i := range 30 {
		if i%2 == 1 {
			fast += h.Pace(strconv.Itoa(i)).Log / 15
		} else {
			slow += h.Pace(strconv.Itoa(i)).Log / 15
		}
	}
	// What is learnt is drawn a little towards the middle, as it should be.
	require.Less(t, fast-slow, 1.1*math.Log(1.7))
	require.Greater(t, fast-slow, 0.7*math.Log(1.7))
	require.Zero(t, h.Pace("nobody"))
	h = worn(t, 1)
	for i := range 30 {
		require.Zero(t, h.Pace(strconv.Itoa(i)), "all alike")
	}
}

// What a person's endings say of the pace, against a sum over a fine grid of paces: few
// endings leave the belief about everybody, many leave hardly a doubt.
func TestPacesAgreeWithAFineGrid(t *testing.T) {
	for _, c := range []struct{ endings, expected, sd, shape float64 }{
		{0, 0.3, 0.4, 2.5}, {3, 2, 0.4, 2.5}, {30, 12, 0.4, 2.5}, {60, 200, 0.2, 3}, {25, 1.5, 0.6, 2}, {0, 40, 0.6, 3},
		{400, 380, 0.1, 2.2},
	} {
		top, steps := math.Inf(-1), 8000
		logs := make([]float64, steps)
		at := func(i int) float64 { return 6 * c.sd * (2*(float64(i)+0.5)/float64(steps) - 1) }
		for i := range logs {
			x := at(i)
			logs[i] = c.endings*c.shape*x - c.expected*math.Exp(c.shape*x) - x*x/(2*c.sd*c.sd)
			top = math.Max(top, logs[i])
		}
		var m0, m1, m2 float64
		for i, l := range logs {
			w := math.Exp(l - top)
			m0, m1, m2 = m0+w, m1+w*at(i), m2+w*at(i)*at(i)
		}
		mean, sd := m1/m0, math.Sqrt(m2/m0-m1*m1/m0/m0)
		logL := top + math.Log(m0*12*c.sd/float64(steps)/(c.sd*math.Sqrt(2*math.Pi)))
		gotL, got := wear.WeighPace(c.endings, c.expected, c.sd, c.shape)
		require.InDelta(t, logL, gotL, 0.02, "%v", c)
		require.InDelta(t, mean, got.Log, 0.02*sd, "%v", c)
		require.InEpsilon(t, sd, got.SD, 0.02, "%v", c)
	}
}

// What a piece says of how hard its holder wears, worked out by hand. Cloth that lasts
// 100 washes on average and is as likely to end at each has a hazard of 1/100 a wash; the
// pieces were washed once in two days, so that mishaps at 1/200 a day come at 1/100 a
// wash as well, and half of the endings that nobody gave a reason for are by wear, on
// whatever dates they lie. At 1/600 a day three in four are.
func TestWhatAPieceShowsOfWear(t *testing.T) {
	issued := programme.NewDate(2026, 1, 5)
	ended := issued.Add(80) // 40 washes
	for name, c := range map[string]struct {
		piece          programme.Piece
		mishap         float64
		ends, expected float64
	}{
		"in service":                     {programme.Piece{Washes: 40}, 1. / 200, 0, 0.4},
		"in service since records began": {programme.Piece{Washes: 40, EntryWashes: 15}, 1. / 200, 0, 0.25},
		"worn out": {programme.Piece{Washes: 40, Ended: ended, Reason: programme.Worn},
			1. / 200, 1, 0.4},
		"print gone": {programme.Piece{Washes: 40, EntryWashes: 10, Ended: ended,
			Reason: programme.Print}, 1. / 200, 1, 0.3},
		"lost": {programme.Piece{Washes: 40, Ended: ended, Reason: programme.Lost},
			1. / 200, 0, 0.4},
		"size changed": {programme.Piece{Washes: 40, Ended: ended, Reason: programme.SizeChange},
			1. / 200, 0, 0.4},
		"thrown out for a new one": {programme.Piece{Washes: 40, FromWashes: 25, Ended: ended, Replaced: true},
			1. / 200, 0, 0.25},
		"nobody knows why": {programme.Piece{Washes: 40, FromWashes: 40, ToWashes: 40, Ended: ended},
			1. / 200, 0.5, 0.4},
		"nobody knows why, few mishaps": {programme.Piece{Washes: 40, FromWashes: 40, ToWashes: 40, Ended: ended},
			1. / 600, 0.75, 0.4},
		"missing at a count": {programme.Piece{Washes: 40, FromWashes: 30, ToWashes: 50, Ended: ended},
			1. / 200, 0.5, 0.4},
		"missing at a count, few mishaps": {programme.Piece{Washes: 40, FromWashes: 30, ToWashes: 50, Ended: ended},
			1. / 600, 0.75, 0.4},
		"missing at a count, seen late": {programme.Piece{Washes: 40, EntryWashes: 20, FromWashes: 30, ToWashes: 50,
			Ended: ended}, 1. / 600, 0.75, 0.2},
		"mishaps while away do not happen": {programme.Piece{Washes: 40, FromWashes: 40, ToWashes: 40, Ended: ended,
			AwayDays: 40}, 1. / 200, 2. / 3, 0.4},
		"the last day falls within absence": {programme.Piece{Washes: 40, FromWashes: 40, ToWashes: 40, Ended: ended,
			AwayDays: 99}, 1. / 200, 1, 0.4},
	} {
		c.piece.Issued = issued
		ends, expected := wear.WornOf(c.piece, wear.Weibull{Shape: 1, Scale: 100}, c.mishap)
		require.InDelta(t, c.ends, ends, 1e-9, name)
		require.InDelta(t, c.expected, expected, 1e-9, name)
	}
	// Where cloth ends more likely later on, a piece found missing tells of wear what its
	// hazard over the time in which it may lie has of all: (50² - 30²)/100² = 0.16 of wear
	// beside 20 washes of 1/100.
	ends, expected := wear.WornOf(programme.Piece{Issued: issued, Ended: ended, Washes: 40, FromWashes: 30,
		ToWashes: 50}, wear.Weibull{Shape: 2, Scale: 100}, 1./200)
	require.InDelta(t, 0.16/(0.16+0.2), ends, 1e-9)
	require.InDelta(t, 0.16, expected, 1e-9)
}

// Against sums over the factor of a person: Poisson endings, and Gamma chances of the factor.
func TestTheLikelihoodOfAPersonOfUnknownFrailtyIsAnIntegral(t *testing.T) {
	for _, variance := range []float64{0.1, 0.5, 2} {
		for _, w := range [][2]float64{{0, 3}, {2, 0.4}, {5.5, 5}, {12, 4}} {
			k, sum, step := 1/variance, 0.0, 1e-4
			atNone, _ := math.Lgamma(k)
			for u := math.Log(1e-12); u < math.Log(200); u += step { // z = e^u
				z := math.Exp(u)
				sum += step * math.Exp(w[0]*u-w[1]*z+k*math.Log(k)-atNone+k*u-k*z)
			}
			require.InDelta(t, math.Log(sum), wear.OfFrailty(w[0], w[1], variance), 1e-5)
		}
		require.InDelta(t, -3, wear.OfFrailty(0, 3, 0), 0, "everybody alike")
	}
}

// Fifteen of thirty people came half a year ago, and wear more than twice as hard as the others: many more pieces end
// of late, and nothing has changed at the laundry.
func TestNewPeopleWhoWearHarderAreNoChangedLaundry(t *testing.T) {
	shop, client := smallShop()
	client.Roles[0].Kit[0].Each, client.Roles[0].Kit[0].Decorations = 1, nil
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(2, 7))
	cloth := wear.FromMedian(40, 2.5)
	var moves []programme.Movement
	const until = 800
	for i := range 30 {
		day, pace := 1, 1.0
		if i%2 == 1 {
			day, pace = 640, 2.2
		}
		for {
			m := issue(day, "M", 1)
			m.StaffID = strconv.Itoa(i)
			moves = append(moves, m)
			if day += max(1,
				int(math.Round(cloth.Scale*math.Pow(rng.ExpFloat64(), 1/cloth.Shape)/pace))); day >= until {
				break
			}
			e := ended(day, "M", 1, programme.Worn)
			e.StaffID = m.StaffID
			moves = append(moves, e)
		}
	}
	h, _ := book.LearnWithSilence(book.Trace(nil, moves, monday.Add(until)), monday.Add(until))
	require.Greater(t, h.Pace("1").Log, h.Pace("0").Log)
	for _, s := range h.Suspicions {
		require.False(t, !s.Delivery && s.Weight >= wear.AlarmAt(1), "%+v", s)
	}
}
