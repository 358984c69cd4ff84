package wear_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// keeping is a hand-over that is only assumed from a past order.
func keeping(m programme.Movement) programme.Movement {
	m.Assumed = true
	return m
}

// beside is a hand-over after which the old pieces stay in use.
func beside(m programme.Movement) programme.Movement {
	m.OldKept = true
	return m
}

func proposed(m programme.Movement) programme.Movement {
	m.Proposal = 7
	return m
}

// The kit is two tees. What is held and what ended, by the ledger of a shop that
// keeps its delivery notes and little else.
func TestAHandOverBeyondTheKitIsAnEnding(t *testing.T) {
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: monday}}
	for name, c := range map[string]struct {
		moves                    []programme.Movement
		held, ended, implied, on int
	}{
		"a third tee": {[]programme.Movement{issue(1, "M", 2), issue(60, "M", 1)},
			2, 1, 1, 60},
		"a first kit larger than agreed": {[]programme.Movement{issue(1, "M", 3)}, 3, 0, 0, 0},
		"what was there beyond the kit stays": {[]programme.Movement{issue(1, "M", 3), issue(60, "M", 1)},
			3, 1, 1, 60},
		"the rest of a kit": {[]programme.Movement{issue(1, "M", 1), issue(60, "M", 1)},
			2, 0, 0, 0},
		"the ending stands in the ledger that day": {[]programme.Movement{issue(1, "M", 2), issue(60, "M", 1),
			ended(60, "M", 1, programme.Worn)}, 2, 1, 0, 60},
		"the ending is written down ten days later": {[]programme.Movement{issue(1, "M", 2), issue(60, "M", 1),
			ended(70, "M", 1, programme.Worn)}, 2, 1, 0, 70},
		"the ending before it was written down": {[]programme.Movement{issue(1, "M", 2),
			ended(58, "M", 1, programme.Worn), issue(60, "M", 1)}, 2, 1, 0, 58},
		"one seen, one not, on one day": {[]programme.Movement{issue(1, "M", 2),
			ended(60, "M", 1, programme.Worn), issue(60, "M", 2)}, 2, 2, 1, 60},
		"what is only assumed": {[]programme.Movement{issue(1, "M", 2),
			keeping(issue(60, "M", 1))}, 3, 0, 0, 0},
		"and one more is handed out": {[]programme.Movement{issue(1, "M", 2),
			keeping(issue(60, "M", 1)), issue(90, "M", 1)}, 3, 1, 1, 90},
		"a count finds the old piece": {[]programme.Movement{issue(1, "M", 2), issue(60, "M", 1),
			counted(80, "M", 3)}, 3, 0, 0, 0},
		"one more, and the old one is kept": {[]programme.Movement{issue(1, "M", 2),
			beside(issue(60, "M", 1))}, 3, 0, 0, 0},
		"one more, kept, and later one in its place": {[]programme.Movement{issue(1, "M", 2),
			beside(issue(60, "M", 1)), issue(90, "M", 1)}, 3, 1, 1, 90},
		"a count agrees": {[]programme.Movement{issue(1, "M", 2), issue(60, "M", 1),
			counted(80, "M", 2)}, 2, 1, 1, 60},
		"a new size, and the old ones go": {[]programme.Movement{issue(1, "M", 2), issue(60, "L", 2)},
			2, 2, 2, 60},
		"old stock is not read so": {[]programme.Movement{issue(-40, "M", 2), issue(-20, "M", 2)},
			4, 0, 0, 0},
		"a second hand-over makes up for the awaited": {[]programme.Movement{issue(1, "M", 2), issue(60, "M", 1),
			issue(65, "M", 1), ended(70, "M", 1, programme.Worn)}, 2, 2, 1, 70},
	} {
		t.Run(name, func(t *testing.T) {
			h := trace(t, staff, 100, c.moves...)
			require.Len(t, h.InService, c.held)
			sum := 0.0
			for _, p := range h.Ended {
				sum += max(p.Part, b2f(p.Part == 0))
				if p.Reason != programme.Worn {
					require.Equal(t, programme.NoReason, p.Reason)
				}
			}
			require.InDelta(t, float64(c.ended), sum, 1e-9)
			require.Equal(t, c.implied, h.Implied)
			if c.ended > 0 {
				require.Equal(t, monday.Add(c.on), h.Ended[len(h.Ended)-1].Ended)
			}
			require.Zero(t, h.Unmatched)
		})
	}
}

