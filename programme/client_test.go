package programme_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// An order lasts no longer than what was agreed, and after its last day there is none.
func TestWhatWasAgreedEnds(t *testing.T) {
	day := programme.NewDate(2026, 10, 12)
	c := programme.Client{}
	require.False(t, c.Ended(day))
	require.Zero(t, c.LongestCover(day))
	c.CoverWeeks = 13
	require.InDelta(t, 13, c.LongestCover(day), 0)
	c.Ends = day.Add(28)
	require.InDelta(t, 4, c.LongestCover(day), 1e-12)
	c.CoverWeeks = 2
	require.InDelta(t, 2, c.LongestCover(day), 0)
	c.CoverWeeks, c.Ends = 0, day
	require.InDelta(t, 1, c.LongestCover(day), 0)
	require.False(t, c.Ended(day))
	require.True(t, c.Ended(day.Add(1)))
}
