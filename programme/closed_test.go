package programme_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
)

func TestClosedDaysAgreeWithCountingDayByDay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		start := programme.NewDate(2026, 12, 1)
		var days programme.ClosedDays
		isClosed := map[programme.Date]bool{}
		next := start
		for range rapid.IntRange(0, 5).Draw(t, "spans") {
			s := programme.DaySpan{First: next.Add(rapid.IntRange(0, 9).Draw(t, "gap"))}
			s.Last = s.First.Add(rapid.IntRange(0, 5).Draw(t, "more"))
			next = s.Last + 1
			days = append(days, s)
			for d := s.First; d <= s.Last; d++ {
				isClosed[d] = true
			}
			again, err := programme.ParseDaySpan(s.String())
			require.NoError(t, err)
			require.Equal(t, s, again)
		}
		last := programme.Date(0)
		for d := start - 5; d < start+90; d++ {
			require.Equal(t, isClosed[d], days.Has(d))
			if isClosed[d] {
				last = d
			}
		}
		require.Equal(t, last, days.Last())
		from := start.Add(rapid.IntRange(-5, 80).Draw(t, "from"))
		to := from.Add(rapid.IntRange(0, 20).Draw(t, "days"))
		touched := false
		for d := from; d <= to; d++ {
			touched = touched || isClosed[d]
		}
		require.Equal(t, touched, days.Touch(from, to))
	})
}
