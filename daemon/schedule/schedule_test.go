package schedule_test

import (
	"fmt"
	"math/rand/v2"
	"os"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/daemon/schedule"
)

func zone(t require.TestingT, name string) *time.Location {
	z, err := time.LoadLocation(name)
	require.NoError(t, err)
	return z
}

func parse(t require.TestingT, text, in string) schedule.Schedule {
	s, err := schedule.Parse(text, zone(t, in))
	require.NoError(t, err)
	return s
}

// Changes of clocks are those of the IANA time zone database (iana.org/time-zones).
func TestSlotsAtChangesOfClocks(t *testing.T) {
	for _, c := range []struct {
		name, text, zone, after string
		want                    []string // key and instant
	}{
		{"a skipped half past two is due when the gap ends", "30 2 * * *", "America/New_York", "2026-03-07T12:00:00Z",
			[]string{"2026-03-08T02:30 2026-03-08T07:00:00Z", "2026-03-09T02:30 2026-03-09T06:30:00Z"}},
		{"a weekly slot in the gap is not lost", "30 2 * * 0", "America/New_York", "2026-03-02T12:00:00Z",
			[]string{"2026-03-08T02:30 2026-03-08T07:00:00Z", "2026-03-15T02:30 2026-03-15T06:30:00Z"}},
		{"a doubled half past one is due at its first pass", "30 1 * * *", "America/New_York", "2026-10-31T12:00:00Z",
			[]string{"2026-11-01T01:30 2026-11-01T05:30:00Z", "2026-11-02T01:30 2026-11-02T06:30:00Z"}},
		{"a midnight that is skipped", "@daily", "America/Santiago", "2026-09-05T12:00:00Z",
			[]string{"2026-09-06T00:00 2026-09-06T04:00:00Z", "2026-09-07T00:00 2026-09-07T03:00:00Z"}},
		{"half an hour in Lord Howe", "15 2 * * *", "Australia/Lord_Howe", "2026-10-03T00:00:00Z",
			[]string{"2026-10-04T02:15 2026-10-03T15:30:00Z", "2026-10-05T02:15 2026-10-04T15:15:00Z"}},
		{"two slots in one gap are due at one instant", "15,45 2 * * *", "Europe/Berlin", "2026-03-28T12:00:00Z",
			[]string{"2026-03-29T02:15 2026-03-29T01:00:00Z", "2026-03-30T02:15 2026-03-30T00:15:00Z"}},
		{"a day that was skipped whole", "0 9 * * *", "Pacific/Apia", "2011-12-29T19:30:00Z",
			[]string{"2011-12-30T09:00 2011-12-30T10:00:00Z", "2011-12-31T09:00 2011-12-30T19:00:00Z"}},
		{"every ten minutes goes on through a doubled hour", "*/30 * * * *", "Europe/Berlin", "2026-10-25T00:10:00Z",
			[]string{"2026-10-25T00:30Z 2026-10-25T00:30:00Z", "2026-10-25T01:00Z 2026-10-25T01:00:00Z",
				"2026-10-25T01:30Z 2026-10-25T01:30:00Z"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			s := parse(t, c.text, c.zone)
			at, err := time.Parse(time.RFC3339, c.after)
			require.NoError(t, err)
			for _, want := range c.want {
				slot := s.Next(at)
				require.Equal(t, want, slot.Key+" "+slot.At.Format(time.RFC3339))
				latest, ok := s.Latest(slot.At)
				require.True(t, ok)
				require.Equal(t, slot.At, latest.At)
				at = slot.At
			}
		})
	}
}

// Instant against a walk over every minute: the first minute at which the
// highest reading of the wall clock so far is at or past the wall time.
func TestInstantAgainstAClockThatIsWatched(t *testing.T) {
	for _, c := range []struct{ zone, from string }{
		{"America/New_York", "2026-03-07"}, {"America/New_York", "2026-10-31"}, {"Europe/Berlin", "2026-03-28"},
		{"Europe/Berlin", "2026-10-24"},
		{"Australia/Lord_Howe", "2026-04-04"}, {"Australia/Lord_Howe", "2026-10-03"},
		{"America/Santiago", "2026-04-04"}, {"America/Santiago", "2026-09-05"},
		{"Asia/Kolkata", "2026-05-01"}, {"UTC", "2026-05-01"}, {"Pacific/Apia", "2011-12-29"},
		{"Africa/Casablanca", "2026-02-14"},
	} {
		t.Run(c.zone+" "+c.from, func(t *testing.T) {
			z := zone(t, c.zone)
			begin, err := time.Parse("2006-01-02", c.from)
			require.NoError(t, err)
			first := map[string]time.Time{}
			next := begin // wall time not yet reached
			for now := begin.Add(-30 * time.Hour); now.Before(begin.Add(80 * time.Hour)); now = now.Add(time.Minute) {
				l := now.In(z)
				wall := time.Date(l.Year(), l.Month(), l.Day(), l.Hour(), l.Minute(), 0, 0, time.UTC)
				for ; !next.After(wall); next = next.Add(time.Minute) {
					first[next.String()] = now
				}
			}
			require.Greater(t, len(first), 2*24*60)
			for wall := begin; wall.Before(begin.Add(48 * time.Hour)); wall = wall.Add(time.Minute) {
				require.Equal(t, first[wall.String()], schedule.Instant(wall, z), "wall %s", wall)
			}
		})
	}
}

