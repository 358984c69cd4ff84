package wear

import "github.com/kitmuster/kitmuster/programme"

// Season holds the factor on usual wear of each month, mean 1 over the year.
type Season [12]float64

// NewSeason scales month factors to mean 1 by days; an empty table is all 1.
func NewSeason(months [12]float64) Season {
	days := [12]float64{31, 28.2425, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31}
	sum := 0.0
	for i, f := range months {
		sum += f * days[i]
	}
	for i := range months {
		if sum <= 0 {
			months[i] = 1
			continue
		}
		months[i] *= daysPerYear / sum
	}
	return months
}

// Days returns the days after from up to to, each weighed by its month.
func (s *Season) Days(from, to programme.Date) float64 {
	sum := 0.0
	for d := from + 1; d <= to; {
		t := d.Time()
		last := min(to, programme.NewDate(t.Year(), t.Month()+1, 0))
		sum += s[t.Month()-1] * float64(last-d+1)
		d = last + 1
	}
	return sum
}

// Wearing returns the days of usual wear after from up to to: as many as there are,
// unless the programme says that some months wear harder.
func (b *Book) Wearing(from, to programme.Date) float64 {
	if b.season == nil {
		return float64(to - from)
	}
	return b.season.Days(from, to)
}
