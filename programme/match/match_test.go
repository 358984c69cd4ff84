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

// The pairs are Unicode's own: CaseFolding.txt and the decompositions of UnicodeData.txt,
// but for ø, ł and đ, which have none and are found by what keyboards have instead.
func TestBareIsWhatPeopleTypeWhoLookForAName(t *testing.T) {
	for written, typed := range map[string]string{
		"Éabha O’Dea": "eabha o'dea", "Müller": "muller", "STRASSE": "straße", "Łukasz Đorđe": "lukasz dorde",
		"Søren Ångström": "SOREN ANGSTROM", "ΣΊΣΥΦΟΣ": "σισυφος", "Фёдор": "федор", "Plain Name": "PLAIN NAME",
	} {
		require.Equal(t, match.Bare(typed), match.Bare(written), written)
	}
	require.NotEqual(t, match.Bare("Anna"), match.Bare("Ann"))
}
