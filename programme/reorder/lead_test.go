package reorder_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func TestArrivalStepsOverWeekends(t *testing.T) {
	lead := reorder.Lead{Blanks: 3, Transfers: 5, Press: 2, Delivery: 1}
	for _, c := range []struct{ name, yes, want string }{
		{"Monday: sheets on Saturday count on Monday, pressed by Wednesday, handed over on Thursday", "2026-03-02",
			"2026-03-12"},
		{"Friday: sheets on Wednesday, pressed by Friday, handed over on Monday", "2026-03-06", "2026-03-16"},
		{"a Saturday's yes is ordered on Monday", "2026-03-07", "2026-03-19"},
		{"Wednesday: sheets on Monday, pressed by Wednesday, handed over on Thursday", "2026-03-04", "2026-03-12"},
	} {
		t.Run(c.name, func(t *testing.T) {
			yes, err := programme.ParseDate(c.yes)
			require.NoError(t, err)
			require.Equal(t, c.want, lead.Arrival(yes).String())
		})
	}
}

func TestDatesOfLeadTimesAgreeWithEachOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		days := rapid.IntRange(0, 20)
		lead := reorder.Lead{Blanks: days.Draw(t, "blanks"), Transfers: days.Draw(t, "transfers"),
			Press: days.Draw(t, "press"), Delivery: days.Draw(t, "delivery")}
		yes := monday.Add(rapid.IntRange(0, 400).Draw(t, "yes"))
		arrives := lead.Arrival(yes)
		require.GreaterOrEqual(t, lead.Arrival(yes+1), arrives, "a later yes never arrives sooner")
		longest := 0
		for day := range 7 {
			longest = max(longest, lead.Arrival(monday.Add(day)).Sub(monday.Add(day)))
		}
		require.Equal(t, longest, lead.Days())
		require.GreaterOrEqual(t, arrives.Sub(yes), max(lead.Blanks, lead.Transfers)+lead.Press+lead.Delivery)
		latest := lead.LatestYes(arrives)
		require.LessOrEqual(t, lead.Arrival(latest), arrives)
		require.Greater(t, lead.Arrival(latest+1), arrives.Add(-1))
		for d := latest + 1; d < latest+10; d++ {
			if wd := d.Weekday(); wd != 0 && wd != 6 {
				require.Greater(t, lead.Arrival(d), arrives, "no later working day would do")
				break
			}
		}
	})
}

func TestTheSlowerOfBlanksAndTransfersCounts(t *testing.T) {
	shop, client := aShop(), aClient()
	require.Equal(t, reorder.Lead{Blanks: 3, Transfers: 5, Press: 2, Delivery: 1}, reorder.LeadOf(shop, client, "tee"))
	require.Equal(t, reorder.Lead{Blanks: 3, Press: 2, Delivery: 1}, reorder.LeadOf(shop, client, "vest"),
		"nothing is pressed on it")
	client.DeliveryDays = 4
	require.Equal(t, 4, reorder.LeadOfClient(shop, client).Delivery)
}

func TestHorizonsCountStartedWeeksAsWhole(t *testing.T) {
	shop, client := aShop(), aClient()
	lead := reorder.LeadOfClient(shop, client).Days()
	require.Equal(t, 12, lead)
	require.Equal(t, reorder.Horizon{Trigger: 3, Quantity: 10}, reorder.Horizons(shop, client, monday),
		"7 + 12 days are 3 weeks; 8 weeks of cover and 2 of lead")
}

func closed(t require.TestingT, spans ...string) (out programme.ClosedDays) {
	for _, s := range spans {
		span, err := programme.ParseDaySpan(s)
		require.NoError(t, err)
		out = append(out, span)
	}
	return out
}

