package demand

import (
	"math"

	"github.com/kitmuster/kitmuster/programme/wear"
)

// Law is one complete set of life parameters: every cause that ends a piece.
type Law struct {
	Weight float64
	// Wash are the causes counted in washes, cloth first; all must outlast a wash.
	Wash []wear.Weibull
	// Number is how many lives of each cause a piece carries (several prints of a kind).
	Number []float64
	// Mishap is the rate per week.
	Mishap float64
}

// Rotation is what is the same for pieces that are worn alike.
type Rotation struct {
	// Pace is washes a week of each piece, above 0.
	Pace float64
	// Limit is the greatest number of washes on the label; 0 = none.
	Limit float64
}

// limitAfter is the weeks until the label's limit for a piece of age washes; +Inf without one.
func (r Rotation) limitAfter(age float64) float64 {
	if r.Limit <= 0 {
		return math.Inf(1)
	}
	return max(0, (r.Limit-age)/r.Pace)
}

// hazards are those of many distributions for pieces in one rotation, the label's limit
// left aside. Laws share shapes, so powers of an age are raised once for all.
type hazards struct {
	Rotation
	laws   []Law
	powers []power
	terms  [][]term // by distribution
	// now and then are the powers of two ages that the next answers are about.
	now, then []float64
}

// power is x^shape in units of washes, shared by all distributions with that shape.
type power struct{ shape, logUnit float64 }

// term is rate * power, one cause of one distribution.
type term struct {
	power int
	rate  float64
}

// newHazards states every cause in the unit of the first distribution's.
func newHazards(laws []Law, rot Rotation) hazards {
	h := hazards{Rotation: rot, laws: laws}
	index := map[power]int{}
	for _, l := range laws {
		var ts []term
		for i, w := range l.Wash {
			unit := laws[0].Wash[i].Scale
			p := power{w.Shape, math.Log(unit)}
			at, ok := index[p]
			if !ok {
				at = len(h.powers)
				index[p] = at
				h.powers = append(h.powers, p)
			}
			ts = append(ts, term{at, l.Number[i] * math.Pow(unit/w.Scale, w.Shape)})
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
	l := math.Log(x)
	for i, p := range h.powers {
		into[i] = math.Exp(p.shape * (l - p.logUnit))
	}
}

// hazard is the cumulative hazard of law q between the washes raised in then and now, over t weeks.
func (h *hazards) hazard(q int, t float64) float64 {
	sum := h.laws[q].Mishap * t
	for _, c := range h.terms[q] {
		sum += c.rate * (h.now[c.power] - h.then[c.power])
	}
	return sum
}

// rate is the hazard of law q per week at an age of x washes, which is raised in now.
func (h *hazards) rate(q int, x float64) float64 {
	sum := h.laws[q].Mishap
	for _, c := range h.terms[q] {
		sum += c.rate * h.powers[c.power].shape * h.Pace / x * h.now[c.power]
	}
	return sum
}

// before returns the chance that a new piece ends within x weeks, by distribution.
func (h *hazards) before(x float64) []float64 {
	out := make([]float64, len(h.laws))
	if x <= 0 {
		return out
	}
	clear(h.then)
	h.raise(h.Pace*x, h.now)
	for q := range out {
		out[q] = -math.Expm1(-h.hazard(q, x))
	}
	return out
}

// typicalLife is the weeks after which the heaviest distribution's cumulative hazard is about 1.
func (h *hazards) typicalLife() float64 {
	heaviest := 0
	for q, l := range h.laws {
		if l.Weight > h.laws[heaviest].Weight {
			heaviest = q
		}
	}
	l := h.laws[heaviest]
	rate := l.Mishap
	for i, w := range l.Wash {
		rate += h.Pace / w.Scale * math.Pow(l.Number[i], 1/w.Shape)
	}
	if rate <= 0 {
		return math.Inf(1)
	}
	return 1 / rate
}
