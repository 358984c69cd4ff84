package wear

import (
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme/exponent"
	"github.com/kitmuster/kitmuster/programme/quadrature"
)

// learner holds pooled evidence, ages as logarithms in units of the prior's scale.
type learner struct {
	prior    Prior
	exposed  []exposed // every life, as exposure until its last sign of life
	shared   []shared  // exact endings that other causes may share
	interval []between // endings known only to lie between two ages
	endings  float64   // exact endings of this cause for certain
	sumLog   float64   // of their ages
	// near and nearRate are where the last log shape and log rate were found.
	near, nearRate float64
	room           terms // of integrate, one after the other
}

type exposed struct{ count, exit, entry, blur float64 } // logs; entry -Inf = from new

type shared struct{ count, at, other, lives float64 }

type between struct{ count, from, to, other, lives, blur float64 }

func newLearner(prior Prior, pooled []Observation) *learner {
	l := &learner{prior: prior}
	l.take(pooled)
	return l
}

// take puts other evidence in the place of what it holds.
func (l *learner) take(pooled []Observation) {
	l.exposed, l.shared, l.interval, l.endings, l.sumLog = slices.Grow(l.exposed[:0], len(pooled)), l.shared[:0],
		l.interval[:0], 0, 0
	prior := &l.prior
	for i := range pooled {
		o := &pooled[i]
		exit, entry := exponent.Log(o.Exit/prior.Scale), exponent.Log(o.Entry/prior.Scale)
		lives := max(o.Lives, 1)
		if o.Exit > o.Entry {
			l.expose(exposed{lives * o.Count, exit, entry, o.Blur})
		}
		switch {
		case o.Kind == Exact && o.Other > 0:
			l.shared = append(l.shared, shared{o.Count, exit, o.Other * prior.Scale, lives})
		case o.Kind == Exact:
			l.endings, l.sumLog = l.endings+o.Count, l.sumLog+o.Count*exit
		case o.Kind == Interval && !math.IsInf(o.Upper, 1):
			l.interval = append(l.interval, between{o.Count, exit, exponent.Log(o.Upper / prior.Scale), o.Other,
				lives, o.Blur})
		}
	}
}

func (l *learner) expose(e exposed) {
	if n := len(l.exposed); n > 0 && l.exposed[n-1].exit == e.exit && l.exposed[n-1].entry == e.entry &&
		l.exposed[n-1].blur == e.blur {
		l.exposed[n-1].count += e.count
		return
	}
	l.exposed = append(l.exposed, e)
}

// at returns the log posterior of the log shape a up to a constant, the rate
// integrated out, and the distribution of the rate given that shape.
func (l *learner) at(a float64) (logPosterior float64, rate Gamma) {
	k, s := math.Exp(a), l.prior.Strength
	rate = Gamma{s + l.endings, s + l.exposure(k)}
	z := (a - math.Log(l.prior.Shape)) * math.Sqrt(s) / shapeError
	v := -z*z/2 + l.endings*a + k*l.sumLog
	if len(l.shared)+len(l.interval) == 0 {
		g, _ := math.Lgamma(rate.Count)
		return v + g - rate.Count*math.Log(rate.Exposure), rate
	}
	more, matched := l.integrate(k, rate)
	return v + more, matched
}

func (l *learner) exposure(k float64) float64 {
	sum := 0.0
	for _, e := range l.exposed {
		d := power(k * (e.exit + k*e.blur))
		if !math.IsInf(e.entry, -1) {
			d -= power(k * (e.entry + k*e.blur))
		}
		sum += e.count * d
	}
	return sum
}

// centre returns the most probable distribution, quickly.
func (l *learner) centre() Weibull {
	p := l.prior
	if p.Known {
		return p.Weibull
	}
	a := math.Log(p.Shape)
	if !p.ShapeKnown {
		a, _ = l.mode()
	}
	_, rate := l.at(a)
	k := math.Exp(a)
	return Weibull{k, p.Scale * math.Pow(rate.Mean(), -1/k)}
}

