package programme

import (
	"encoding/json"
	"fmt"
	"time"
)

// Date is a civil date without a time zone, counted in days since 1970-01-01.
// The zero value is 1970-01-01 and is used as "no date" in optional fields:
// ask IsZero. The program refuses dates before 1980, so nothing is lost by it.
type Date int32

// NewDate returns the civil date; month and day overflow as in time.Date.
func NewDate(year int, month time.Month, day int) Date {
	return Date(time.Date(year, month, day, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// DateOf returns the civil date that t shows in its own location.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	return NewDate(y, m, d)
}

// ParseDate reads the ISO form 2006-01-02 and refuses days that do not exist.
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return 0, fmt.Errorf("%q is not a date; write it as year-month-day, such as 2026-03-09", s)
	}
	return DateOf(t), nil
}

// IsZero reports whether d stands for "no date".
func (d Date) IsZero() bool { return d == 0 }

// Earlier returns the earlier of two days, of which each may be "no date".
func (d Date) Earlier(e Date) Date {
	if d.IsZero() || !e.IsZero() && e < d {
		return e
	}
	return d
}

// Time returns midnight UTC of d, for formatting only.
func (d Date) Time() time.Time { return time.Unix(int64(d)*86400, 0).UTC() }

// Add returns the date n days later.
func (d Date) Add(n int) Date { return d + Date(n) }

// Sub returns the whole days from e to d.
func (d Date) Sub(e Date) int { return int(d - e) }

// Weekday returns the day of the week.
func (d Date) Weekday() time.Weekday { return d.Time().Weekday() }

// String returns the ISO form, or an empty text for no date.
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return d.Time().Format(time.DateOnly)
}

// MarshalJSON writes the ISO form; no date is null.
func (d Date) MarshalJSON() ([]byte, error) {
	if d.IsZero() {
		return []byte("null"), nil
	}
	return json.Marshal(d.String())
}

// UnmarshalJSON reads what MarshalJSON writes.
func (d *Date) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*d = 0
		return nil
	}
	var s string
	if err := json.Unmarshal(b, &s); err != nil {
		return err
	}
	v, err := ParseDate(s)
	*d = v
	return err
}
