package programme

import (
	"slices"
	"time"
)

// Months are months of every year, January first; none named means all of them.
type Months [12]bool

// All reports whether no month is left out.
func (m Months) All() bool { return !slices.Contains(m[1:], !m[0]) }

// Has reports whether a day lies in one of the months.
func (m Months) Has(d Date) bool { return m.All() || m[d.Time().Month()-1] }

// next returns the first day from d on in one of the months.
func (m Months) next(d Date) Date {
	for !m.Has(d) {
		d = nextMonth(d)
	}
	return d
}

func nextMonth(d Date) Date {
	t := d.Time()
	return NewDate(t.Year(), t.Month()+1, 1)
}

// Runs returns the months as stretches that follow one another, each with its first and
// last month, from the first that begins in the year; a winter goes over its end.
// None where all the year is meant.
func (m Months) Runs() (runs [][2]time.Month) {
	if m.All() {
		return nil
	}
	for i := range m {
		if !m[i] || m[(i+11)%12] {
			continue
		}
		last := i
		for m[(last+1)%12] {
			last++
		}
		runs = append(runs, [2]time.Month{time.Month(i + 1), time.Month(last%12 + 1)})
	}
	return runs
}