var zones = []string{"America/New_York", "Europe/Berlin", "Australia/Lord_Howe", "America/Santiago",
	"Asia/Kolkata", "UTC"}

// yearly are schedules, when the clock on the wall shows a time of theirs, and
// how many such times the calendar of 2026 has.
var yearly = []struct {
	text  string
	shows func(wall time.Time) bool
	times int
}{
	{"30 2 * * *", func(w time.Time) bool { return w.Hour() == 2 && w.Minute() == 30 }, 365},
	{"30 1 * * *", func(w time.Time) bool { return w.Hour() == 1 && w.Minute() == 30 }, 365},
	{"@daily", func(w time.Time) bool { return w.Hour() == 0 && w.Minute() == 0 }, 365},
	{"45 23 * * *", func(w time.Time) bool { return w.Hour() == 23 && w.Minute() == 45 }, 365},
	{"30 6 * * 1", func(w time.Time) bool { return w.Weekday() == time.Monday && w.Hour() == 6 && w.Minute() == 30 },
		52},
	{"15 2 * * 0", func(w time.Time) bool { return w.Weekday() == time.Sunday && w.Hour() == 2 && w.Minute() == 15 },
		52},
	{"0 0 1 * *", func(w time.Time) bool { return w.Day() == 1 && w.Hour() == 0 && w.Minute() == 0 }, 12},
	{"0 8-18/2 * * 1-5", func(w time.Time) bool {
		return w.Weekday() != time.Saturday && w.Weekday() != time.Sunday && w.Hour() >= 8 && w.Hour() <= 18 &&
			w.Hour()%2 == 0 && w.Minute() == 0
	}, 261 * 6},
}

// A year of each zone with a machine that is off at random: at each look the
// newest slot that a watched clock has shown since the last one runs, and
// stands for those between the two. Slots come from the watch alone.
func TestAYearWithRandomDowntime(t *testing.T) {
	most := 600 // minutes between two looks
	switch {
	case os.Getenv("KITMUSTER_FULL") == "1":
		most = 10
	case testing.Short():
		most = 6000
	}
	for _, name := range zones {
		z := zone(t, name)
		begin := time.Date(2026, 1, 1, 0, 0, 0, 0, z).UTC()
		end := time.Date(2027, 1, 1, 0, 0, 0, 0, z).UTC()
		shown := watch(z, begin, end)
		for _, y := range yearly {
			t.Run(name+" "+y.text, func(t *testing.T) {
				var due []schedule.Slot
				for _, m := range shown {
					if y.shows(m.wall) {
						due = append(due, schedule.Slot{Key: m.wall.Format("2006-01-02T15:04"), At: m.at})
					}
				}
				require.Len(t, due, y.times)
				liveAYear(t, parse(t, y.text, name), due, begin, end, most)
			})
		}
		t.Run(name+" every hour", func(t *testing.T) {
			var due []schedule.Slot
			for now := begin; now.Before(end); now = now.Add(time.Minute) {
				if now.In(z).Minute() == 20 {
					due = append(due, schedule.Slot{Key: now.Format("2006-01-02T15:04Z"), At: now})
				}
			}
			require.InDelta(t, 365*24, len(due), 1, "half an hour in Lord Howe skips one")
			liveAYear(t, parse(t, "20 * * * *", name), due, begin, end, most)
		})
	}
}

// minute is a minute of the clock on the wall, carried as UTC, and when it was
// first shown or, where the clocks skip it, passed.
type minute struct{ wall, at time.Time }

// watch looks at the clock every minute and lists what it has shown, in the order of the clock.
func watch(z *time.Location, begin, end time.Time) []minute {
	var all []minute
	var next time.Time // not yet shown
	for now := begin; now.Before(end); now = now.Add(time.Minute) {
		l := now.In(z)
		wall := time.Date(l.Year(), l.Month(), l.Day(), l.Hour(), l.Minute(), 0, 0, time.UTC)
		if next.IsZero() {
			next = wall
		}
		for ; !next.After(wall); next = next.Add(time.Minute) {
			if next.Minute()%15 == 0 { // all that the schedules above ask for
				all = append(all, minute{next, now})
			}
		}
	}
	return all
}

