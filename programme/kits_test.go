package programme_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
)

func day(year int, month time.Month, d int) programme.Date { return programme.NewDate(year, month, d) }

func summer() (m programme.Months) {
	for i := time.April; i <= time.September; i++ {
		m[i-1] = true
	}
	return m
}

func TestLinesOfAKitFollowOneAnother(t *testing.T) {
	burgundy, black := programme.Former{Garment: "apron", Colour: "burgundy"},
		programme.Former{Garment: "apron", Colour: "black"}
	line := func(f programme.Former, each int) programme.KitLine {
		return programme.KitLine{Garment: f.Garment, Colour: f.Colour, Each: each}
	}
	next := line(black, 3)
	next.From, next.InsteadOf = day(2027, 3, 1), burgundy
	t.Run("a former line that is listed keeps its terms", func(t *testing.T) {
		r := programme.Role{Kit: []programme.KitLine{line(burgundy, 4),
			line(programme.Former{Garment: "cap", Colour: "black"}, 2), next}}
		all := r.Successions()
		require.Len(t, all, 2)
		require.Equal(t, "cap", all[0][0].Garment)
		s := all[1]
		require.Len(t, s, 2)
		before, _ := s.On(day(2027, 2, 28))
		require.Equal(t, 4, before.Each)
		after, _ := s.On(day(2027, 3, 1))
		require.Equal(t, "black", after.Colour)
		require.True(t, s.Always())
	})
	t.Run("one that is not listed had the new one's", func(t *testing.T) {
		r := programme.Role{Kit: []programme.KitLine{next}}
		s := r.Successions()[0]
		require.Equal(t, burgundy, s[0].Former())
		require.Equal(t, 3, s[0].Each)
		require.Equal(t, day(2027, 2, 28), s[0].Until)
		former, ok := r.Line("apron", "burgundy")
		require.True(t, ok)
		require.Equal(t, s[0], *former)
	})
	t.Run("a change on one day makes two of them", func(t *testing.T) {
		onTheDay := next
		onTheDay.Change = programme.OnTheDay
		for _, kit := range [][]programme.KitLine{{onTheDay}, {line(burgundy, 3), onTheDay}} {
			r := programme.Role{Kit: kit}
			all := r.Successions()
			require.Len(t, all, 2)
			require.Equal(t, burgundy, all[0][0].Former())
			require.False(t, worn(all[0], day(2027, 3, 1)))
			require.False(t, worn(all[1], day(2027, 2, 28)))
			on, l, ok := all[1].NextWorn(day(2026, 1, 1))
			require.True(t, ok)
			require.Equal(t, day(2027, 3, 1), on)
			require.Equal(t, "black", l.Colour)
		}
	})
	t.Run("three in a row", func(t *testing.T) {
		last := line(programme.Former{Garment: "apron", Colour: "navy"}, 3)
		last.From, last.InsteadOf = day(2028, 1, 1), black
		r := programme.Role{Kit: []programme.KitLine{last, next}}
		s := r.Successions()
		require.Len(t, s, 1)
		require.Equal(t, []string{"burgundy", "black", "navy"},
			[]string{s[0][0].Colour, s[0][1].Colour, s[0][2].Colour})
	})
}

func TestASeasonBeginsAndEndsWithItsMonths(t *testing.T) {
	s := programme.Succession{{Garment: "tee", Colour: "black", Each: 3, Months: summer()}}
	require.Equal(t, []programme.Spell{
		{From: day(2026, 1, 1), Until: day(2026, 3, 31)},
		{From: day(2026, 10, 1), Until: day(2027, 3, 31)},
		{From: day(2027, 10, 1), Until: day(2027, 12, 31)},
	}, s.Unworn(day(2025, 12, 31), day(2027, 12, 31)))
	require.Equal(t, [][2]time.Month{{time.April, time.September}}, summer().Runs())
	on, _, ok := s.NextWorn(day(2026, 10, 1))
	require.True(t, ok)
	require.Equal(t, day(2027, 4, 1), on)
}

// Day by day, Unworn leaves out what Worn says, and NextWorn finds the next.
// worn reports whether pieces are worn on a day: a line is in force, in its season.
func worn(s programme.Succession, d programme.Date) bool {
	l, ok := s.On(d)
	return ok && l.Months.Has(d)
}

func TestUnwornDaysAreThoseOnWhichNothingIsWorn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := programme.Date(rapid.IntRange(20000, 20400).Draw(t, "from"))
		to := from + programme.Date(rapid.IntRange(1, 900).Draw(t, "days"))
		second := from + programme.Date(rapid.IntRange(-50, 950).Draw(t, "second"))
		line := func(name string) (l programme.KitLine) {
			l.Garment, l.Colour = "tee", name
			if rapid.Bool().Draw(t, "seasonal") {
				for i := range l.Months {
					l.Months[i] = rapid.Bool().Draw(t, "month")
				}
			}
			return l
		}
		a, b := line("old"), line("new")
		a.Until, b.From, b.InsteadOf = second-1-programme.Date(rapid.IntRange(0, 40).Draw(t, "gap")), second, a.Former()
		if rapid.Bool().Draw(t, "ends") {
			b.Until = second + programme.Date(rapid.IntRange(0, 300).Draw(t, "last"))
		}
		r := programme.Role{Kit: []programme.KitLine{a, b}}
		s := r.Successions()[0]
		off := s.Unworn(from, to)
		for d := from + 1; d <= to; d++ {
			in := false
			for _, x := range off {
				in = in || x.Has(d)
			}
			if in == worn(s, d) {
				t.Fatalf("%s: worn %v", d, worn(s, d))
			}
			on, _, ok := s.NextWorn(d)
			if worn(s, d) && (!ok || on != d) || ok && (on < d || !worn(s, on)) {
				t.Fatalf("%s: next %s", d, on)
			}
		}
	})
}