func b2f(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func TestAProgrammeMaySayThatOldPiecesAreKept(t *testing.T) {
	shop, client := smallShop()
	client.OldPiecesKept = true
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	h := book.Trace(nil, []programme.Movement{issue(1, "M", 2), issue(60, "M", 1)}, monday.Add(100))
	require.Len(t, h.InService, 3)
}

// A piece thrown out because the program proposed a new one may have been good:
// read as worn out, proposals would teach the program to propose sooner.
func TestWhatAProposalReplacesTeachesNothing(t *testing.T) {
	shop, client := smallShop()
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	c := book.Classes()[0].Class
	learn := func(moves ...programme.Movement) *wear.Learnt {
		h := book.Trace(nil, moves, monday.Add(61))
		require.Len(t, h.InService, 2)
		return book.Learn(h, monday.Add(61))[c]
	}
	by := learn(issue(1, "M", 2), proposed(issue(60, "M", 1)))
	require.Zero(t, by.Evidence.Replaced())
	require.Equal(t, 1, by.Evidence.Other)
	require.Equal(t, 1, learn(issue(1, "M", 2), issue(60, "M", 1)).Evidence.Unexplained)
}

// Two batches, one ending: the chance of each is worked out by hand. At the
// ending the older piece has 15 washes, the younger 5; ten days later the one
// that is left has had ten more. Worn: by cloth's hazard, and by both causes'
// survival since then.
func TestAnEndingIsSharedOverAlikePieces(t *testing.T) {
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: monday}}
	shop, client := smallShop()
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	cloth, print := book.Classes()[0].Cloth.Weibull, book.Classes()[0].Prints[0].Weibull
	lasts := func(from, to float64) float64 {
		return math.Exp(cloth.Hazard(from) - cloth.Hazard(to) + print.Hazard(from) - print.Hazard(to))
	}
	power := func(shape float64) func(float64) float64 {
		return func(x float64) float64 { return math.Pow(x, shape-1) }
	}
	for why, hazard := range map[programme.Reason]func(float64) float64{
		programme.Worn: power(cloth.Shape), programme.Print: power(print.Shape),
		programme.Lost: func(float64) float64 { return 1 },
	} {
		h := trace(t, staff, 30, issue(0, "M", 1), issue(10, "M", 1), ended(20, "M", 1, why))
		old := hazard(15) * lasts(5, 15) // and the younger lasted on
		young := hazard(5) * lasts(15, 25)
		parts := map[programme.Date]float64{}
		for _, p := range h.Ended {
			parts[p.Issued] += p.Part
		}
		require.InDelta(t, old/(old+young), parts[monday], 0.006, why)
		require.InDelta(t, 1, parts[monday]+parts[monday.Add(10)], 1e-9)
		require.Len(t, h.InService, 1)
		require.True(t, h.InService[0].Alike)
		require.Greater(t, h.InService[0].Washes, 15.0)
		require.Less(t, h.InService[0].Washes, 25.0)
	}
}

// The book says that a leaver gave back two of four: the others had ended
// before, unseen. Where nobody writes down what comes back, nothing is missing.
func TestALeaversMissingPiecesAreUnseenEndings(t *testing.T) {
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: monday, End: monday.Add(80)}}
	h := trace(t, staff, 100, issue(0, "M", 4), ended(80, "M", 2, programme.LeftReason))
	require.Empty(t, h.InService)
	missing := 0.0
	for _, p := range h.Ended {
		if p.Reason == programme.Unexplained {
			missing += max(p.Part, b2f(p.Part == 0))
			require.Less(t, p.FromWashes, p.ToWashes)
		}
	}
	require.InDelta(t, 2, missing, 1e-9)
	require.Greater(t, h.Hidden, 0.1, "the books miss some endings")
	h = trace(t, staff, 100, issue(0, "M", 4))
	for _, p := range h.Ended {
		require.Equal(t, programme.LeftReason, p.Reason)
	}
}

// What past orders tell is when pieces were bought: neither the pieces nor the
// endings that were guessed for them teach anything.
func TestWhatIsAssumedFromOrdersTeachesNothing(t *testing.T) {
	shop, client := smallShop()
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	guessed := func(m programme.Movement) programme.Movement { m.Assumed = true; return m }
	h := book.Trace(nil, []programme.Movement{guessed(issue(1, "M", 4)), guessed(ended(40, "M", 2, programme.NoReason)),
		guessed(issue(50, "M", 1))}, monday.Add(100))
	require.Len(t, h.InService, 3)
	k := book.Learn(h, monday.Add(100))[book.Classes()[0].Class]
	none := book.Learn(wear.History{}, monday)[book.Classes()[0].Class]
	require.Zero(t, k.Evidence.Replaced())
	require.Equal(t, none.Cloth, k.Cloth)
	require.Equal(t, none.Prints, k.Prints)
	require.Equal(t, none.Mishap, k.Mishap)
}

