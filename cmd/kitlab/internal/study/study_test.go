package study_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/market"
	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/study"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// par keeps four of everything that anybody holds.
func par(*market.Study, *market.Subject) market.Policy {
	return market.Policy(func(v *market.View) market.Decision {
		order := map[programme.SKU]int{}
		for _, m := range v.Ledger {
			order[m.SKU] = 4 + v.Owed[m.SKU] - v.OnHand[m.SKU] - v.OnOrder[m.SKU]
		}
		return market.Decision{Order: order}
	})
}

func plan() study.Plan {
	return study.Plan{Shops: 2, Clients: 1, Weeks: 78, Seed: 3, Start: programme.NewDate(2024, 3, 4),
		Spread: simulate.AroundPrior}
}

func TestEveryWayTakesTheSettingsThatCostLeast(t *testing.T) {
	rep := study.Money(plan(), par)
	require.Len(t, rep.Results, 5)
	ours := rep.Results[0]
	for _, r := range rep.Results[1:] {
		require.InDelta(t, r.Handling, r.Ordering+r.Rush+r.Holding+r.Missing+r.Unused, 0.02, r.Name)
		require.InDelta(t, r.Against.Handling, 1-ours.Handling/r.Handling, 1e-4, r.Name)
		require.LessOrEqual(t, r.Handling, rep.Results[4].Handling, "%s: keeping no shelf is among what it may choose",
			r.Name)
	}
	points, calendar, average, react := rep.Results[1], rep.Results[2], rep.Results[3], rep.Results[4]
	require.True(t, points.Settings.Points)
	require.Equal(t, 52, points.Settings.Window)
	require.Positive(t, calendar.ScrappedEarly)
	require.Positive(t, average.Settings.Buffer)
	require.Zero(t, react.Settings.Buffer)
	for _, r := range append(rep.Results[1:], rep.NoMoreMissing...) {
		require.NotContains(t, r.AtEnd, "shelf", "%s: a habit's buffer is not at its bound", r.Name)
		require.NotContains(t, r.AtEnd, "roots of need", r.Name)
		require.NotContains(t, r.AtEnd, "weeks of cover", r.Name)
	}
	require.Less(t, react.FillRate, ours.FillRate)
	require.Greater(t, react.ShortWeeks, ours.ShortWeeks)
}

// Told the truth, the proposals forecast as well as can be; a shop that starts
// cold comes near to that, and both serve alike.
func TestTheTruthKnownIsNearlyWhatALearningShopPays(t *testing.T) {
	p := plan()
	p.Knowing = study.ByProposalsKnowing
	rep := study.Money(p, study.ByProposals)
	require.Len(t, rep.Results, 6)
	ours, known := rep.Results[0], rep.Results[5]
	require.Equal(t, study.TruthKnown, known.Name)
	require.NotEqual(t, ours.Cost, known.Cost)
	require.InEpsilon(t, known.Cost, ours.Cost, 0.1)
	require.InDelta(t, known.FillRate, ours.FillRate, 0.05)
}

func TestAStudyIsRepeatableWhateverTheWorkers(t *testing.T) {
	one := plan()
	one.Weeks = 40
	two := one
	two.Workers = 3
	require.Equal(t, study.Money(one, par), study.Money(two, par))
}