func liveAYear(t *testing.T, s schedule.Schedule, due []schedule.Slot, begin, end time.Time, most int) {
	t.Helper()
	chance := rand.New(rand.NewPCG(1, uint64(len(s.String()))))
	last, done, ran := begin.Add(-time.Second), 0, 0
	look := func(now time.Time) {
		until := done
		for until < len(due) && !due[until].At.After(now) {
			until++
		}
		slot, missed, ok := s.Due(last, now)
		switch {
		case ok != (until > done):
			require.Fail(t, "due", "%s: %v where %d slots were shown", now, ok, until-done)
		case ok && (slot != due[until-1] || missed != until-1-done):
			require.Fail(t, "slot", "%s: %v for %d, not %v for %d", now, slot, missed, due[until-1], until-1-done)
		case ok:
			last, done, ran = slot.At, until, ran+1
		}
	}
	for now := begin; now.Before(end); {
		look(now)
		step := time.Duration(1+chance.IntN(most)) * time.Minute
		if chance.IntN(200) == 0 {
			step = time.Duration(1+chance.IntN(10*24*60)) * time.Minute // off
		}
		now = now.Add(step)
	}
	look(end.Add(-time.Second))
	require.Equal(t, len(due), done, "each is run or stood for")
	require.Greater(t, ran, 2)
}

func TestNextAndLatestAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		in := rapid.SampledFrom(append(zones, "Africa/Casablanca", "Pacific/Chatham", "Asia/Tehran")).Draw(t, "zone")
		text := rapid.SampledFrom([]string{"30 2 * * *", "0,30 1-3 * * *", "*/7 * * * *", "0 12 29 2 *", "5 0 * * 0",
			"59 23 31 12 *"}).Draw(t, "text")
		s := parse(t, text, in)
		now := time.Unix(rapid.Int64Range(1_735_689_600, 1_893_456_000).Draw(t, "now"), 0).UTC()
		next := s.Next(now)
		require.True(t, next.At.After(now))
		latest, ok := s.Latest(now)
		require.True(t, ok)
		require.False(t, latest.At.After(now))
		require.Equal(t, next.At, s.Next(latest.At).At, "nothing lies between the two")
		_, _, due := s.Due(latest.At, now)
		require.False(t, due)
	})
}

func TestBadSchedulesSayWhatWouldBeRight(t *testing.T) {
	for text, want := range map[string]string{
		"":                          "empty",
		"30 6 * *":                  "minute, hour, day of month",
		"30 6 * * 7":                "not a schedule",
		"61 6 * * 1":                "not a schedule",
		"0 0 31 2 *":                "never comes",
		"CRON_TZ=Europe/Paris":      "time_zone in shop.yaml",
		"TZ=UTC 0 0 * * *":          "time_zone in shop.yaml",
		"@every 5m":                 "*/10",
		"@fortnightly":              "not a schedule",
		"30 6 * * 1; rm -rf":        "not a schedule",
		"99999999999999999 * * * *": "not a schedule",
	} {
		_, err := schedule.Parse(text, time.UTC)
		require.ErrorContains(t, err, want, text)
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"30 6 * * 1", "@daily", "TZ=", "CRON_TZ=UTC", "*/0 * * * *", "0-59/7 1,2 * jan-mar mon",
		"1-0 * * * *", "@every 1h", "\x00"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := schedule.Parse(text, time.UTC)
		if err != nil {
			return
		}
		now := time.Date(2026, 3, 8, 0, 0, 0, 0, time.UTC)
		next := s.Next(now)
		require.True(t, next.At.After(now))
		again, err := schedule.Parse(s.String(), time.UTC)
		require.NoError(t, err)
		require.Equal(t, next, again.Next(now))
	})
}

func BenchmarkDue(b *testing.B) {
	for _, text := range []string{"* * * * *", "30 6 * * 1"} {
		b.Run(fmt.Sprintf("%q", text), func(b *testing.B) {
			s := parse(b, text, "America/New_York")
			now := time.Date(2026, 11, 1, 5, 40, 0, 0, time.UTC)
			for b.Loop() {
				s.Due(now.Add(-time.Minute), now)
			}
		})
	}
}

// A slot that comes every four years is found up to five years back, and no further.
func TestTheLatestSlotIsLookedForOverALeapYear(t *testing.T) {
	s, err := schedule.Parse("30 6 29 2 *", time.UTC)
	require.NoError(t, err)
	slot, ok := s.Latest(time.Date(2028, 2, 29, 6, 29, 0, 0, time.UTC))
	require.True(t, ok)
	require.Equal(t, "2024-02-29T06:30", slot.Key)
	_, ok = s.Latest(time.Date(2103, 12, 1, 0, 0, 0, 0, time.UTC))
	require.False(t, ok, "2096 is more than five years back")
}

func TestSlotsPassedOverAreCountedUpToAThousand(t *testing.T) {
	s, err := schedule.Parse("* * * * *", time.UTC)
	require.NoError(t, err)
	now := time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC)
	for minutes, want := range map[int]int{1: 0, 2: 1, 1001: 1000, 5000: 1000} {
		_, missed, ok := s.Due(now.Add(-time.Duration(minutes)*time.Minute), now)
		require.True(t, ok)
		require.Equal(t, want, missed, "%d minutes", minutes)
	}
}
