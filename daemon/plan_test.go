package daemon_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/programme"
)

const monday = programme.Date(20514) // 2 March 2026

func TestTheConfigHoldsWhereAProgrammeSaysSomethingElse(t *testing.T) {
	c := &config.Config{Schedule: config.Schedule{Round: "30 6 * * 1",
		Clients: []config.ClientRound{{Client: "bakery", Round: "0 7 1 * *"}}}}
	all := daemon.Planned(c, []*programme.Client{{Code: "bakery", Schedule: "0 8 * * *"},
		{Code: "hotel", Schedule: "0 9 * * *"}, {Code: "school"}}, monday)
	require.Equal(t, "0 7 1 * *", all["round of bakery"])
	require.Equal(t, "0 9 * * *", all["round of hotel"])
	require.NotContains(t, all, "round of school")
	require.Equal(t, "30 6 * * 1", all[daemon.JobRound])
}

func TestAClientWhoseProgrammeHasEndedHasNoRoundOfItsOwn(t *testing.T) {
	c := &config.Config{Schedule: config.Schedule{Clients: []config.ClientRound{{Client: "bakery", Round: "0 7 1 * *"}}}}
	clients := []*programme.Client{{Code: "bakery", Ends: monday}, {Code: "hotel", Schedule: "0 9 * * *", Ends: monday}}
	last, after := daemon.Planned(c, clients, monday), daemon.Planned(c, clients, monday+1)
	for _, job := range []string{"round of bakery", "round of hotel"} {
		require.Contains(t, last, job)
		require.NotContains(t, after, job)
	}
	require.Contains(t, after, daemon.JobRound)
}
