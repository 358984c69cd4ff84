package reorder

import (
	"time"

	"github.com/kitmuster/kitmuster/programme"
)

// A working day is Monday to Friday. Public holidays differ from place to
// place and are not known here: a shop adds them to its lead times.

func working(d programme.Date) bool {
	w := d.Weekday()
	return w != time.Saturday && w != time.Sunday
}

// onOrAfter returns d, or the Monday after it when d falls on a weekend.
func onOrAfter(d programme.Date) programme.Date {
	for !working(d) {
		d++
	}
	return d
}

// onOrBefore returns d, or the Friday before it when d falls on a weekend.
func onOrBefore(d programme.Date) programme.Date {
	for !working(d) {
		d--
	}
	return d
}

// addWorking returns the working day n working days after d, n >= 0.
func addWorking(d programme.Date, n int) programme.Date {
	d = onOrAfter(d)
	for ; n > 0; n-- {
		d = onOrAfter(d + 1)
	}
	return d
}
