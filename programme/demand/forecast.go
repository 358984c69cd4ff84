package demand

import (
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Format is the version of the JSON shape of a Muster.
const Format = 1

// Muster returns the client's state and forecast for weeks 1..weeks after AsOf.
func (in *Input) Muster(weeks int) Muster { return in.Forecast(7 * weeks)[0] }

// Forecast returns one Muster per number of days after AsOf, in rising order
// of days. All have lines with their distributions; only the last has the
// client's total, weekly means and the outlook of each piece, which a trigger
// does not need.
func (in *Input) Forecast(days ...int) []Muster {
	days = slices.Clone(days)
	slices.Sort(days)
	f := newForecast(in, days[len(days)-1])
	out := make([]Muster, len(days))
	for i, d := range days {
		out[i] = f.muster(d, i == len(days)-1)
	}
	return out
}

// forecast holds what all horizons of one client share.
type forecast struct {
	*scene
	days       int
	predictors map[wear.Class]*predictor
	counters   map[wear.Class]*counter
	classes    []wear.Class
	// weekly is expected needs by line, week and cause (hires apart), without
	// further renewals first, with them after renew.
	weekly [][][causes]float64
	pEnd   [][]float64 // by holder and piece
}

func newForecast(in *Input, days int) *forecast {
	f := &forecast{scene: newScene(in), days: days, predictors: map[wear.Class]*predictor{}, counters: map[wear.Class]*counter{}}
	weeks := (days + 6) / 7
	for _, t := range in.Book.Classes() {
		f.classes = append(f.classes, t.Class)
		f.predictors[t.Class] = newPredictor(in.Learnt[t.Class], weeks)
	}
	for i := range f.holders {
		h := &f.holders[i]
		h.quicken(f.predictors[h.use.Class.Class])
	}
	expected := f.expect(weeks)
	e := coarse
	if in.Client.Known { // worked examples are wanted to all their digits
		e = fine
	}
	for _, c := range f.classes {
		ahead := float64(days) / 7
		f.counters[c] = newCounter(ruleOf(in.Learnt[c], expected[c], f.sample(c), ahead), newExact(in.Learnt[c]), ahead, e)
	}
	return f
}

// sampleSize is how many pieces stand for a class when laws are weighed.
const sampleSize = 32

// sample picks pieces of a class evenly.
func (f *forecast) sample(c wear.Class) []sampled {
	var all []sampled
	for i := range f.holders {
		if h := &f.holders[i]; h.use.Class.Class == c {
			for _, age := range h.ages {
				all = append(all, sampled{age: age, Rotation: h.rot})
			}
		}
	}
	step := len(all)/sampleSize + 1
	var out []sampled
	for i := 0; i < len(all); i += step {
		p := all[i]
		p.logAge, p.logThen = math.Log(p.age), math.Log(p.age+p.Pace*float64(f.days)/7)
		out = append(out, p)
	}
	return out
}

// renewing is what is renewed of one line by pieces worn alike.
type renewing struct {
	line  int
	class wear.Class
	rot   Rotation
}

// expect fills weekly means and chances of pieces; it returns expected first
// endings by class and cause over all weeks.
func (f *forecast) expect(weeks int) map[wear.Class][causes]float64 {
	f.weekly = make([][][causes]float64, len(f.lines))
	for i := range f.weekly {
		f.weekly[i] = make([][causes]float64, weeks)
	}
	f.pEnd = make([][]float64, len(f.holders))
	firsts := map[renewing][]float64{}
	var order []renewing
	totals := map[wear.Class][causes]float64{}
	for i := range f.holders {
		h := &f.holders[i]
		key := renewing{f.at[h.sku], h.use.Class.Class, h.rot}
		if firsts[key] == nil {
			firsts[key] = make([]float64, weeks)
			order = append(order, key)
		}
		total := totals[key.class]
		f.pEnd[i] = f.expectHolder(h, firsts[key], f.weekly[key.line], &total)
		totals[key.class] = total
	}
	for _, key := range order {
		f.renew(key, firsts[key])
	}
	return totals
}

func (f *forecast) expectHolder(h *holder, first []float64, weekly [][causes]float64, total *[causes]float64) []float64 {
	pEnd := make([]float64, len(h.pieces))
	p := f.predictors[h.use.Class.Class]
	share := 1.0
	if n := len(h.pieces); h.surplus > 0 {
		share = float64(n-h.surplus) / float64(n)
	}
	for i := range h.pieces {
		for w, m := range p.ofUnseen(h.ages[i], h.rot, h.unseen[i]).weekly {
			there := f.there(h, w)
			for c, x := range m {
				weekly[w][c] += share * there * x
				total[c] += x
				first[w] += share * there * x
				pEnd[i] += there * x * f.part(f.days, w)
			}
		}
	}
	return pEnd
}

// there is the chance that a holder is still there in the middle of week w (0 = first).
func (f *forecast) there(h *holder, w int) float64 {
	if !h.lastDay.IsZero() {
		return min(1, max(0, float64(h.lastDay-f.in.AsOf)/7-float64(w)))
	}
	return f.in.Staffing.Leaving.Survival((float64(w) + 0.5) / weeksPerYear)
}

// part is the share of week w that lies within a number of days.
func (f *forecast) part(days, w int) float64 { return min(1, max(0, float64(days-7*w)/7)) }

// renew adds the endings of replacements.
func (f *forecast) renew(key renewing, first []float64) {
	again := f.predictors[key.class].renewedWeekly(key.rot)
	weekly := f.weekly[key.line]
	for w, m := range first {
		if m == 0 {
			continue
		}
		for d := 0; w+d < len(weekly); d++ {
			for c, x := range again[d] {
				weekly[w+d][c] += m * x
			}
		}
	}
}

func (f *forecast) muster(days int, whole bool) Muster {
	m := Muster{Format: Format, Client: f.in.Client.Code, AsOf: f.in.AsOf, Weeks: (days + 6) / 7}
	worn, garments, total := f.count(days, whole)
	known := f.startersBy(days)
	h := newHires(f.in.Shop, f.in.Client, &f.in.Staffing, f.in.AsOf, float64(days), f.people(days))
	for i, k := range f.lines {
		m.Lines = append(m.Lines, f.line(i, k, worn[i], h.sized(k), known[i], days))
	}
	for i, n := range f.reissuable() {
		m.Lines[i].Reissuable = n
	}
	f.stock(&m, days)
	if !whole {
		return m
	}
	shift := 0
	for _, n := range known {
		shift += n
	}
	m.Total = total.plus(h.all(func(*programme.KitLine) bool { return true })).plus(certainly(shift)).describe()
	m.Garments = f.garments(garments, h, known)
	f.byWeek(&m, days)
	m.Pieces = f.outlooks()
	return m
}

// count returns the law of replacements by line and, when whole, by garment
// and of all together.
func (f *forecast) count(days int, whole bool) (lines []pmf, garments map[string]pmf, total pmf) {
	weeks := float64(days) / 7
	stay := f.in.Staffing.stay(weeks)
	var together ties
	lines, garments, total = make([]pmf, len(f.lines)), map[string]pmf{}, certainly(0)
	for i := range lines {
		lines[i] = certainly(0)
	}
	for _, c := range f.classes {
		counter := f.counters[c]
		sums := map[int][]sum{}
		for i := range f.holders {
			h := &f.holders[i]
			if h.use.Class.Class != c {
				continue
			}
			line := f.at[h.sku]
			if sums[line] == nil {
				sums[line] = make([]sum, len(counter.laws))
			}
			staying := f.stayOf(h, weeks, stay)
			means := counter.add(h, staying, sums[line])
			if whole {
				together.add(h.person, "", staying, means)
				together.add(h.person, h.sku.Garment, staying, means)
			}
		}
		all := make([]sum, len(counter.laws))
		one := make([]sum, len(counter.laws))
		garment := ""
		flush := func() {
			if garment == "" {
				return
			}
			before, ok := garments[garment]
			if !ok {
				before = certainly(0)
			}
			garments[garment] = before.plus(mixed(counter.laws, one))
			for q := range one {
				all[q].addPMF(one[q].pmf())
				one[q] = sum{}
			}
		}
		for line := range f.lines {
			s := sums[line]
			if s == nil {
				continue
			}
			lines[line] = lines[line].plus(mixed(counter.laws, s))
			if !whole {
				continue
			}
			if f.lines[line].Garment != garment {
				flush()
				garment = f.lines[line].Garment
			}
			for q := range s {
				one[q].addPMF(s[q].pmf())
			}
		}
		if whole {
			flush()
			total = total.plus(mixed(counter.laws, all))
		}
	}
	for g := range garments {
		garments[g] = garments[g].widened(together.covariance(g))
	}
	return lines, garments, total.widened(together.covariance(""))
}

func (s *sum) addPMF(g pmf) {
	s.add(g.p)
	s.lo += g.lo
}

func (f *forecast) stayOf(h *holder, weeks float64, stay staying) staying {
	if h.lastDay.IsZero() {
		return stay
	}
	return until(min(weeks, float64(h.lastDay-f.in.AsOf)/7))
}

// startersBy is the pieces for people whose first day is known and lies within days.
func (f *forecast) startersBy(days int) []int {
	out := make([]int, len(f.lines))
	for _, s := range f.starters {
		if s.first <= f.in.AsOf.Add(days) {
			out[s.line] += s.pieces
		}
	}
	return out
}

// people is how many are known to start within days.
func (f *forecast) people(days int) int {
	n := 0
	for i := range f.in.Staff {
		if p := &f.in.Staff[i]; p.Start > f.in.AsOf && p.Start <= f.in.AsOf.Add(days) {
			n++
		}
	}
	return n
}

func (f *forecast) line(i int, k programme.SKU, worn, hired pmf, known, days int) Line {
	l := Line{SKU: k, Distribution: worn.plus(hired).plus(certainly(known)).describe(), Owed: f.owed[i]}
	var c [causes]float64
	for w, m := range f.weekly[i] {
		for j, x := range m {
			c[j] += x * f.part(days, w)
		}
	}
	scale := 0.0
	if sum := c[byCloth] + c[byPrint] + c[byMishap]; sum > 0 {
		scale = worn.mean() / sum
	}
	l.ByCause = Causes{Worn: c[byCloth] * scale, Print: c[byPrint] * scale, Mishap: c[byMishap] * scale, Hires: hired.mean() + float64(known)}
	return l
}

// stock fills in finished pieces of the client: on the shelf, and on order for a day within the horizon.
func (f *forecast) stock(m *Muster, days int) {
	for _, s := range f.in.Stock {
		if s.Kind != programme.Finished || s.Client != f.in.Client.Code {
			continue
		}
		i, ok := f.at[programme.SKU{Garment: s.Code, Colour: s.Colour, Size: s.Size}]
		switch {
		case !ok:
		case s.Expected.IsZero():
			m.Lines[i].OnHand += s.Pieces
		case s.Expected <= f.in.AsOf.Add(days):
			m.Lines[i].OnOrder += s.Pieces
		}
	}
}

// garments are distributions over all colours and sizes.
func (f *forecast) garments(worn map[string]pmf, h *hires, known []int) []GarmentTotal {
	var out []GarmentTotal
	for i, k := range f.lines {
		if n := len(out); n > 0 && out[n-1].Garment == k.Garment {
			out[n-1].known += known[i]
			continue
		}
		out = append(out, GarmentTotal{Garment: k.Garment, known: known[i]})
	}
	for i := range out {
		g := &out[i]
		d, ok := worn[g.Garment]
		if !ok {
			d = certainly(0)
		}
		hired := h.all(func(l *programme.KitLine) bool { return l.Garment == g.Garment })
		g.Distribution = d.plus(hired).plus(certainly(g.known)).describe()
	}
	return out
}

// byWeek fills expected pieces by week, scaled so that weeks add up to the lines' causes.
func (f *forecast) byWeek(m *Muster, days int) {
	m.Weekly = make([]Causes, m.Weeks)
	for i := range m.Lines {
		l := &m.Lines[i]
		l.Weekly = make([]float64, m.Weeks)
		c := f.scaled(i, l.ByCause, days)
		for w := range l.Weekly {
			part := c[w]
			part.Hires = l.ByCause.Hires * f.hireShare(days, w)
			l.Weekly[w] = part.Sum()
			m.Weekly[w].Worn += part.Worn
			m.Weekly[w].Print += part.Print
			m.Weekly[w].Mishap += part.Mishap
			m.Weekly[w].Hires += part.Hires
		}
	}
}

func (f *forecast) scaled(line int, by Causes, days int) []Causes {
	out := make([]Causes, len(f.weekly[line]))
	sum := 0.0
	for w, m := range f.weekly[line] {
		p := f.part(days, w)
		out[w] = Causes{Worn: m[byCloth] * p, Print: m[byPrint] * p, Mishap: m[byMishap] * p}
		sum += out[w].Sum()
	}
	scale := 0.0
	if sum > 0 {
		scale = (by.Worn + by.Print + by.Mishap) / sum
	}
	for w := range out {
		out[w].Worn *= scale
		out[w].Print *= scale
		out[w].Mishap *= scale
	}
	return out
}

// hireShare is the share of the horizon's intake that falls in week w.
func (f *forecast) hireShare(days, w int) float64 {
	s := &f.in.Staffing
	all := s.season(f.in.AsOf, float64(days))
	if all <= 0 {
		return 0
	}
	from, to := float64(7*w), math.Min(float64(7*w+7), float64(days))
	return (s.season(f.in.AsOf, to) - s.season(f.in.AsOf, from)) / all
}

func (f *forecast) outlooks() []Outlook {
	out := make([]Outlook, 0, len(f.in.History.InService))
	for i := range f.holders {
		h := &f.holders[i]
		p := f.predictors[h.use.Class.Class]
		for j, piece := range h.pieces {
			ahead := p.ofUnseen(h.ages[j], h.rot, h.unseen[j])
			out = append(out, Outlook{
				StaffID: piece.StaffID, SKU: h.sku, Issued: piece.Issued, Washes: piece.Washes, PEnd: f.pEnd[i][j],
				D10: ahead.date(f.in.AsOf, 0), D50: ahead.date(f.in.AsOf, 1), D90: ahead.date(f.in.AsOf, 2),
				Cause: ahead.likeliest(),
			})
		}
	}
	return out
}
