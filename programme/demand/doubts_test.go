package demand_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/wear"
)

func TestGapsInTheRecordsAreToldWhereTheyMatter(t *testing.T) {
	in := &demand.Input{Learnt: map[wear.Class]*wear.Learnt{{Cloth: "tee"}: {Evidence: wear.Evidence{Endings: programme.Endings[int]{Worn: 40}}}}}
	require.Empty(t, in.Doubts())
	in.History.Implied = 3
	require.Empty(t, in.Doubts(), "fewer than one in ten")
	in.History.Implied = 4
	require.Len(t, in.Doubts(), 1)
	require.Contains(t, in.Doubts()[0], "4 pieces were handed out beyond the kits")
	in.History.Unmatched, in.History.Surplus, in.History.Hidden = 5, 2, 0.4
	require.Len(t, in.Doubts(), 4)
	in.History.Counts = true
	require.Len(t, in.Doubts(), 3, "counts tell")
}
