package wear_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// seasons is a programme of two summer and two winter tees a head, each kind worn
// seven times a week in its half of the year and washed after each wear.
func seasons(t *testing.T) (*programme.Client, *wear.Book) {
	t.Helper()
	shop, client := smallShop()
	client.RecordsStart = programme.NewDate(2025, 1, 1)
	kit := client.Roles[0].Kit
	kit[0].Colour = "white"
	for m := time.April; m <= time.September; m++ {
		kit[0].Months[m-1] = true
	}
	winter := kit[0]
	winter.Colour = "black"
	for m := range winter.Months {
		winter.Months[m] = !kit[0].Months[m]
	}
	client.Roles[0].Kit = append(kit, winter)
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	return client, book
}

// Two pieces of each kind are issued on 28 February 2026, so that each is washed
// every second day of its season: half a month's days. By hand:
//
//	month   Mar  Apr May  Jun Jul  Aug  Sep Oct  Nov Dec  Jan  Feb Mar  Apr
//	days    31   30  31   30  31   31   30  31   30  31   31   28  31   30
//	summer  0    15  15.5 15  15.5 15.5 15  0    0   0    0    0   0    15
//	winter  15.5 0   0    0   0    0    0   15.5 15  15.5 15.5 14  15.5 0
func TestSummerAndWinterPiecesAreWashedInTheirMonthsAlone(t *testing.T) {
	_, book := seasons(t)
	issued := programme.NewDate(2026, 2, 28)
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: issued - 10}}
	var moves []programme.Movement
	for _, colour := range []string{"black", "white"} {
		moves = append(moves, programme.Movement{Date: issued, Kind: programme.Issued, StaffID: "a",
			SKU: programme.SKU{Garment: "tee", Colour: colour, Size: "M"}, Pieces: 2})
	}
	summer := []float64{0, 15, 15.5, 15, 15.5, 15.5, 15, 0, 0, 0, 0, 0, 0, 15}
	winter := []float64{15.5, 0, 0, 0, 0, 0, 0, 15.5, 15, 15.5, 15.5, 14, 15.5, 0}
	before := map[string]float64{}
	for i := range summer {
		end := programme.NewDate(2026, time.Month(3+i)+1, 0)
		for _, p := range book.Trace(staff, moves, end).InService {
			want := summer[i]
			if p.SKU.Colour == "black" {
				want = winter[i]
			}
			require.InDelta(t, want, p.Washes-before[p.SKU.Colour], 1e-9, "%s in %s", p.SKU.Colour, end)
		}
		for _, p := range book.Trace(staff, moves, end).InService {
			before[p.SKU.Colour] = p.Washes
		}
	}
	// In the middle of August the winter pieces have lain since 1 April, unseen by nobody.
	h := book.Trace(staff, moves, programme.NewDate(2026, 8, 15))
	require.Equal(t, "black", h.InService[0].SKU.Colour)
	require.InDelta(t, 31, h.InService[0].UnseenDays, 1e-9)
	require.InDelta(t, 137, h.InService[0].AwayDays, 1e-9, "1 April to 15 August")
}

func TestSomebodyAwayInTheSeasonWashesNothingEither(t *testing.T) {
	_, book := seasons(t)
	issued := programme.NewDate(2026, 2, 28)
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: issued - 10, Spells: []programme.Spell{
		{From: programme.NewDate(2026, 3, 15), Until: programme.NewDate(2026, 4, 20)},
		{From: programme.NewDate(2026, 5, 1), Until: programme.NewDate(2026, 11, 30), Share: 0.4},
	}}}
	moves := []programme.Movement{{Date: issued, Kind: programme.Issued, StaffID: "a",
		SKU: programme.SKU{Garment: "tee", Colour: "white", Size: "M"}, Pieces: 2}}
	h := book.Trace(staff, moves, programme.NewDate(2026, 12, 31))
	// 10 days of April whole, 153 days from May to September at 0.4, half of each a piece.
	require.InDelta(t, (10+153*0.4)/2, h.InService[0].Washes, 1e-9)
}

