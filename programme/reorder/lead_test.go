package reorder_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func TestArrivalStepsOverWeekends(t *testing.T) {
	lead := reorder.Lead{Blanks: 3, Transfers: 5, Press: 2, Delivery: 1}
	for _, c := range []struct{ name, yes, want string }{
		{"Monday: sheets on Saturday count on Monday, pressed by Wednesday, handed over on Thursday", "2026-03-02", "2026-03-12"},
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
		lead := reorder.Lead{Blanks: days.Draw(t, "blanks"), Transfers: days.Draw(t, "transfers"), Press: days.Draw(t, "press"), Delivery: days.Draw(t, "delivery")}
		yes := monday.Add(rapid.IntRange(0, 400).Draw(t, "yes"))
		arrives := lead.Arrival(yes)
		require.GreaterOrEqual(t, lead.Arrival(yes+1), arrives, "a later yes never arrives sooner")
		require.LessOrEqual(t, arrives.Sub(yes), lead.Days())
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
	require.Equal(t, reorder.Lead{Blanks: 3, Press: 2, Delivery: 1}, reorder.LeadOf(shop, client, "vest"), "nothing is pressed on it")
	client.DeliveryDays = 4
	require.Equal(t, 4, reorder.LeadOfClient(shop, client).Delivery)
}

func TestHorizonsCountStartedWeeksAsWhole(t *testing.T) {
	shop, client := aShop(), aClient()
	lead := reorder.LeadOfClient(shop, client).Days()
	require.Equal(t, 12, lead)
	require.Equal(t, reorder.Horizon{Trigger: 3, Quantity: 10}, reorder.Horizons(shop, client), "7 + 12 days are 3 weeks; 8 weeks of cover and 2 of lead")
}
