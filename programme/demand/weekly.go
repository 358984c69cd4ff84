package demand

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// byWeek fills expected pieces by week, scaled so that weeks add up to the lines' causes.
func (f *forecast) byWeek(m *Muster, days int) {
	m.Weekly = make([]programme.Causes, m.Weeks)
	for i := range m.Lines {
		l := &m.Lines[i]
		l.Weekly = make([]float64, m.Weeks)
		c := f.scaled(i, l.ByCause, days)
		for w := range l.Weekly {
			part := c[w]
			part.Hires, part.Kit = l.ByCause.Hires*f.hireShare(days, w), f.kitIn(i, w)
			part.Resize = l.ByCause.Resize * float64(min(7*w+7, days)-7*w) / float64(days)
			l.Weekly[w] = part.Sum()
			m.Weekly[w] = m.Weekly[w].Plus(part)
		}
	}
}

// expected returns a line's expected replacements by week within a number of days.
func (f *forecast) expected(line, days int) []programme.Causes {
	out := make([]programme.Causes, len(f.weekly[line]))
	for w, m := range f.weekly[line] {
		p := f.part(days, w)
		for c, x := range m {
			*out[w].At(programme.Cause(c)) = x * p
		}
	}
	return out
}

// scaled returns expected with the sum of by, hires apart.
func (f *forecast) scaled(line int, by programme.Causes, days int) []programme.Causes {
	out := f.expected(line, days)
	sum := 0.0
	for _, c := range out {
		sum += c.Sum()
	}
	scale := 0.0
	if sum > 0 {
		scale = by.Endings.Sum() / sum
	}
	for w := range out {
		out[w] = out[w].Times(scale)
	}
	return out
}

// hireShare returns the share of the horizon's intake that falls in week w.
func (f *forecast) hireShare(days, w int) float64 {
	s := &f.in.Staffing
	all := s.season(f.in.AsOf, float64(days))
	if all <= 0 {
		return 0
	}
	from, to := float64(7*w), math.Min(float64(7*w+7), float64(days))
	return (s.season(f.in.AsOf, to) - s.season(f.in.AsOf, from)) / all
}
