package wear

import (
	"errors"
	"fmt"
	"math"
)

// ErrNoEndings is returned when records hold no ending: no maximum of the
// likelihood exists then, since a longer life always explains them better.
var ErrNoEndings = errors.New("no endings yet, so nothing can be fitted without a prior")

// Fit is a maximum-likelihood fit of a Weibull distribution.
type Fit struct {
	Weibull
	LogLikelihood float64
	// Standard errors of log shape and log scale and their covariance, from the
	// observed information (inverse of the negative Hessian).
	SELogShape, SELogScale, CovLog float64
	Endings                        float64
}

// SEShape and SEScale are the standard errors on the natural scale (delta method).
func (f Fit) SEShape() float64 { return f.Shape * f.SELogShape }

// SEScale is the standard error of the scale in washes (delta method).
func (f Fit) SEScale() float64 { return f.Scale * f.SELogScale }

// FitWeibull maximises the likelihood of exact, interval-censored,
// right-censored and left-truncated lives with no prior at all:
// sum of log hazard (exact), minus H(exit), plus H(entry), plus
// log(1 - exp(H(exit) - H(upper))) for intervals. It is Newton's method in
// (log shape, log scale) with analytic derivatives and step halving.
func FitWeibull(obs []Observation) (Fit, error) {
	data, unit, endings, err := scaled(obs)
	if err != nil {
		return Fit{}, err
	}
	at, err := climb(data, start(data))
	if err != nil {
		return Fit{}, err
	}
	det := at.haa*at.hbb - at.hab*at.hab
	exact := 0.0
	for _, o := range data {
		if o.Kind == Exact {
			exact += o.Count
		}
	}
	return Fit{
		Weibull:       Weibull{Shape: math.Exp(at.a), Scale: unit * math.Exp(at.b)},
		LogLikelihood: at.value - exact*math.Log(unit),
		SELogShape:    math.Sqrt(-at.hbb / det), SELogScale: math.Sqrt(-at.haa / det), CovLog: at.hab / det,
		Endings: endings,
	}, nil
}

// scaled divides all washes by the geometric mean of the exits, which keeps
// powers near 1.
func scaled(obs []Observation) (data []Observation, unit, endings float64, err error) {
	data = Pool(obs)
	var sum, n float64
	for _, o := range data {
		if err := o.check(); err != nil {
			return nil, 0, 0, err
		}
		if o.Exit > 0 {
			sum, n = sum+o.Count*math.Log(o.Exit), n+o.Count
		}
		if o.Kind != Right {
			endings += o.Count
		}
	}
	if endings == 0 {
		return nil, 0, 0, ErrNoEndings
	}
	unit = 1.0
	if n > 0 {
		unit = math.Exp(sum / n)
	}
	for i := range data {
		o := &data[i]
		o.Entry, o.Exit, o.Upper = o.Entry/unit, o.Exit/unit, o.Upper/unit
		if o.Kind == Exact {
			o.Other *= unit
		}
	}
	return data, unit, endings, nil
}

// point is the log-likelihood with gradient and Hessian at a = log shape, b = log scale.
type point struct{ a, b, value, ga, gb, haa, hab, hbb float64 }

// start is the best of a ladder of shapes, each with the scale that is best
// for it when intervals are read as ended at their middle.
func start(data []Observation) point {
	best := point{value: math.Inf(-1)}
	for a := -1.0; a <= 4; a += 0.25 {
		k := math.Exp(a)
		var exposure, endings float64
		for _, o := range data {
			x := o.Exit
			if o.Kind == Interval && !math.IsInf(o.Upper, 1) {
				x = (o.Exit + o.Upper) / 2
			}
			exposure += o.Count * (math.Pow(x, k) - math.Pow(o.Entry, k))
			if o.Kind != Right {
				endings += o.Count
			}
		}
		p := likelihood(data, a, math.Log(exposure/endings)/k)
		if p.value > best.value {
			best = p
		}
	}
	return best
}