// Of past orders only the newest pieces that fill a kit are assumed to be there. Those
// before them shared the washes in their time, so one that is left was not worn alone.
func TestAnAssumedPieceWasWornInAWholeKitUntilACountShowsWhatIsThere(t *testing.T) {
	alone := trace(t, nil, 100, issue(0, "M", 1)).InService[0].Washes
	whole := trace(t, nil, 100, issue(0, "M", 2)).InService[0].Washes
	require.InDelta(t, 2*whole, alone, 1e-9)
	require.InDelta(t, whole, trace(t, nil, 100, keeping(issue(0, "M", 1))).InService[0].Washes, 1e-9)
	seen := trace(t, nil, 100, keeping(issue(0, "M", 1)), counted(60, "M", 1)).InService[0]
	require.InDelta(t, 0.6*whole+0.4*alone, seen.Washes, 1e-9)
}

// January wears twice as hard as the other months: of a piece washed once a day
// it takes 2/k washes a day, with k the mean of the factors over the year.
func TestMonthsThatWearHarderWashMore(t *testing.T) {
	shop, client := smallShop()
	client.Work.WearByMonth = [12]float64{2, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1}
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	k := 1 + 31/365.2425
	h := book.Trace(nil, []programme.Movement{issue(0, "M", 1)}, monday.Add(40)) // 5 January to 14 February
	require.InDelta(t, (26*2+14)/k, h.InService[0].Washes, 1e-9)
	require.InDelta(t, 14/k, book.Wearing(programme.NewDate(2026, 1, 31), monday.Add(40)), 1e-9)
}

// Past orders begin to teach where a count finds their pieces: from the count on,
// at the age the orders tell. What was missing then ended nobody knows when.
func TestPiecesOfPastOrdersAreObservedFromTheFirstCountOn(t *testing.T) {
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: monday - 400}}
	h := trace(t, staff, 100, keeping(issue(0, "M", 2)), counted(60, "M", 1))
	require.Len(t, h.InService, 1)
	require.False(t, h.InService[0].Assumed)
	require.Equal(t, monday.Add(60), h.InService[0].Since)
	require.InDelta(t, h.InService[0].FromWashes, h.InService[0].EntryWashes, 1e-9)
	require.Positive(t, h.InService[0].Washes-h.InService[0].EntryWashes)
	for _, p := range h.Ended {
		require.True(t, p.Assumed)
	}
	shop, client := smallShop()
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	k := book.Learn(h, monday.Add(100))[book.Classes()[0].Class]
	require.Zero(t, k.Evidence.Replaced())
	require.Equal(t, wear.Evidence{InService: 1}, k.Evidence)
	none := book.Learn(wear.History{}, monday)[book.Classes()[0].Class]
	require.Greater(t, k.Cloth.Typical().Scale, none.Cloth.Typical().Scale, "it has lasted forty days since")

	h = trace(t, staff, 100, keeping(issue(0, "M", 2)), counted(60, "M", 2), ended(90, "M", 1, programme.Worn))
	k = book.Learn(h, monday.Add(100))[book.Classes()[0].Class]
	require.Equal(t, 1, k.Evidence.Recorded())
	require.Equal(t, "1 recorded ending", k.Evidence.Words())

	h = trace(t, staff, 100, keeping(issue(0, "M", 2)), ended(90, "M", 1, programme.Worn))
	k = book.Learn(h, monday.Add(100))[book.Classes()[0].Class]
	require.Equal(t, 1, k.Evidence.Ageless)
	require.Zero(t, k.Evidence.Replaced())
	require.Equal(t, none.Cloth, k.Cloth)
}

// A count may find what no hand-over tells of: it is there from now on, of an age
// that is assumed, and teaches nothing.
func TestWhatOnlyACountKnowsOfIsTakenIn(t *testing.T) {
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: monday - 400}}
	h := trace(t, staff, 100, counted(60, "M", 2))
	require.Len(t, h.InService, 2)
	require.Equal(t, 2, h.Surplus)
	for _, p := range h.InService {
		require.True(t, p.Assumed)
		require.Greater(t, p.Washes, 10.0)
	}
	h = trace(t, staff, 100, counted(60, "M", 2), counted(80, "M", 1), ended(90, "M", 1, programme.Worn))
	require.Empty(t, h.InService)
	shop, client := smallShop()
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	k := book.Learn(h, monday.Add(100))[book.Classes()[0].Class]
	require.Equal(t, wear.Evidence{Ageless: 1}, k.Evidence)
}