// mode finds the most probable log shape and its standard deviation, by
// Newton's method on three values at a time; where the curve bends the wrong
// way, far from the top, by golden section first.
func (l *learner) mode() (mode, sd float64) {
	f := func(a float64) float64 { v, _ := l.at(a); return v }
	wide := shapeError / math.Sqrt(l.prior.Strength)
	centre := math.Log(l.prior.Shape)
	usual := shapeError / math.Sqrt(l.prior.Strength+l.endings)
	sd = usual
	mode = centre
	if l.near != 0 {
		mode = l.near
	}
	mid := f(mode)
	for searched, steps := false, 0; steps < 12; steps++ {
		h := sd / 2
		lo, hi := f(mode-h), f(mode+h)
		curve := (lo - 2*mid + hi) / (h * h)
		step := (hi - lo) / (2 * h * curve) // to be taken backwards: curve is negative
		if (!(curve < 0) || math.Abs(step) > 6*wide) && !searched {
			sd = usual // what the curve of a place far off said of it is worth nothing
			mode, searched = golden(f, centre-6*wide, centre+6*wide, sd), true
			mid = f(mode)
			continue
		}
		if !(curve < 0) {
			return mode, wide
		}
		sd = min(wide, 1/math.Sqrt(-curve))
		if math.Abs(step) < 0.4*sd { // near enough for the rule, which is placed around it
			mode -= step
			break
		}
		next, at := f(mode-step), mode-step
		if next < mid { // too far
			at = mode - step/4
			next = f(at)
		}
		mode, mid = at, next
	}
	l.near = mode
	return mode, sd
}

// golden returns the place of the maximum of f in [lo, hi] within tolerance.
func golden(f func(float64) float64, lo, hi, tolerance float64) float64 {
	const r = 0.6180339887498949
	x1, x2 := hi-r*(hi-lo), lo+r*(hi-lo)
	f1, f2 := f(x1), f(x2)
	for hi-lo > tolerance {
		if f1 < f2 {
			lo, x1, f1 = x1, x2, f2
			x2 = lo + r*(hi-lo)
			f2 = f(x2)
		} else {
			hi, x2, f2 = x2, x1, f1
			x1 = hi - r*(hi-lo)
			f1 = f(x1)
		}
	}
	return (lo + hi) / 2
}

// rateRule is the rule of the rate integral.
var rateRule = quadrature.Normal(7)

// integrate does the rate integral at shape k where intervals and shared
// endings stand beside the conjugate part: adaptive Gauss-Hermite around the
// mode in y = log rate.
func (l *learner) integrate(k float64, conj Gamma) (logIntegral float64, matched Gamma) {
	c := l.terms(k)
	y, top, curve := c.mode(conj, l.nearRate)
	l.nearRate = y
	sd := 1 / math.Sqrt(-curve)
	var m0, m1, m2 float64
	for i, q := range rateRule {
		d, v := sd*q.At, top
		if i != len(rateRule)/2 { // the middle of the rule is the mode itself
			v, _, _ = c.value(conj, y+d)
		}
		w, t := q.Weight*exponent.Of(v-top+q.At*q.At/2), exponent.Expm1(d)
		m0, m1, m2 = m0+w, m1+w*t, m2+w*t*t
	}
	m1, m2 = m1/m0, m2/m0
	mean, variance := 1+m1, m2-m1*m1
	matched.Count = mean * mean / variance
	matched.Exposure = matched.Count / (mean * math.Exp(y))
	return top + math.Log(m0*sd), matched
}

// terms are the non-conjugate parts at one shape, as functions of the rate.
type terms struct {
	count, slope, other []float64 // log(1 - exp(-(rate*slope + other)))
	sharedCount         []float64 // log(rate*hazard + other)
	hazard, sharedOther []float64
}

