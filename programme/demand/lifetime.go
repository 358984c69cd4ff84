package demand

import (
	"math"

	"github.com/kitmuster/kitmuster/programme/exponent"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Lifetime is one complete set of parameters of how long a piece lasts: every cause that ends it. What is not known of
// a class is a list of lifetimes whose weights sum to 1.
type Lifetime struct {
	Weight float64
	// Wash holds the causes counted in washes, cloth first. A piece survives a wash only if it survives every one of
	// them.
	Wash []wear.Weibull
	// Number is the number of lives of each cause that a piece carries (several prints of a kind).
	Number []float64
	// Mishap is the rate per week.
	Mishap float64
}

// Rotation holds what pieces that are worn alike have in common.
type Rotation struct {
	// Pace is washes a week of each piece, above 0.
	Pace float64
	// Limit is the greatest number of washes on the label; 0 = none.
	Limit float64
}

// limitAfter returns the weeks until a piece of age washes reaches the label's limit; +Inf without one.
func (r Rotation) limitAfter(age float64) float64 {
	if r.Limit <= 0 {
		return math.Inf(1)
	}
	return max(0, (r.Limit-age)/r.Pace)
}

// hazards computes the hazards of many lifetimes for pieces in one rotation, the label's limit left aside. Lifetimes
// share shapes, so powers of an age are raised once for all of them.
type hazards struct {
	Rotation
	lifetimes []Lifetime
	powers    []power
	terms     [][]term // by lifetime
	// now and then are the powers of two ages that the next answers are about; then is of thenAge.
	now, then []float64
	thenAge   float64
}

// power is x^shape in units of washes, shared by all lifetimes with that shape.
type power struct{ shape, logUnit float64 }

// term is rate * power, one cause of one lifetime.
type term struct {
	power       int
	rate, shape float64
}

// newHazards states every cause in the unit of the first lifetime's.
func newHazards(lifetimes []Lifetime, rot Rotation) hazards {
	h := hazards{Rotation: rot, lifetimes: lifetimes}
	index := map[power]int{}
	for _, l := range lifetimes {
		var ts []term
		for i, w := range l.Wash {
			unit := lifetimes[0].Wash[i].Scale
			p := power{w.Shape, math.Log(unit)}
			at, ok := index[p]
			if !ok {
				at = len(h.powers)
				index[p] = at
				h.powers = append(h.powers, p)
			}
			ts = append(ts, term{at, l.Number[i] * math.Pow(unit/w.Scale, w.Shape), w.Shape})
		}
		h.terms = append(h.terms, ts)
	}
	h.now, h.then = make([]float64, len(h.powers)), make([]float64, len(h.powers))
	return h
}

// raise puts the powers of an age of x washes into now or then.
func (h *hazards) raise(x float64, into []float64) {
	if x <= 0 {
		clear(into)
		return
	}
	l := exponent.Log(x)
	for i, p := range h.powers {
		into[i] = exponent.Of(p.shape * (l - p.logUnit))
	}
}

// since makes an age of x washes the one that hazards are counted from.
func (h *hazards) since(x float64) {
	if x != h.thenAge {
		h.raise(x, h.then)
		h.thenAge = x
	}
}

// hazard returns the cumulative hazard of lifetime q between the washes raised in then and now, over t weeks.
func (h *hazards) hazard(q int, t float64) float64 {
	sum := h.lifetimes[q].Mishap * t
	for _, c := range h.terms[q] {
		sum += c.rate * (h.now[c.power] - h.then[c.power])
	}
	return sum
}

// endingAt is the hazard per week of lifetime q at an age of x washes, which is raised in now, times the chance to
// reach it in t weeks from the one in then.
func (h *hazards) endingAt(q int, t, x float64) float64 {
	mishap, perWeek := h.lifetimes[q].Mishap, h.Pace/x
	sum, rate := mishap*t, mishap
	for _, c := range h.terms[q] {
		now := c.rate * h.now[c.power]
		sum += now - c.rate*h.then[c.power]
		rate += now * c.shape * perWeek
	}
	return rate * exponent.Of(-sum)
}

// before returns the chance that a new piece ends within x weeks, one for each lifetime.
func (h *hazards) before(x float64) []float64 {
	out := make([]float64, len(h.lifetimes))
	if x <= 0 {
		return out
	}
	h.since(0)
	h.raise(h.Pace*x, h.now)
	for q := range out {
		out[q] = -exponent.Expm1(-h.hazard(q, x))
	}
	return out
}

// typicalLife returns the weeks after which the heaviest lifetime's cumulative hazard is about 1; +Inf without any.
func (h *hazards) typicalLife() float64 {
	heaviest := 0
	for q, l := range h.lifetimes {
		if l.Weight > h.lifetimes[heaviest].Weight {
			heaviest = q
		}
	}
	l := h.lifetimes[heaviest]
	rate := l.Mishap
	for i, w := range l.Wash {
		rate += h.Pace / w.Scale * math.Pow(l.Number[i], 1/w.Shape)
	}
	return 1 / rate
}
