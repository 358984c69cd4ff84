package demand

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/exponent"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// byCause is a number for each cause that ends pieces, in the order of programme.Cause.
type byCause [programme.EndingCauses]float64

// sum adds the causes up.
func (b *byCause) sum() float64 {
	sum := 0.0
	for _, x := range b {
		sum += x
	}
	return sum
}

// share moves to each cause that is learnt with another its part of that one's number.
func (b *byCause) share(shares []share) {
	for _, s := range shares {
		part := s.share * b[s.with]
		b[s.with] -= part
		b[s.cause] += part
	}
}

// predictor gives the chances of one piece with all that is not known
// integrated out. Causes are learnt independently, so the survival is the
// product of each cause's predictive survival.
type predictor struct {
	wash   []washCause
	mishap wear.Gamma // per week
	shares []share
	memo   map[prospectKey]*prospect
	weeks  int // of a prospect
	// tables hold the masses of pieces that are always there, where many are worn alike.
	tables map[Rotation]*ageTable
	row    []float64 // scratch of tabulated
	room   *room
	// entered is the age of the piece that wash has been asked of last.
	entered float64
}

type washCause struct {
	cause  programme.Cause
	number float64
	wear.Entered
}

// prospect holds the chances of a piece's first ending by week and cause.
type prospect struct {
	aged
	at     *presence
	gone   float64 // the chance that it has ended already
	weekly []byCause
	ended  *[3]float64 // see dates; nil until they are asked for
}

type prospectKey struct {
	pieceKey
	pace, limit uint64 // as bits, see pieceKey
	at          *presence
}

// predictiveShapes is enough: the predictive survival averages over shapes smoothly.
const predictiveShapes = 2

func newPredictor(k *wear.Learnt, weeks int, room *room) *predictor {
	p := predict(k, predictiveShapes)
	p.weeks, p.room = weeks, room
	return p
}

// newExact keeps all shapes, for single questions.
func newExact(k *wear.Learnt) *predictor { return predict(k, math.MaxInt) }

func predict(k *wear.Learnt, shapes int) *predictor {
	p := &predictor{memo: map[prospectKey]*prospect{}, tables: map[Rotation]*ageTable{}}
	p.wash = append(p.wash, washCause{programme.CauseWorn, 1, k.Cloth.Thin(shapes).Entered()})
	for i, post := range k.Prints {
		p.wash = append(p.wash, washCause{programme.CausePrint, float64(k.Terms.Prints[i].Number),
			post.Thin(shapes).Entered()})
	}
	p.mishap = wear.Gamma{Count: k.Mishap.Count, Exposure: k.Mishap.Exposure * weeksPerYear}
	p.shares = sharesOf(k.Evidence.Endings, func(c programme.Cause) programme.Cause { return c.Words().With })
	return p
}

// aged is a piece of some age that several questions are asked of.
type aged struct {
	*predictor
	Rotation
	age float64
}

// cumulative returns minus the log survival by cause after t weeks.
func (a *aged) cumulative(t float64) byCause { return a.predictor.cumulative(a.age, a.Rotation, t) }

// cumulative returns the cumulative hazard of a piece of age washes over t weeks, by cause.
func (p *predictor) cumulative(age float64, r Rotation, t float64) (h byCause) {
	if age != p.entered {
		for i := range p.wash {
			p.wash[i].Enter(age)
		}
		p.entered = age
	}
	x := age + r.Pace*t
	for i := range p.wash {
		w := &p.wash[i]
		h[w.cause] += min(w.HazardOf(w.number, x), mostHazard)
	}
	h[programme.CauseMishap] = p.mishap.Hazard(t)
	h.share(p.shares)
	return h
}

// mostHazard is the hazard of what has ended for certain, which can still be subtracted.
const mostHazard = 690

// share is the part of a cause's hazard that belongs to another that is learnt with it.
type share struct {
	with, cause programme.Cause
	share       float64
}

// sharesOf splits each cause that others are learnt with as its recorded endings are split. They
// are applied in turn, each to what the earlier ones left.
func sharesOf(e programme.Endings[int], with func(programme.Cause) programme.Cause) (out []share) {
	left := e
	for c := range e.Each() {
		if w := with(c); w != c {
			*left.At(w) += *e.At(c)
		}
	}
	for c, n := range e.Each() {
		if w := with(c); w != c && n > 0 {
			out = append(out, share{w, c, float64(n) / float64(*left.At(w))})
			*left.At(w) -= n
		}
	}
	return out
}

// ended returns the chance that a piece of age washes ends within t weeks.
func (p *predictor) ended(age float64, r Rotation, t float64) float64 {
	if r.Limit > 0 && age+r.Pace*t >= r.Limit {
		return 1
	}
	h := p.cumulative(age, r, t)
	return -exponent.Expm1(-h.sum())
}

// prospectOf returns what lies ahead of a piece that may have ended already: such an ending
// counts in the first week in which its holder is there, as what is needed then.
func (p *predictor) prospectOf(age float64, r Rotation, u unseen, at *presence) *prospect {
	key := prospectKey{keyOf(age, &u), math.Float64bits(r.Pace), math.Float64bits(r.Limit), at}
	if got := p.memo[key]; got != nil {
		return got
	}
	out := &prospect{aged: aged{p, r, age}, at: at}
	if table := p.tables[r]; table != nil && at == nil {
		out.weekly = p.tabulated(table, age)
	} else {
		out.weekly = out.masses(func(w int) float64 { return at.there(float64(w) + 1) })
	}
	if !u.none() {
		gone, asked := p.gone(age, u)
		out.gone = gone.sum()
		for w := range out.weekly {
			for c := range gone {
				out.weekly[w][c] *= 1 - out.gone
				if w == at.first() {
					out.weekly[w][c] += asked * gone[c]
				}
			}
		}
	}
	p.memo[key] = out
	return out
}