func climb(data []Observation, p point) (point, error) {
	for range 200 {
		da, db := p.step()
		next, moved := p, false
		for s := 1.0; s > 1e-9 && !moved; s /= 2 {
			next = likelihood(data, p.a+s*da, p.b+s*db)
			moved = next.value >= p.value-1e-12*math.Abs(p.value)
		}
		if math.Abs(next.a) > 6 || math.Abs(next.b) > 60 {
			return p, fmt.Errorf("the endings fit no Weibull distribution: shape runs to %.3g; all endings at one age, or none inside an interval", math.Exp(next.a))
		}
		done := math.Abs(next.a-p.a)+math.Abs(next.b-p.b) < 1e-13
		p = next
		if done || !moved {
			return p, nil
		}
	}
	return p, fmt.Errorf("no convergence in 200 steps near shape %.4g", math.Exp(p.a))
}

// step is Newton's where the Hessian is negative definite, else uphill; long steps are cut.
func (p point) step() (da, db float64) {
	det := p.haa*p.hbb - p.hab*p.hab
	if p.haa < 0 && det > 0 {
		da, db = (-p.hbb*p.ga+p.hab*p.gb)/det, (p.hab*p.ga-p.haa*p.gb)/det
	} else {
		n := math.Hypot(p.ga, p.gb)
		da, db = p.ga/n, p.gb/n
	}
	if n := math.Hypot(da, db); n > 1.5 {
		da, db = da*1.5/n, db*1.5/n
	}
	return da, db
}

// likelihood with u = H(x): with z = k(log x - b), H = e^z, dz/da = z, dz/db = -k.
func likelihood(data []Observation, a, b float64) point {
	p, k := point{a: a, b: b}, math.Exp(a)
	for _, o := range data {
		exit, entry := hazardAt(o.Exit, k, b), hazardAt(o.Entry, k, b)
		p.add(o.Count, entry.minus(exit))
		switch {
		case o.Kind == Exact:
			p.add(o.Count, logHazardPlus(o, a, k, b))
		case o.Kind == Interval && !math.IsInf(o.Upper, 1):
			d := hazardAt(o.Upper, k, b).minus(exit)
			d.v += o.Other
			p.add(o.Count, d.logOneMinusExp())
		}
	}
	return p
}

// jet is a value with first and second derivatives by a and b.
type jet struct{ v, a, b, aa, ab, bb float64 }

func (p *point) add(n float64, j jet) {
	p.value, p.ga, p.gb = p.value+n*j.v, p.ga+n*j.a, p.gb+n*j.b
	p.haa, p.hab, p.hbb = p.haa+n*j.aa, p.hab+n*j.ab, p.hbb+n*j.bb
}

func (j jet) minus(o jet) jet {
	return jet{j.v - o.v, j.a - o.a, j.b - o.b, j.aa - o.aa, j.ab - o.ab, j.bb - o.bb}
}

// through applies a function with value f and derivatives f1, f2 at j.v.
func (j jet) through(f, f1, f2 float64) jet {
	return jet{f, f1 * j.a, f1 * j.b, f1*j.aa + f2*j.a*j.a, f1*j.ab + f2*j.a*j.b, f1*j.bb + f2*j.b*j.b}
}

func (j jet) logOneMinusExp() jet {
	e := math.Expm1(j.v)
	return j.through(math.Log(-math.Expm1(-j.v)), 1/e, -(e+1)/(e*e))
}

// zAt is k(log x - b) with its derivatives.
func zAt(x, k, b float64) jet {
	z := k * (math.Log(x) - b)
	return jet{v: z, a: z, b: -k, aa: z, ab: -k}
}

func hazardAt(x, k, b float64) jet {
	if x <= 0 {
		return jet{}
	}
	z := zAt(x, k, b)
	h := math.Exp(z.v)
	return z.through(h, h, h)
}

// logHazardPlus is log(h(x) + other) for an exact ending.
func logHazardPlus(o Observation, a, k, b float64) jet {
	l := zAt(o.Exit, k, b)
	l.v, l.a = l.v+a-math.Log(o.Exit), l.a+1
	if o.Other == 0 {
		return l
	}
	h := math.Exp(l.v)
	s := h / (h + o.Other)
	return l.through(math.Log(h+o.Other), s, s*(1-s))
}
