package study_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/market"
	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/study"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// Clients that live on under the program's orders, of which the truth is
// known: wear that differs from the shipped figures, leavers, hires, sizes.
// KITMUSTER_FULL=1 runs more of them for longer.
func TestSimulatedClientsAreServedByFewOrders(t *testing.T) {
	shops, weeks := 1, 78
	if os.Getenv("KITMUSTER_FULL") == "1" {
		shops, weeks = 6, 104
	}
	needed, filled := 0, 0
	studies := market.NewStudies(shops, 1, simulate.AroundPrior, programme.NewDate(2024, 3, 4), 5)
	for i := range studies {
		s := &studies[i]
		subject := &s.Subjects[0]
		score := subject.Run(study.ByProposals(s, subject), weeks)
		t.Logf("shop %d: fill %.3f of %d needs, %d orders", i, score.FillRate(), score.Needed, score.Orders)
		needed += score.Needed
		filled += score.Filled
		require.Less(t, score.Orders, weeks/3, "an order lasts several weeks")
	}
	require.Positive(t, needed)
	require.Greater(t, float64(filled), 0.85*float64(needed), "the shelf serves most needs at once, learning included")
}