func TestArrivalStepsOverClosedDays(t *testing.T) {
	// Thanksgiving is the fourth Thursday of November (5 U.S.C. 6103): 26 November 2026.
	days := closed(t, "2026-11-26/2026-11-27", "2026-12-24/2027-01-01")
	lead := reorder.Lead{Blanks: 3, Transfers: 5, Press: 2, Delivery: 1, Closed: days}
	for _, c := range []struct{ name, yes, want string }{
		{"long before: as ever", "2026-11-02", "2026-11-12"},
		{"handed over on the Wednesday before", "2026-11-16", "2026-11-30"},
		{"sheets take five days without the two closed ones, Mon to Sun, then two of pressing", "2026-11-23",
			"2026-12-03"},
		{"a yes on the holiday is ordered on Monday", "2026-11-26", "2026-12-10"},
		{"a yes on the last day before Christmas", "2026-12-23", "2027-01-11"},
		{"pressed before, delivered after", "2026-12-16", "2027-01-04"},
		{"a yes between the years", "2026-12-29", "2027-01-14"},
		{"after: as ever", "2027-01-04", "2027-01-14"},
	} {
		t.Run(c.name, func(t *testing.T) {
			yes, err := programme.ParseDate(c.yes)
			require.NoError(t, err)
			require.Equal(t, c.want, lead.Arrival(yes).String())
		})
	}
}

// drawClosed draws up to four spans of up to three weeks, in order and apart.
func drawClosed(t *rapid.T, from programme.Date) (out programme.ClosedDays) {
	for range rapid.IntRange(0, 4).Draw(t, "spans") {
		first := from.Add(rapid.IntRange(0, 25).Draw(t, "gap"))
		last := first.Add(rapid.IntRange(0, 20).Draw(t, "days"))
		out = append(out, programme.DaySpan{First: first, Last: last})
		from = last + 2
	}
	return out
}

// open walks the days one by one: the calendar by another road.
func open(days programme.ClosedDays, d programme.Date) bool {
	for _, s := range days {
		if s.First <= d && d <= s.Last {
			return false
		}
	}
	return d.Weekday() != time.Saturday && d.Weekday() != time.Sunday
}

func TestClosedDaysDelayAndNeverHurry(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 12)
		plain := reorder.Lead{Blanks: n.Draw(t, "blanks"), Transfers: n.Draw(t, "transfers"), Press: n.Draw(t, "press"),
			Delivery: n.Draw(t, "delivery")}
		lead := plain
		lead.Closed = drawClosed(t, monday)
		yes := monday.Add(rapid.IntRange(-20, 150).Draw(t, "yes"))
		arrives := lead.Arrival(yes)
		require.True(t, open(lead.Closed, arrives), "pieces are handed over on a working day")
		require.GreaterOrEqual(t, arrives, plain.Arrival(yes))
		require.GreaterOrEqual(t, lead.Arrival(yes+1), arrives, "a later yes never arrives sooner")
		latest := lead.LatestYes(arrives)
		require.True(t, open(lead.Closed, latest))
		require.LessOrEqual(t, lead.Arrival(latest), arrives)
		for d := latest + 1; d <= arrives; d++ {
			require.False(t, open(lead.Closed, d) && lead.Arrival(d) <= arrives, "no later working day would do")
		}
		require.LessOrEqual(t, arrives.Sub(yes), lead.DaysFrom(yes, 0))
		require.GreaterOrEqual(t, lead.DaysFrom(yes, 7), lead.DaysFrom(yes, 0))

		none := plain
		none.Closed = closed(t, "1999-12-31")
		require.Equal(t, plain.Arrival(yes), none.Arrival(yes), "closed days far away change nothing")
		require.Equal(t, plain.LatestYes(arrives), none.LatestYes(arrives))
		require.Equal(t, plain.Days(), none.DaysFrom(yes, 7))
	})
}

func TestHorizonsReachOverClosedDays(t *testing.T) {
	shop, client := aShop(), aClient()
	shop.Closed = closed(t, "2026-12-24/2027-01-03")
	require.Equal(t, reorder.Horizon{Trigger: 3, Quantity: 10},
		reorder.Horizons(shop, client, programme.NewDate(2026, 11, 23)), "too early to matter")
	require.Equal(t, reorder.Horizon{Trigger: 5, Quantity: 12},
		reorder.Horizons(shop, client, programme.NewDate(2026, 12, 14)), "11 days more: 30 days")
	require.Equal(t, reorder.Horizon{Trigger: 3, Quantity: 10},
		reorder.Horizons(shop, client, programme.NewDate(2027, 1, 4)))
}
