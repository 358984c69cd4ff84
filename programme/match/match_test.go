package match_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/match"
)

func TestNearIsASlipOfThePenOrNothing(t *testing.T) {
	words := []string{"start_date", "end_date", "staff_id", "name", "role", "site"}
	for s, want := range map[string]string{"strat date": "start_date", "Staf ID": "staff_id", "rloe": "role", "roles": "role", "sites": "site", "phone": "", "nmae": "name", "": "", "enddate": "end_date"} {
		got, _ := match.Near(s, words)
		require.Equal(t, want, got, s)
	}
	_, ok := match.Near("cat", []string{"bat", "hat"})
	require.False(t, ok, "two are as close")
}
