package programme_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

func TestSizesThatSomebodyChangedFromAreKept(t *testing.T) {
	p := programme.Person{Sizes: map[string]string{"top": "S"}}
	for _, c := range []struct {
		size     string
		kept     bool
		outgrown map[string][]string
	}{
		{"M", false, map[string][]string{"top": {"S"}}},
		{"L", false, map[string][]string{"top": {"S", "M"}}},
		{"M", false, map[string][]string{"top": {"S", "L"}}},
		{"M", false, map[string][]string{"top": {"S", "L"}}},
		{"M", true, nil},
		{"XL", true, nil},
	} {
		p.Resize("top", c.size, c.kept)
		require.Equal(t, c.outgrown, p.Outgrown, c.size)
		require.Equal(t, c.size, p.Sizes["top"])
		require.False(t, p.HasOutgrown("top", c.size, "top"))
	}
	p = programme.Person{}
	p.Resize("top", "M", false)
	require.Nil(t, p.Outgrown, "a size that was not known fits nobody less")
}

func TestDaysAwayAndTheReturn(t *testing.T) {
	day := programme.NewDate(2026, 3, 2)
	p := programme.Person{Spells: []programme.Spell{
		{From: day, Until: day + 6}, {From: day + 7, Until: day + 9, Share: 0.4}, {From: day + 20, Until: day + 21},
		{From: day + 22},
	}}
	require.InDelta(t, 1, p.ShareOn(day-1), 0)
	require.Equal(t, day-1, p.BackFrom(day-1))
	require.Zero(t, p.ShareOn(day+6))
	require.Equal(t, day+7, p.BackFrom(day), "part-time is there")
	require.InDelta(t, 0.4, p.ShareOn(day+8), 0)
	require.InDelta(t, 1, p.ShareOn(day+10), 0)
	require.True(t, p.BackFrom(day+20).IsZero(), "one absence follows another, and that has no end")
}