// followed is smallShop with the black tee replaced by a white one on day 40.
func followed(t *testing.T, change programme.Change) *wear.Book {
	t.Helper()
	shop, client := smallShop()
	next := client.Roles[0].Kit[0]
	next.Colour, next.From, next.Change = "white", monday.Add(40), change
	next.InsteadOf = client.Roles[0].Kit[0].Former()
	client.Roles[0].Kit = append(client.Roles[0].Kit, next)
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	return book
}

func white(m programme.Movement) programme.Movement {
	m.SKU.Colour = "white"
	return m
}

func TestOldPiecesAreWornOnBesideThoseInTheirPlace(t *testing.T) {
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: monday - 400}}
	for _, change := range []programme.Change{programme.AsWorn, programme.RunOut} {
		book := followed(t, change)
		// One of two black tees ends on day 50, a white one is handed out for it; another
		// white one on day 60 says that the second black one ended.
		moves := []programme.Movement{issue(0, "M", 2), ended(50, "M", 1, programme.Worn), white(issue(50, "M", 1)),
			white(issue(60, "M", 1))}
		h := book.Trace(staff, moves, monday.Add(80))
		require.Len(t, h.InService, 2)
		require.Len(t, h.Ended, 2)
		require.Equal(t, 1, h.Implied)
		for _, p := range h.Ended {
			require.Equal(t, "black", p.SKU.Colour)
		}
		require.Equal(t, "white", h.InService[0].SKU.Colour)
		require.InDelta(t, 15, h.InService[0].Washes, 1e-9, "half of thirty days, beside a black one first")
		require.InDelta(t, 30, h.Ended[1].Washes, 1e-9)
	}
}

func TestOnTheDayOfAChangeOldPiecesAreWornNoMore(t *testing.T) {
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: monday - 400}}
	book := followed(t, programme.OnTheDay)
	// The new ones are handed out a week before.
	h := book.Trace(staff, []programme.Movement{issue(0, "M", 2), white(issue(33, "M", 2))}, monday.Add(60))
	require.Len(t, h.InService, 2)
	require.Zero(t, h.Implied, "no hand-over of the new stands for an ending of the old")
	require.Equal(t, "white", h.InService[0].SKU.Colour)
	require.InDelta(t, 10.5, h.InService[0].Washes, 1e-9, "half of the 21 days from the day of the change on")
	require.Len(t, h.Ended, 2)
	require.InDelta(t, 19.5, h.Ended[0].Washes, 1e-9, "half of the 39 days up to it")
	require.True(t, h.Ended[0].Reason.StillGood(), "taking it back says nothing of how long it lasts")
}

// From the day on which a line takes another's place its pace counts, also for the old pieces
// that are worn on: once a day up to day 39, twice from day 40 on, shared by two.
func TestOldPiecesAreWornAtThePaceOfTheNewLine(t *testing.T) {
	staff := []programme.Person{{StaffID: "a", Role: "floor", Start: monday - 400}}
	shop, client := smallShop()
	next := client.Roles[0].Kit[0]
	next.Colour, next.From, next.Change = "white", monday.Add(40), programme.RunOut
	next.InsteadOf = client.Roles[0].Kit[0].Former()
	next.WearsAWeek *= 2
	client.Roles[0].Kit = append(client.Roles[0].Kit, next)
	book, err := wear.NewBook(shop, client, nil)
	require.NoError(t, err)
	for day, want := range map[int]float64{30: 15, 38: 19, 39: 19.5, 40: 20.5, 41: 21.5, 60: 40.5} {
		h := book.Trace(staff, []programme.Movement{issue(0, "M", 2)}, monday.Add(day))
		require.InDelta(t, want, h.InService[0].Washes, 1e-9, "day %d", day)
	}
	// Handed out after the change, the new pace alone.
	h := book.Trace(staff, []programme.Movement{issue(50, "M", 2)}, monday.Add(60))
	require.InDelta(t, 10, h.InService[0].Washes, 1e-9)
}
