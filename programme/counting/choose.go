package counting

import (
	"cmp"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Row is one person's pieces of a garment, colour and size, as the records have them.
type Row struct {
	StaffID string
	programme.SKU
	Pieces int
	// Missing is the expected number of them that have ended unseen, Noise the
	// variance of that where the share of unseen endings is known, and Slope how far
	// Missing moves with that share.
	Missing, Noise, Slope float64
}

// Line holds what an order weighs of a garment, colour and size.
type Line struct {
	// SD is the standard deviation of the need that the order is made for.
	SD float64
	// Short and Over are what a piece too few and a piece too many cost the client
	// and the shop, over one order; Week is what a week without a piece costs that
	// somebody misses today. In the shop's currency.
	Short, Over, Week float64
}

// Terms holds what all rows have in common.
type Terms struct {
	// ShareSD is the standard deviation of what is believed of the share of unseen endings.
	ShareSD float64
	// Weeks are those until what is missing would come to light without a count: the
	// order's goods are handed out then.
	Weeks float64
	// Minute is the cost of a minute of counting, in the shop's currency.
	Minute float64
}

// Minutes of counting (common practice, no source): to see a person, to look
// through one garment of theirs, and for a form altogether.
const (
	PersonMinutes  = 1.0
	GarmentMinutes = 0.5
	FormMinutes    = 10.0
)

// Choice is the part that is worth counting.
type Choice struct {
	Rows []int // of the rows given, in their order
	// Saving is the expected saving by the count, before the minutes it takes; Cost is the
	// cost of the minutes.
	Saving, Cost float64
	Minutes      float64
}

// Net returns the expected saving of the count less the cost of its minutes.
func (c *Choice) Net() float64 { return c.Saving - c.Cost }

// Choose picks rows one after the other, each time the one that saves most for
// its minutes, while it saves more than they cost; no rows where all of them
// together do not pay for the form. most limits their number; 0 = none.
//
// What a count saves is the expected value of sample information (Raiffa and
// Schlaifer, Applied Statistical Decision Theory, 1961, part 2): the order is the
// newsvendor's for each line, with a normal need, whose least cost is
// (Short + Over) · φ(z) · SD with Φ(z) = Short / (Short + Over). A count takes the
// noise of its rows out of the need of their lines, and narrows the share of
// unseen endings, which all lines have in common, as a linear regression of what
// is missing on the slopes does. To it comes what is given back at once to those
// who miss it: Week for each of Weeks.
func Choose(rows []Row, lines map[programme.SKU]Line, t Terms, most int) Choice {
	s := newSearch(rows, lines, t)
	var out Choice
	seen := map[string]bool{}
	for most <= 0 || len(out.Rows) < most {
		best, gain, minutes := -1, 0.0, 0.0
		for i := range rows {
			if s.in[i] {
				continue
			}
			m := GarmentMinutes
			if !seen[rows[i].StaffID] {
				m += PersonMinutes
			}
			if g := s.gain(i) - m*t.Minute; best < 0 || g/m > gain/minutes {
				best, gain, minutes = i, g, m
			}
		}
		if best < 0 || gain <= 0 {
			break
		}
		out.Saving += gain + minutes*t.Minute
		out.Minutes += minutes
		s.take(best)
		seen[rows[best].StaffID] = true
		out.Rows = append(out.Rows, best)
	}
	out.Minutes += FormMinutes
	out.Cost = out.Minutes * t.Minute
	if len(out.Rows) == 0 || out.Net() <= 0 {
		return Choice{}
	}
	slices.SortFunc(out.Rows, cmp.Compare[int])
	return out
}

// search keeps what is left to be known while rows are taken.
type search struct {
	rows  []Row
	line  []int // of each row
	lines []lineState
	terms Terms
	in    []bool
	// precision is 1 / variance of the share of unseen endings.
	precision float64
	loss      float64 // of all lines
}

// lineState is one line with the rows not taken yet.
type lineState struct {
	Line
	rate  float64 // cost of a standard deviation
	own   float64 // variance of the need without unseen endings
	noise float64
	slope float64
}

func newSearch(rows []Row, lines map[programme.SKU]Line, t Terms) *search {
	s := &search{rows: rows, line: make([]int, len(rows)), terms: t, in: make([]bool, len(rows)),
		precision: math.Inf(1)}
	if t.ShareSD > 0 {
		s.precision = 1 / (t.ShareSD * t.ShareSD)
	}
	at := map[programme.SKU]int{}
	for i := range rows {
		k := rows[i].SKU
		j, ok := at[k]
		if !ok {
			j = len(s.lines)
			at[k] = j
			l := lines[k]
			s.lines = append(s.lines, lineState{Line: l, rate: rate(l)})
		}
		s.line[i] = j
		s.lines[j].noise += rows[i].Noise
		s.lines[j].slope += rows[i].Slope
	}
	for j := range s.lines {
		l := &s.lines[j]
		// The forecast's own spread holds what may be missing unseen.
		l.own = max(0.05*l.SD*l.SD, l.SD*l.SD-l.noise-l.slope*l.slope/s.precision)
	}
	s.loss = s.losses(s.precision)
	return s
}

// rate returns what a standard deviation of the need costs the newsvendor.
func rate(l Line) float64 {
	sum := l.Short + l.Over
	if l.Short <= 0 || l.Over <= 0 {
		return 0
	}
	z := math.Sqrt2 * math.Erfinv(2*l.Short/sum-1)
	return sum * math.Exp(-z*z/2) / math.Sqrt(2*math.Pi)
}

func (l *lineState) cost(precision float64) float64 {
	return l.rate * math.Sqrt(l.own+l.noise+l.slope*l.slope/precision)
}

func (s *search) losses(precision float64) float64 {
	sum := 0.0
	for j := range s.lines {
		sum += s.lines[j].cost(precision)
	}
	return sum
}

// sharper returns the precision of the share once a row is counted.
func (s *search) sharper(r *Row) float64 {
	if r.Noise <= 0 {
		return s.precision
	}
	return s.precision + r.Slope*r.Slope/r.Noise
}

// gain returns the money that counting one more row saves.
func (s *search) gain(i int) float64 {
	r, l := &s.rows[i], &s.lines[s.line[i]]
	now, before := s.sharper(r), *l
	l.noise, l.slope = max(0, l.noise-r.Noise), max(0, l.slope-r.Slope)
	saved := s.loss - s.losses(now)
	*l = before
	return saved + r.Missing*l.Week*s.terms.Weeks
}

func (s *search) take(i int) {
	r, l := &s.rows[i], &s.lines[s.line[i]]
	s.precision = s.sharper(r)
	l.noise, l.slope = max(0, l.noise-r.Noise), max(0, l.slope-r.Slope)
	s.loss = s.losses(s.precision)
	s.in[i] = true
}
