package wear_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// enteredOn is a year of endings, two a week, each entered when entry says.
func enteredOn(entry func(day int) int) (moves []programme.Movement) {
	for day := 3; day < 365; day += 3 {
		for _, m := range []programme.Movement{issue(day-3, "M", 1), ended(day, "M", 1, programme.Worn)} {
			if m.Entered = monday.Add(entry(day)); entry(day) <= 365 {
				moves = append(moves, m)
			}
		}
	}
	return moves
}

func backlogDays(l wear.Late) float64 { return l.Share * float64(l.Days) }

func TestDelaysOfEntriesAreLearnt(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 2))
	sixWeeks := map[int]int{}
	for day := range 366 {
		sixWeeks[day] = day + rng.IntN(42)
	}
	monthly := func(day int) int { return (day + 29) / 30 * 30 }
	late := func(asOf int, moves []programme.Movement) wear.Late { return trace(t, nil, asOf, moves...).Late }

	require.Zero(t, late(365, enteredOn(func(day int) int { return day })), "each on its day")
	require.Zero(t, late(365, enteredOn(func(int) int { return 365 })),
		"a history brought in at once tells of no delay")
	require.Zero(t, late(365, func() []programme.Movement {
		moves := enteredOn(func(day int) int { return day })
		for i := range moves {
			moves[i].Entered = 0
		}
		return moves
	}()), "nobody knows when")

	l := late(365, enteredOn(func(day int) int { return sixWeeks[day] }))
	require.InDelta(t, 20.5, backlogDays(l), 4, "half of six weeks on average")
	require.InDelta(t, 28, float64(l.Days), 5, "the mean age of what is missing is kept")
	require.InDelta(t, 38, float64(l.Within), 5)

	// A list once a month has everything until its day.
	list := enteredOn(monthly)
	require.Zero(t, late(360, list), "the list of that day has all")
	require.Greater(t, backlogDays(late(365, list)), 2.0, "but nothing of the days since")
}

// The chances of what is not on the books against the integral that they stand
// for: of all lives that ended late, hidden ones never show, others with a chance.
func TestUnwrittenEndingsAreThoseOfSimulatedLives(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 1))
	const before, since, hidden, late = 0.5, 0.3, 0.2, 0.6
	var silence, never, toCome float64
	for range 400_000 {
		life := rng.ExpFloat64() // in units of cumulative hazard
		lost, waits := rng.Float64() < hidden, rng.Float64() < late
		switch {
		case life > before+since:
			silence++
		case lost:
			silence, never = silence+1, never+1
		case life > before && waits:
			silence, toCome = silence+1, toCome+1
		}
	}
	n, c := wear.Unwritten(before, since, hidden, late)
	require.InDelta(t, never/silence, n, 0.003)
	require.InDelta(t, toCome/silence, c, 0.003)
}

func TestUnwrittenIsGoneWhereNothingComesLate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.Float64Range(0, 20).Draw(t, "hazard")
		split := rapid.Float64Range(0, 1).Draw(t, "split")
		hidden := rapid.Float64Range(0.01, 1).Draw(t, "hidden")
		never, toCome := wear.Unwritten(split*h, (1-split)*h, hidden, 0)
		require.InDelta(t, wear.Gone(h, hidden), never, 1e-12)
		require.Zero(t, toCome)
		never, toCome = wear.Unwritten(split*h, (1-split)*h, hidden, 1e-13)
		require.InDelta(t, wear.Gone(h, hidden), never+toCome, 1e-6)
		never, toCome = wear.Unwritten(split*h, (1-split)*h, hidden, rapid.Float64Range(0, 1).Draw(t, "late"))
		require.False(t, math.IsNaN(never+toCome) || never < 0 || toCome < 0 || never+toCome > 1+1e-12)
	})
}

// Lives are learnt without mistaking for lasting pieces those whose endings are
// still to be entered: about what all entries would teach.
func TestLateEntriesDoNotMakePiecesLastLonger(t *testing.T) {
	shop, client := smallShop()
	client.Roles[0].Kit[0].Each = 1
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(3, 3))
	var all, known []programme.Movement
	asOf := 180
	for person := range 60 {
		for day := rng.IntN(30); day < asOf; {
			in := issue(day, "M", 1)
			in.StaffID = string(rune('a' + person))
			in.Entered = in.Date
			life := 1 + int(30*math.Pow(rng.ExpFloat64(), 1/2.5))
			out := in
			out.Date, out.Kind, out.Reason = in.Date.Add(life), programme.Ended, programme.Worn
			out.Entered = out.Date.Add(rng.IntN(42))
			if all = append(all, in); out.Date <= monday.Add(asOf) {
				all = append(all, out)
			}
			if known = append(known, in); out.Entered <= monday.Add(asOf) {
				known = append(known, out)
			}
			day += life + 42
		}
	}
	median := func(moves []programme.Movement) float64 {
		h := book.Trace(nil, moves, monday.Add(asOf))
		return book.Learn(h, monday.Add(asOf))[book.Classes()[0].Class].Cloth.Typical().Median()
	}
	blind := append([]programme.Movement(nil), known...)
	for i := range blind {
		blind[i].Entered = 0
	}
	truth := median(all)
	require.Greater(t, median(blind), 1.03*truth, "the trap is there")
	require.InDelta(t, truth, median(known), 0.02*truth)
}
