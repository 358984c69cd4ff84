package programme

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// DaySpan is a run of days, first and last included.
type DaySpan struct{ First, Last Date }

// maxSpan is the longest span that is read, in days: a year is a slip of the pen.
const maxSpan = 366

// ParseDaySpan reads a day, 2026-12-25, or an interval of days by its start and
// end, as ISO 8601 writes it: 2026-12-24/2027-01-01.
func ParseDaySpan(s string) (DaySpan, error) {
	first, last, isRange := strings.Cut(s, "/")
	a, err := ParseDate(strings.TrimSpace(first))
	if err != nil || !isRange {
		return DaySpan{a, a}, err
	}
	b, err := ParseDate(strings.TrimSpace(last))
	switch {
	case err != nil:
		return DaySpan{}, err
	case b < a:
		return DaySpan{}, fmt.Errorf("%q ends before it begins; write the first day, a slash, and the last day", s)
	case b.Sub(a) >= maxSpan:
		return DaySpan{}, fmt.Errorf("%q is more than a year", s)
	}
	return DaySpan{a, b}, nil
}

// String returns what ParseDaySpan reads.
func (s DaySpan) String() string {
	if s.First == s.Last {
		return s.First.String()
	}
	return s.First.String() + "/" + s.Last.String()
}

// ClosedDays are the days on which neither the shop works nor those who
// deliver to it and for it: in order, and apart from each other.
type ClosedDays []DaySpan

// Has reports whether the day is one of them.
func (c ClosedDays) Has(d Date) bool {
	return c.Touch(d, d)
}

// Touch reports whether any of them lies between two days, both included.
func (c ClosedDays) Touch(from, to Date) bool {
	i, _ := slices.BinarySearchFunc(c, from, func(s DaySpan, day Date) int { return cmp.Compare(s.Last, day) })
	return i < len(c) && c[i].First <= to
}

// Last returns the last of them; no date when there are none.
func (c ClosedDays) Last() Date {
	if len(c) == 0 {
		return 0
	}
	return c[len(c)-1].Last
}
