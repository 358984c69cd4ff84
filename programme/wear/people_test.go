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
		{0, 0.3, 0.4, 2.5}, {3, 2, 0.4, 2.5}, {30, 12, 0.4, 2.5}, {60, 200, 0.2, 3}, {25, 1.5, 0.6, 2}, {0, 40, 0.6, 3}, {400, 380, 0.1, 2.2},
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
