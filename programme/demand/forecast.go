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
// client's total, weekly means, the outlook of each piece and what is owed to whom, which
// a trigger does not need.
func (in *Input) Forecast(days ...int) []Muster {
	out, f := in.forecast(days, true)
	f.date(out[len(out)-1].Pieces)
	return out
}

// ForecastUndated is Forecast without what a round asks for only where it writes an order, or not
// at all: without the totals of garments, and without the dates of pieces until date is
// called, once or not at all.
func (in *Input) ForecastUndated(days ...int) (ms []Muster, date func()) {
	ms, f := in.forecast(days, false)
	return ms, func() { f.date(ms[len(ms)-1].Pieces) }
}

// forecast also returns what the musters were made with: its numbers are let go of, and it may only be
// asked for dates.
func (in *Input) forecast(days []int, garments bool) ([]Muster, *forecast) {
	days = slices.Clone(days)
	slices.Sort(days)
	room := rooms.Get().(*room)
	defer func() {
		room.empty()
		rooms.Put(room)
	}()
	f := newForecast(in, days[len(days)-1], room)
	f.byGarment = garments
	out := make([]Muster, len(days))
	for i, d := range days {
		out[i] = f.muster(d, i == len(days)-1)
	}
	return out, f
}

// forecast holds what all horizons of one client share.
type forecast struct {
	*scene
	days       int
	byGarment  bool // totals of garments are asked for
	predictors map[wear.Class]*predictor
	counters   map[wear.Class]*counter
	classes    []wear.Class
	// weekly is expected needs by line, week and cause (hires apart), without
	// further renewals first, with them after renew.
	weekly [][]byCause
	pEnd   [][]float64 // by holder and piece
	// stays is, by whether somebody of whom no last day is known may change size and by week,
	// the chance that they are there in the middle of it, of the same size.
	stays  map[bool][]float64
	duties []duty // scratch of dutiesOf
}

func newForecast(in *Input, days int, room *room) *forecast {
	f := &forecast{scene: newScene(in), days: days, predictors: map[wear.Class]*predictor{},
		counters: map[wear.Class]*counter{}, stays: map[bool][]float64{}}
	weeks := (days + 6) / 7
	for resizes, going := range map[bool]wear.Gamma{false: in.Staffing.Leaving, true: in.Staffing.stopping()} {
		for w := range weeks {
			f.stays[resizes] = append(f.stays[resizes], going.Survival((float64(w)+0.5)/weeksPerYear))
		}
	}
	for _, t := range in.Book.Classes() {
		f.classes = append(f.classes, t.Class)
		f.predictors[t.Class] = newPredictor(in.Learnt[t.Class], weeks, room)
	}
	for i := range f.holders {
		h := &f.holders[i]
		h.rot.Pace = max(h.rot.Pace*f.hardnessOf(h, days), 1e-6)
		h.ageForCompanions(f.predictors[h.use.Class.Class])
	}
	if !in.Client.Known { // worked examples are wanted to all their digits
		countKindred(f.holders)
	}
	expected := f.expect(weeks)
	e := coarse
	if in.Client.Known {
		e = fine
	}
	for _, c := range f.classes {
		ahead := float64(days) / 7
		few, again := ruleOf(in.Learnt[c], expected[c], f.sample(c), ahead)
		f.counters[c] = newCounter(few, again, newExact(in.Learnt[c]), ahead, e, room)
	}
	return f
}

// hardness returns how hard the days ahead wear, 1 as usual.
func (f *forecast) hardness(days int) float64 {
	if days <= 0 {
		return 1
	}
	return f.in.Book.Wearing(f.in.AsOf, f.in.AsOf.Add(days)) / float64(days)
}

