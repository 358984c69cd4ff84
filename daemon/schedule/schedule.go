// Package schedule turns cron expressions into slots: planned times of which
// each is due exactly once, whatever the clocks of its zone do. It is a pure
// function of expression, zone and time.
//
// A slot's identity is what a clock on the shop's wall shows. A wall time that
// a change of clocks skips is due at the first instant after the gap; one that
// comes twice is due at its first pass. Schedules that run in every hour of the
// day follow elapsed time instead, and their slots are named in UTC.
package schedule

import (
	"fmt"
	"strings"
	"time"

	"github.com/robfig/cron/v3"
)

// Schedule is a cron expression in a zone.
type Schedule struct {
	text    string
	spec    cron.SpecSchedule
	zone    *time.Location
	elapsed bool // runs in every hour of the day
}

// Slot is one planned time.
type Slot struct {
	Key string    // "2026-03-09T06:30", or "2026-03-09T10:30Z" where it follows elapsed time
	At  time.Time // UTC
}

const form = `write minute, hour, day of month, month and weekday, such as "30 6 * * 1" for Mondays at 6:30`

// Parse reads five cron fields, or @hourly, @daily, @weekly, @monthly. Where
// both day of month and weekday are given, either will do.
func Parse(text string, zone *time.Location) (Schedule, error) {
	text = strings.TrimSpace(text)
	switch {
	case text == "":
		return Schedule{}, fmt.Errorf("the schedule is empty; %s", form)
	case strings.Contains(text, "TZ="):
		return Schedule{}, fmt.Errorf("%q names a time zone; schedules follow the shop's zone, set by time_zone in shop.yaml", text)
	case strings.HasPrefix(text, "@every"):
		return Schedule{}, fmt.Errorf("%q would start anew with the program; write fixed times, such as \"*/10 * * * *\" for every ten minutes", text)
	}
	parsed,
		err := cron.NewParser(cron.Minute | cron.Hour | cron.Dom | cron.Month | cron.Dow | cron.Descriptor).Parse(text)
	if err != nil {
		return Schedule{}, fmt.Errorf("%q is not a schedule (%w); %s", text, err, form)
	}
	spec, ok := parsed.(*cron.SpecSchedule)
	if !ok {
		return Schedule{}, fmt.Errorf("%q is not a schedule; %s", text, form)
	}
	s := Schedule{text: text, spec: *spec, zone: zone}
	s.spec.Location = time.UTC
	const day = 1<<24 - 1
	s.elapsed = s.spec.Hour&day == day
	if s.spec.Next(time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)).IsZero() {
		return Schedule{}, fmt.Errorf("%q never comes: no month has that day", text)
	}
	if s.elapsed {
		s.spec.Location = zone
	}
	return s, nil
}

// String returns the expression.
func (s Schedule) String() string { return s.text }

// Identity tells schedules apart: the expression and the zone it is read in.
func (s Schedule) Identity() string { return s.text + " " + s.zone.String() }

// Next returns the first slot that is due after t.
func (s Schedule) Next(t time.Time) Slot {
	slot := s.from(t.Add(-time.Minute))
	for !slot.At.IsZero() && !slot.At.After(t) {
		slot = s.after(slot)
	}
	return slot
}

// Latest returns the newest slot that is due at now; ok is false when there
// was none in the last five years.
func (s Schedule) Latest(now time.Time) (latest Slot, ok bool) {
	// a day, a week, a month, a year and five, and somewhat more
	for _, hours := range []time.Duration{1, 25, 192, 768, 8808, 43920} {
		for slot := s.from(now.Add(-hours * time.Hour)); !slot.At.IsZero() &&
			!slot.At.After(now); slot = s.after(slot) {
			latest, ok = slot, true
		}
		if ok {
			return latest, true
		}
	}
	return Slot{}, false
}

// mostMissed bounds the count of slots that were passed over.
const mostMissed = 1000

// Due returns the newest slot at or before now that is due later than last,
// and how many between the two it stands for (1000 = that many or more).
func (s Schedule) Due(last, now time.Time) (slot Slot, missed int, ok bool) {
	slot, ok = s.Latest(now)
	if !ok || !slot.At.After(last) {
		return Slot{}, 0, false
	}
	for x := s.Next(last); !x.At.IsZero() && x.At.Before(slot.At) && missed < mostMissed; x = s.after(x) {
		missed++
	}
	return slot, missed, true
}

// from returns the first slot in order after what clocks show at t; none that is due after
// t is left out. Later wall times are never due earlier, and what clocks show at t is due
// by then, so whatever they would have shown before is too; where they were put
// back, some that were due before t come first.
func (s Schedule) from(t time.Time) Slot {
	if s.elapsed {
		return s.instantSlot(s.spec.Next(t.In(s.zone)))
	}
	return s.wallSlot(s.spec.Next(wallOf(t, s.zone)))
}

// after returns the slot that follows in order. Two wall times within one gap
// are due at one instant.
func (s Schedule) after(slot Slot) Slot {
	if s.elapsed {
		return s.instantSlot(s.spec.Next(slot.At.In(s.zone)))
	}
	wall, err := time.Parse(wallForm, slot.Key)
	if err != nil {
		return Slot{}
	}
	return s.wallSlot(s.spec.Next(wall))
}

const wallForm = "2006-01-02T15:04"

func (s Schedule) instantSlot(t time.Time) Slot {
	if t.IsZero() {
		return Slot{}
	}
	return Slot{Key: t.UTC().Format(wallForm) + "Z", At: t.UTC()}
}

func (s Schedule) wallSlot(wall time.Time) Slot {
	if wall.IsZero() {
		return Slot{}
	}
	return Slot{Key: wall.Format(wallForm), At: Instant(wall, s.zone)}
}

// wallOf carries what the wall clock shows at t as if it were UTC.
func wallOf(t time.Time, zone *time.Location) time.Time {
	l := t.In(zone)
	return time.Date(l.Year(), l.Month(), l.Day(), l.Hour(), l.Minute(), l.Second(), l.Nanosecond(), time.UTC)
}

// Instant returns when the clocks of a zone first show a wall time, which is
// carried as UTC; for one that they skip, the first instant after the gap.
func Instant(wall time.Time, zone *time.Location) time.Time {
	t := time.Date(wall.Year(), wall.Month(), wall.Day(), wall.Hour(), wall.Minute(), wall.Second(),
		wall.Nanosecond(), zone)
	start, end := t.ZoneBounds()
	if !wallOf(t, zone).Equal(wall) { // in a gap: t lies within a day of its transition
		if !end.IsZero() && (start.IsZero() || end.Sub(t) < t.Sub(start)) {
			return end.UTC()
		}
		return start.UTC()
	}
	if !start.IsZero() { // shown by the clocks before the last change too?
		_, offset := start.Add(-time.Nanosecond).Zone()
		first := wall.Add(-time.Duration(offset) * time.Second)
		if first.Before(start) {
			return first.UTC()
		}
	}
	return t.UTC()
}

// Zone returns the time zone that shop.yaml names.
func Zone(name string) (*time.Location, error) {
	zone, err := time.LoadLocation(name)
	if err != nil || name == "" || name == "Local" {
		return nil, fmt.Errorf("shop.yaml, time_zone: there is no zone %q; write one such as America/New_York", name)
	}
	return zone, nil
}