// dateQuantiles are the shares of pieces for which prospect.dates has the weeks.
var dateQuantiles = [3]float64{0.1, 0.5, 0.9}

// dates returns the weeks by which 10, 50 and 90 % of such pieces have ended, worked out once;
// +Inf beyond ten years.
func (p *prospect) dates() [3]float64 {
	if p.ended == nil {
		p.ended = &[3]float64{}
		from := 0.0
		for i, q := range dateQuantiles {
			if q > p.gone {
				from = p.endedBy((q-p.gone)/(1-p.gone), from)
			}
			if p.ended[i] = min(p.at.when(from), 2*tenYears); p.ended[i] > tenYears {
				p.ended[i] = math.Inf(1)
			}
		}
	}
	return *p.ended
}

// masses returns the chance of the first ending in each week by cause; until
// says how many weeks of wear have passed by the end of each.
func (a *aged) masses(until func(week int) float64) []byCause {
	out := a.room.weeks(a.weeks)
	limit := a.limitAfter(a.age)
	var last byCause
	alive := 1.0
	for w := range out {
		end := min(limit, until(w))
		now := a.cumulative(end)
		sum := 0.0
		for c := range now {
			sum += now[c] - last[c]
		}
		left := alive * exponent.Of(-sum)
		for c := range now {
			if sum > 0 {
				out[w][c] = (alive - left) * (now[c] - last[c]) / sum
			}
		}
		if end >= limit { // the label's limit ends what is left, as worn
			out[w][programme.CauseWorn] += left
			break
		}
		alive, last = left, now
	}
	return out
}

// tabulate lets prospects of pieces that are always there be read off a table of ages.
func (p *predictor) tabulate(r Rotation) {
	if p.tables[r] != nil {
		return
	}
	p.tables[r] = newAgeTable(p.typicalLife(), p.weeks*len(byCause{}), p.room, func(age float64, into []float64) {
		a := aged{p, r, age}
		for w, m := range a.masses(func(w int) float64 { return float64(w) + 1 }) {
			copy(into[w*len(m):], m[:])
		}
	})
}

// tabulated returns the masses of a piece from a table.
func (p *predictor) tabulated(table *ageTable, age float64) []byCause {
	p.row = grow(p.row, table.size)
	table.read(age, p.row)
	out := p.room.weeks(p.weeks)
	for w := range out {
		for c := range out[w] {
			out[w][c] = max(0, p.row[w*len(out[w])+c]) // next to nothing may be less than nothing between nodes
		}
	}
	return out
}

// typicalLife returns the washes that a piece lasts, about.
func (p *predictor) typicalLife() float64 {
	life := math.Inf(1)
	for _, w := range p.wash {
		life = min(life, w.Typical().Scale)
	}
	return life
}

// tenYears is as far as dates are looked for.
const tenYears = 10 * weeksPerYear

// endedBy returns the weeks by which a share q of such pieces has ended, not
// before from; +Inf beyond ten years. The cumulative hazard is close to a power
// of time, so the search is a secant in logarithms, kept inside a bracket.
func (a *aged) endedBy(q, from float64) float64 {
	target := -math.Log1p(-q)
	limit := a.limitAfter(a.age)
	lo, hi := from, math.Inf(1)
	t, power := max(1.5*from, 4), 1.0
	var lastT, lastH float64
	for range 60 {
		c := a.cumulative(t)
		h := c.sum()
		if h < target {
			lo = t
		} else {
			hi = t
		}
		if lo > tenYears || hi-lo < halfADay || math.Abs(h/target-1) < 2e-3 {
			break
		}
		if lastT > 0 && h > 0 && lastH > 0 && lastT != t {
			power = min(8, max(0.3, exponent.Log(h/lastH)/exponent.Log(t/lastT)))
		}
		lastT, lastH = t, h
		t *= exponent.Raise(target/max(h, 1e-9*target), 1/power)
		if !(t > lo && t < hi) {
			if t = (lo + hi) / 2; math.IsInf(t, 1) {
				t = 2 * lo
			}
		}
		t = min(t, 2*tenYears)
	}
	if t = min(t, limit); t > tenYears {
		return math.Inf(1)
	}
	return t
}

// halfADay in weeks is as fine as dates are.
const halfADay = 0.07

func (p *prospect) likeliest() programme.Cause {
	var sum byCause
	for _, w := range p.weekly {
		for c, x := range w {
			sum[c] += x
		}
	}
	best := programme.CauseWorn
	for c := range sum {
		if sum[c] > sum[best] {
			best = programme.Cause(c)
		}
	}
	return best
}

// dateIn returns the day in some weeks; none for +Inf.
func dateIn(asOf programme.Date, weeks float64) programme.Date {
	if math.IsInf(weeks, 1) {
		return 0
	}
	return asOf.Add(int(math.Round(weeks * 7)))
}