func (l *learner) terms(k float64) *terms {
	t := &l.room
	t.count, t.slope, t.other = t.count[:0], t.slope[:0], t.other[:0]
	t.sharedCount, t.hazard, t.sharedOther = t.sharedCount[:0], t.hazard[:0], t.sharedOther[:0]
	for _, b := range l.interval {
		t.count, t.other = append(t.count, b.count), append(t.other, b.other)
		t.slope = append(t.slope, max(leastSlope, b.lives*(power(k*(b.to+k*b.blur))-power(k*(b.from+k*b.blur)))))
	}
	for _, s := range l.shared {
		t.sharedCount, t.sharedOther = append(t.sharedCount, s.count), append(t.sharedOther, s.other)
		t.hazard = append(t.hazard, max(leastSlope, s.lives*k*power((k-1)*s.at)))
	}
	return t
}

// At the steepest shapes that a search looks at, an age to the power of the shape
// leaves the numbers there are. What is larger than e^mostPower grows by its
// exponent alone from there, so that a longer wait still weighs more and no
// difference is of two infinities; what vanishes keeps a trace.
const (
	mostPower  = 600
	leastSlope = 1e-300
)

// power returns e^u, from e^mostPower on continued by its tangent.
func power(u float64) float64 {
	if u > mostPower {
		return exponent.Of(mostPower) * (1 + u - mostPower)
	}
	return exponent.Of(u)
}

// value returns the log density of y = log rate with two derivatives.
func (t *terms) value(conj Gamma, y float64) (v, d1, d2 float64) {
	r := exponent.Of(y)
	v, d1, d2 = conj.Count*y-conj.Exposure*r, conj.Count-conj.Exposure*r, -conj.Exposure*r
	var p product
	for i, n := range t.count {
		x := r * t.slope[i]
		e := exponent.Expm1(x + t.other[i])
		if e > 1e200 {
			continue // certain to have ended: says nothing of the rate
		}
		p.times(e, n)
		v -= n * (x + t.other[i])
		s := x / e
		d1 += n * s
		d2 += n * (s - s*s*(e+1))
	}
	for i, n := range t.sharedCount {
		x := r * t.hazard[i]
		all := x + t.sharedOther[i]
		s := x / all
		p.times(all, n)
		d1 += n * s
		d2 += n * s * (1 - s)
	}
	return v + p.log(), d1, d2
}

// product is a product of powers kept as a logarithm, with few calls of it.
type product struct{ sum, factor float64 }

func (p *product) times(x, n float64) {
	if n != 1 {
		p.sum += n * exponent.Log(x)
		return
	}
	if p.factor == 0 {
		p.factor = 1
	}
	if p.factor *= x; p.factor > 1e90 || p.factor < 1e-90 {
		p.sum += exponent.Log(p.factor)
		p.factor = 1
	}
}

func (p *product) log() float64 {
	if p.factor == 0 {
		return p.sum
	}
	return p.sum + exponent.Log(p.factor)
}

// mode climbs to the most probable log rate y; v is the log density there, curve its second derivative.
func (t *terms) mode(conj Gamma, near float64) (y, v, curve float64) {
	if y = near; y == 0 {
		y = math.Log(conj.Mean())
	}
	v, d1, d2 := t.value(conj, y)
	for range 100 {
		// The conjugate part alone bends by at least -Count, so steps are safe.
		bend := min(d2, -0.25*conj.Count)
		step := max(-1, min(1, -d1/bend))
		for {
			nv, n1, n2 := t.value(conj, y+step)
			if nv >= v-1e-10*math.Abs(v) || !(math.Abs(step) >= 1e-9) { // no number ends the climb too
				y, v, d1, d2 = y+step, nv, n1, n2
				break
			}
			step /= 2
		}
		if math.Abs(step) < 1e-6 {
			break
		}
	}
	return y, v, min(d2, -1e-3*conj.Count)
}
