package reorder

import (
	"github.com/kitmuster/kitmuster/programme"
)

// calendar counts working days: Monday to Friday, save the days on which the
// shop and those who deliver to it are closed. Public holidays differ from
// place to place and are known only as the shop lists them.
type calendar struct{ closed programme.ClosedDays }

func (c calendar) working(d programme.Date) bool {
	// 1970-01-01, day 0, was a Thursday; of Monday to Sunday, 5 and 6 are the weekend.
	weekday := (int(d)%7 + 7 + 3) % 7
	return weekday < 5 && !c.closed.Has(d)
}

// onOrAfter returns d, or the next working day when d is none.
func (c calendar) onOrAfter(d programme.Date) programme.Date {
	for !c.working(d) {
		d++
	}
	return d
}

// onOrBefore returns d, or the working day before it when d is none.
func (c calendar) onOrBefore(d programme.Date) programme.Date {
	for !c.working(d) {
		d--
	}
	return d
}

// addWorking returns the working day n working days after d, n >= 0.
func (c calendar) addWorking(d programme.Date, n int) programme.Date {
	d = c.onOrAfter(d)
	for ; n > 0; n-- {
		d = c.onOrAfter(d + 1)
	}
	return d
}

// add returns the day n calendar days after d, n >= 0. Closed days do not
// count: on them nothing is printed, packed or driven about.
func (c calendar) add(d programme.Date, n int) programme.Date {
	for n > 0 {
		if d++; !c.closed.Has(d) {
			n--
		}
	}
	return d
}

// between counts the calendar days after from and up to to without the closed
// ones, so that add(from, between(from, to)) is to where to is not closed.
func (c calendar) between(from, to programme.Date) (n int) {
	for d := from + 1; d <= to; d++ {
		if !c.closed.Has(d) {
			n++
		}
	}
	return n
}
