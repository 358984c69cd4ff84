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
