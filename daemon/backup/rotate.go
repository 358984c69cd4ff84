package backup

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"
	"time"
)

// Keep says how many copies stay.
type Keep struct{ Daily, Weekly, Monthly int }

// Verdict is one copy and why it stays; no reason means that it goes.
type Verdict struct {
	Copy
	Reasons []string
}

// Judge decides which copies stay: the newest of each of the last days, weeks
// (ISO 8601) and months that have any, by the calendar of zone. copies are
// newest first; the newest always stays.
func (k Keep) Judge(copies []Copy, zone *time.Location) []Verdict {
	verdicts := make([]Verdict, len(copies))
	for i, c := range copies {
		verdicts[i].Copy = c
	}
	for _, rule := range []struct {
		name string
		most int
		of   func(time.Time) string
	}{
		{"day", max(1, k.Daily), func(t time.Time) string { return t.Format("2006-01-02") }},
		{"week", k.Weekly, func(t time.Time) string { y, w := t.ISOWeek(); return fmt.Sprintf("%d-W%02d", y, w) }},
		{"month", k.Monthly, func(t time.Time) string { return t.Format("2006-01") }},
	} {
		last, kept := "", 0
		for i := range verdicts {
			period := rule.of(verdicts[i].At.In(zone))
			if period == last {
				continue
			}
			last = period
			if kept < rule.most {
				kept++
				verdicts[i].Reasons = append(verdicts[i].Reasons, "newest of "+rule.name+" "+period)
			}
		}
	}
	return verdicts
}

// Rotate removes the copies in dir that Judge lets go and returns how many.
func Rotate(dir string, k Keep, zone *time.Location) (removed int, err error) {
	copies, err := List(dir)
	if err != nil {
		return 0, err
	}
	var errs []error
	for _, v := range k.Judge(copies, zone) {
		if len(v.Reasons) > 0 {
			continue
		}
		if err := os.Remove(v.Path); err != nil {
			errs = append(errs, fmt.Errorf("remove an old backup: %w", err))
			continue
		}
		removed++
	}
	return removed, errors.Join(errs...)
}

// LastGone returns the day on which the last of the copies that exist now goes,
// when one is made and old ones are thinned out every day from now on. ok is
// false where there are none, and where they stay for longer than a life.
func (k Keep) LastGone(copies []Copy, now time.Time, zone *time.Location) (day time.Time, ok bool) {
	const longest = 80 * 366
	old := map[string]bool{}
	for _, c := range copies {
		old[c.Path] = true
	}
	day, all := now.In(zone), copies
	for range longest {
		if !slices.ContainsFunc(all, func(c Copy) bool { return old[c.Path] }) {
			return day, len(copies) > 0
		}
		day = day.AddDate(0, 0, 1)
		var stay []Copy
		for _, v := range k.Judge(append([]Copy{{At: day}}, all...), zone) {
			if len(v.Reasons) > 0 {
				stay = append(stay, v.Copy)
			}
		}
		all = stay
	}
	return day, false
}

// Why joins the reasons for people.
func (v Verdict) Why() string { return strings.Join(v.Reasons, ", ") }
