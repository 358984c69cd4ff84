package match_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme/match"
)

func TestNearIsASlipOfThePenOrNothing(t *testing.T) {
	words := []string{"start_date", "end_date", "staff_id", "name", "role", "site"}
	for s, want := range map[string]string{"strat date": "start_date", "Staf ID": "staff_id", "rloe": "role",
		"roles": "role", "sites": "site", "phone": "", "nmae": "name", "": "", "enddate": "end_date"} {
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

func TestNaturalPutsNumbersInOrder(t *testing.T) {
	want := []string{"1", "02", "2", "9", "12", "100", "A2", "A10", "A10b", "B", "LT1-9", "LT1-57"}
	got := slices.Clone(want)
	slices.Reverse(got)
	slices.SortFunc(got, match.Natural)
	require.Equal(t, want, got)
}

// It is an order: antisymmetric, transitive, and equal for the same text alone.
func TestNaturalIsAnOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		one := rapid.StringMatching(`[a-c0-2]{0,6}`)
		a, b, c := one.Draw(t, "a"), one.Draw(t, "b"), one.Draw(t, "c")
		require.Equal(t, match.Natural(a, b), -match.Natural(b, a))
		require.Equal(t, a == b, match.Natural(a, b) == 0)
		if match.Natural(a, b) < 0 && match.Natural(b, c) < 0 {
			require.Negative(t, match.Natural(a, c))
		}
	})
}

// A hint is proposed and not taken; one that hints at two codes is none.
func TestNearestGoesByHintsSlipsAndWordsWithin(t *testing.T) {
	c := match.NewChoices("navy", "blue", "light grey")
	c.Hint("Marineblau", "navy")
	c.Hint("blu", "navy")
	c.Hint("blu", "blue")
	c.Hint("gris", "grey") // is no code
	for value, want := range map[string]string{"marine-blau": "navy", "nvay": "navy", "navy marl": "navy",
		"heather LIGHT grey": "light grey", "navy blue": "", "grey": "", "gris": "", "": ""} {
		got, ok := c.Nearest(value)
		require.Equal(t, want, got, value)
		require.Equal(t, want != "", ok, value)
	}
	_, ok := c.Find("marineblau")
	require.False(t, ok)
}