// hardnessOf returns hardness for a holder, over the days on which they are there.
func (f *forecast) hardnessOf(h *holder, days int) float64 {
	few := h.fewer(f.in.AsOf, days)
	there := h.absence.There(f.in.AsOf, f.in.AsOf.Add(days))
	if len(h.absence) == 0 || there <= 0 {
		return few * f.hardness(days)
	}
	return few * h.absence.Wearing(f.in.Book, f.in.AsOf, f.in.AsOf.Add(days)) / float64(there)
}

// fewer is how much oftener each piece is worn over some days while the rest of the
// kit has yet to follow, 1 where all are there.
func (h *holder) fewer(asOf programme.Date, days int) float64 {
	early := min(h.restOn.Sub(asOf), days)
	if h.restOn.IsZero() || early <= 0 {
		return 1
	}
	return 1 + (h.few-1)*float64(early)/float64(days)
}

// sampleSize is the number of pieces that stand for a class when the endings expected under a lifetime are computed.
const sampleSize = 32

// sample picks pieces of a class evenly.
func (f *forecast) sample(c wear.Class) []sampled {
	var all []sampled
	for i := range f.holders {
		if h := &f.holders[i]; h.use.Class.Class == c {
			usual := h.usual()
			for _, age := range usual.ages {
				all = append(all, sampled{age: age, Rotation: usual.rot})
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

// muster returns the forecast for a number of days; whole adds what only the
// farthest horizon shows.
func (f *forecast) muster(days int, whole bool) Muster {
	m := Muster{Format: Format, Client: f.in.Client.Code, AsOf: f.in.AsOf, Weeks: (days + 6) / 7}
	replaced := f.replace(days, whole)
	ends := f.starterEnds()
	known, kit := f.startersBy(days, ends), f.kitBy(days)
	h := newHires(f.in, f.outfits, days, f.people(days))
	h.ends = ends.hired(days)
	resized := f.resizes(days)
	for i, k := range f.lines {
		m.Lines = append(m.Lines, f.line(i, replaced.lines[i], h.sized(k), known[i], resized.line(i), kit[i], days))
	}
	f.stock(&m, days)
	if !whole {
		return m
	}
	starters := certainly(0)
	for _, n := range known {
		starters = starters.plus(n)
	}
	m.Total = replaced.total.plus(h.all(func(*programme.KitLine) bool {
		return true
	})).plus(starters).plus(resized.all()).describe()
	if f.byGarment {
		m.Garments = f.garments(replaced.garments, h, known, resized)
	}
	f.byWeek(&m, days)
	m.Pieces = f.outlooks()
	m.Short, m.Coming = f.short, f.comingBy(f.in.AsOf.Add(days))
	return m
}

// outlooks returns what lies ahead of every piece in the hands of somebody who stays, but for the dates.
func (f *forecast) outlooks() []Outlook {
	out := make([]Outlook, 0, len(f.in.History.InService))
	for i := range f.holders {
		h := &f.holders[i]
		all := f.aheadOf(h.usual())
		for j, piece := range h.pieces {
			ahead := all[j]
			o := Outlook{
				StaffID: piece.StaffID, SKU: piece.SKU, Issued: piece.Issued, Washes: piece.Washes,
				Assumed: piece.Assumed || !piece.Since.IsZero(), PEnd: f.pEnd[i][j],
				Cause: ahead.likeliest(),
			}
			next := h.sku
			if h.later != nil {
				next = h.later.on(min(ahead.dates()[1], float64(f.days)/7), h.sku)
			}
			if next != piece.SKU {
				o.Next = next
			}
			out = append(out, o)
		}
	}
	return out
}

// date fills in the dates of the pieces, which are in the order of outlooks.
func (f *forecast) date(pieces []Outlook) {
	n := 0
	for i := range f.holders {
		for _, ahead := range f.aheadOf(f.holders[i].usual()) {
			ended := ahead.dates()
			o := &pieces[n]
			o.D10, o.D50, o.D90 = dateIn(f.in.AsOf, ended[0]), dateIn(f.in.AsOf, ended[1]), dateIn(f.in.AsOf, ended[2])
			n++
		}
	}
}
