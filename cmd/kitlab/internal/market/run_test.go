package market_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/market"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

var asOf = programme.NewDate(2026, 3, 2)

var never = market.Policy(func(*market.View) market.Decision { return market.Decision{} })

// react orders what is owed and not yet on its way.
var react = market.Policy(func(v *market.View) market.Decision {
	order := map[programme.SKU]int{}
	for k, n := range v.Owed {
		order[k] = n - v.OnOrder[k] - v.OnHand[k]
	}
	return market.Decision{Order: order}
})

// plenty keeps twenty of everything that was ever issued.
var plenty = market.Policy(func(v *market.View) market.Decision {
	order := map[programme.SKU]int{}
	for _, m := range v.Ledger {
		order[m.SKU] = 20 + v.Owed[m.SKU] - v.OnHand[m.SKU] - v.OnOrder[m.SKU]
	}
	return market.Decision{Order: order}
})

func subject(t *testing.T) *market.Subject {
	t.Helper()
	studies := market.NewStudies(1, 1, simulate.AroundPrior, asOf, 7)
	return &studies[0].Subjects[0]
}

func TestARunIsRepeatable(t *testing.T) {
	s := subject(t)
	first, second := s.Run(react, 60), s.Run(react, 60)
	require.Equal(t, first, second)
}

func TestWhoNeverOrdersFillsNothingButEmergencies(t *testing.T) {
	score := subject(t).Run(never, 104)
	require.Zero(t, score.Orders)
	require.Less(t, score.FillRate(), 0.2, "an emergency piece may find its wearer gone and serve another")
	require.Positive(t, score.Emergencies)
	require.Equal(t, score.Rushed, score.Pieces)
}

func TestReactingKeepsNoShelfAndLetsWearersWait(t *testing.T) {
	s := subject(t)
	score := s.Run(react, 104)
	require.Less(t, score.FillRate(), 0.2)
	require.Greater(t, score.ShortWeeks, float64(score.Needed), "everybody waits for the lead time")
}

func TestAFullShelfFillsAlmostEverything(t *testing.T) {
	s := subject(t)
	full, bare := s.Run(plenty, 104), s.Run(react, 104)
	require.Greater(t, full.FillRate(), 0.95)
	require.Greater(t, full.StockWeeks, bare.StockWeeks)
	require.Less(t, full.ShortWeeks, bare.ShortWeeks)
	require.Greater(t, full.Holding, bare.Holding)
}

// Chance about people is shared by runs: hires do not depend on the policy.
func TestPoliciesMeetTheSamePeople(t *testing.T) {
	s := subject(t)
	var a, b int
	see := func(n *int, p market.Policy) market.Policy {
		return market.Policy(func(v *market.View) market.Decision { *n = len(v.Roster()); return p(v) })
	}
	s.Run(see(&a, react), 104)
	s.Run(see(&b, plenty), 104)
	require.Equal(t, a, b)
}

// The views that policies decide on keep the ledger in order of days.
func TestViewsAreInOrder(t *testing.T) {
	s := subject(t)
	s.Run(market.Policy(func(v *market.View) market.Decision {
		for i := 1; i < len(v.Ledger); i++ {
			require.LessOrEqual(t, v.Ledger[i-1].Date, v.Ledger[i].Date)
		}
		return react(v)
	}), 52)
}

func TestRenewalWithdrawsPresentablePieces(t *testing.T) {
	s := subject(t)
	i := 0
	score := s.Run(market.Policy(func(v *market.View) market.Decision {
		i++
		d := react(v)
		d.Renew = i%26 == 0
		return d
	}), 60)
	require.Positive(t, score.ScrappedEarly)
}
