package choose

import (
	"math"

	"github.com/kitmuster/kitmuster/programme/quadrature"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// weeksPerYear and monthsPerYear turn weeks of wear into what people count in.
const (
	weeksPerYear  = 365.2425 / 7
	monthsPerYear = 12
	weeksPerMonth = weeksPerYear / monthsPerYear
)

// part is one wear cause: number equal Weibull lives, all of which must last.
type part struct {
	wear.Weibull
	number   float64
	cloth    bool
	logScale float64
}

func newPart(w wear.Weibull, number float64, cloth bool) part {
	return part{w, number, cloth, math.Log(w.Scale)}
}

// at returns the part's cumulative hazard at exp(logX) washes.
func (p *part) at(logX float64) float64 { return p.number * math.Exp(p.Shape*(logX-p.logScale)) }

// lifetime is one complete set of parameters of how many washes a piece lasts.
type lifetime struct {
	parts []part
	// mishap is the rate per wash of being lost, torn or stained past use.
	mishap float64
	limit  float64 // washes on the label; +Inf = none
}

func (l *lifetime) hazard(x float64) float64 {
	h, logX := l.mishap*x, math.Log(x)
	for i := range l.parts {
		h += l.parts[i].at(logX)
	}
	return h
}

// ends summarises a life: its mean in washes and the chance of each ending.
type ends struct {
	mean                        float64
	cloth, print, mishap, label float64
}

const (
	cells = 48
	// gone is the cumulative hazard past which no piece is left to speak of.
	gone = 40
)

// gauss is the rule used inside each cell.
var gauss = quadrature.Legendre(3)

// integrate returns mean and causes of a life. The range of washes is cut into
// cells; the mean adds up survival by a Gauss rule, and what ends in a cell is
// shared between the causes by their hazards there.
func (l *lifetime) integrate() ends {
	top := l.horizon()
	var e ends
	was := make([]float64, len(l.parts)) // hazards of the parts at the cell's start
	last, lastHazard, alive := 0.0, 0.0, 1.0
	for i := 1; i <= cells; i++ {
		x := top * float64(i*i) / (cells * cells) // finer where young pieces end
		for _, q := range gauss {
			e.mean += (x - last) * q.Weight * math.Exp(-l.hazard(last+q.At*(x-last)))
		}
		hazard := l.hazard(x)
		after := math.Exp(-hazard)
		if hazard > lastHazard {
			l.share(&e, was, x, x-last, (alive-after)/(hazard-lastHazard))
		}
		last, lastHazard, alive = x, hazard, after
	}
	e.label = alive
	return e
}

// share gives each cause its part of a cell that ends at x washes: its own
// hazard times what ended for each unit of hazard. was is brought up to x.
func (l *lifetime) share(e *ends, was []float64, x, width, each float64) {
	logX := math.Log(x)
	for i := range l.parts {
		now := l.parts[i].at(logX)
		if l.parts[i].cloth {
			e.cloth += each * (now - was[i])
		} else {
			e.print += each * (now - was[i])
		}
		was[i] = now
	}
	e.mishap += each * l.mishap * width
}

// horizon returns the label's limit, or the washes by which every piece has ended.
func (l *lifetime) horizon() float64 {
	if l.reached(l.limit) && !math.IsInf(l.limit, 1) {
		return l.limit
	}
	lo, hi := 0.0, 1.0
	for l.hazard(hi) < gone {
		hi *= 2
	}
	for range 30 {
		if mid := (lo + hi) / 2; l.hazard(mid) < gone {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// reached reports whether pieces are still alive at the limit.
func (l *lifetime) reached(limit float64) bool { return l.hazard(limit) < gone }

// weighted is a lifetime with the chance that it is the true one.
type weighted struct {
	lifetime
	weight float64
}

// belief is the distribution of the lifetime of a piece, as far as it is known.
type belief struct {
	lifetimes []weighted
	// pace is washes of a piece a week.
	pace float64
}

// outcome holds what follows from a belief.
type outcome struct {
	ends              // of a piece, its holder staying
	perYear   float64 // pieces one rotation slot needs a year, its holders coming and going
	quantiles [3]float64
}

// outcome averages over the distributions that may be true; leaving is the rate a year
// at which a holder goes and the piece with him.
func (b *belief) outcome(leaving float64) outcome {
	var o outcome
	perWash := leaving / (weeksPerYear * b.pace)
	for i := range b.lifetimes {
		w := b.lifetimes[i].weight
		e := b.lifetimes[i].integrate()
		o.mean += w * e.mean
		o.cloth += w * e.cloth
		o.print += w * e.print
		o.mishap += w * e.mishap
		o.label += w * e.label
		stay := b.lifetimes[i].lifetime
		stay.mishap += perWash
		o.perYear += w * weeksPerYear * b.pace / stay.integrate().mean
	}
	for i, p := range []float64{0.1, 0.5, 0.9} {
		o.quantiles[i] = b.quantile(p)
	}
	return o
}

// survival returns the chance that a new piece lasts x washes.
func (b *belief) survival(x float64) float64 {
	s := 0.0
	for i := range b.lifetimes {
		if x < b.lifetimes[i].limit {
			s += b.lifetimes[i].weight * math.Exp(-b.lifetimes[i].hazard(x))
		}
	}
	return s
}

// quantile returns the washes that a share p of new pieces does not outlive.
func (b *belief) quantile(p float64) float64 {
	hi := 0.0
	for i := range b.lifetimes {
		hi = max(hi, b.lifetimes[i].horizon())
	}
	_, hi = wear.Bisect(0, hi, 40, func(x float64) bool { return b.survival(x) > 1-p })
	return hi
}
