package wear

import (
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme/exponent"
	"github.com/kitmuster/kitmuster/programme/quadrature"
)

// Prior is the distribution of a Weibull life before a client's records count,
// worth Strength pseudo-endings: rate (in units of Scale) ~ Gamma(Strength,
// Strength), log shape normal around Shape with the spread that so many
// endings would leave (0.78/sqrt(Strength), the asymptotic standard error of
// the log shape in a complete sample: sqrt(6)/pi).
type Prior struct {
	Weibull
	Strength float64 // pseudo-endings, above 0
	// ShapeKnown holds the shape at its value; only the scale is learnt.
	ShapeKnown bool
	// Known takes shape and scale as certain: nothing is learnt.
	Known bool
}

// shapeError is the standard error of a log shape times the root of the endings, sqrt(6)/pi.
const shapeError = 0.7796968012336761

// ShapeNode is the part of a Posterior at one shape: the rate
// (Scale/Unit)^-Shape is Gamma-distributed there.
type ShapeNode struct {
	Shape  float64
	Weight float64
	Rate   Gamma
}

// Posterior is the distribution of a Weibull life given the records: a mixture over shape nodes.
// Ages are measured in Unit washes inside.
type Posterior struct {
	Unit  float64
	Nodes []ShapeNode
}

// ParameterNode is one Weibull distribution of a quadrature rule over a posterior.
type ParameterNode struct {
	Weibull
	Weight float64
}

// shapeNodes is the order of the adaptive Gauss-Hermite rule over the log shape.
const shapeNodes = 7

// Learn returns the posterior after the observations. With exact and
// right-censored lives the rate given the shape is conjugate,
// Gamma(a + endings, b + sum(exit^k - entry^k)), and the shape's weight is its
// marginal likelihood; interval-censored lives and endings that another cause
// may share enter by one-dimensional quadrature, matched by a Gamma of the same
// mean and variance. Everything is in logarithms and in units of the prior's
// scale, so a million pieces overflow nothing.
func Learn(prior Prior, obs []Observation) (Posterior, error) {
	for _, o := range obs {
		if err := o.check(); err != nil {
			return Posterior{}, err
		}
	}
	return newLearner(prior, Pool(obs)).posterior(), nil
}

func (l *learner) posterior() Posterior {
	p := l.prior
	if p.Known {
		return Posterior{p.Scale, []ShapeNode{{p.Shape, 1, Certain(1)}}}
	}
	if p.ShapeKnown {
		_, rate := l.at(math.Log(p.Shape))
		return Posterior{p.Scale, []ShapeNode{{p.Shape, 1, rate}}}
	}
	mode, sd := l.mode()
	post, top := Posterior{Unit: p.Scale}, math.Inf(-1)
	for _, q := range quadrature.Normal(shapeNodes) {
		a := mode + sd*q.At
		v, rate := l.at(a)
		v += math.Log(q.Weight) + q.At*q.At/2
		top = max(top, v)
		post.Nodes = append(post.Nodes, ShapeNode{math.Exp(a), v, rate})
	}
	sum := 0.0
	for i := range post.Nodes {
		n := &post.Nodes[i]
		n.Weight = math.Exp(n.Weight - top)
		sum += n.Weight
	}
	for i := range post.Nodes {
		post.Nodes[i].Weight /= sum
	}
	return post
}

// Entered is a Posterior asked again and again of a piece alive at one age.
type Entered struct {
	Posterior
	powers  []float64 // of that age, by node
	hazards []float64 // of the last question
}

// Entered takes a new piece.
func (p Posterior) Entered() Entered {
	return Entered{p, make([]float64, len(p.Nodes)), make([]float64, len(p.Nodes))}
}

// Enter takes a piece alive at an age in washes instead of the last one.
func (e *Entered) Enter(age float64) {
	clear(e.powers)
	if age <= 0 {
		return
	}
	log := exponent.Log(age / e.Unit)
	for i := range e.Nodes {
		e.powers[i] = exponent.Of(e.Nodes[i].Shape * log)
	}
}

// HazardOf returns minus the logarithm of the predictive chance that the piece is still presentable
// at x washes, averaged over what is not known of the distribution; number such lives (prints of one
// kind) must all last. A piece in service is already in the evidence as alive at its
// age, so this is its chance, not a ratio of new-piece survivals.
func (e *Entered) HazardOf(number, x float64) float64 {
	lx, least := exponent.Log(x/e.Unit), math.Inf(1)
	for i := range e.Nodes {
		n := &e.Nodes[i]
		e.hazards[i] = n.Rate.Hazard(number * max(exponent.Of(n.Shape*lx)-e.powers[i], 0))
		least = min(least, e.hazards[i])
	}
	s := 0.0 // the chance, over that of the least hazard
	for i, h := range e.hazards {
		if h > least {
			s += e.Nodes[i].Weight * exponent.Of(least-h)
		} else {
			s += e.Nodes[i].Weight
		}
	}
	return least - exponent.Log(s)
}

// MedianBelow returns the chance that the true median life is below x washes.
func (p Posterior) MedianBelow(x float64) float64 {
	c := 0.0
	for _, n := range p.Nodes {
		c += n.Weight * (1 - n.Rate.Below(math.Ln2*math.Pow(x/p.Unit, -n.Shape)))
	}
	return c
}

// MedianQuantile returns the washes that the true median life stays below with chance q.
func (p Posterior) MedianQuantile(q float64) float64 {
	lo, hi := Bisect(math.Log(p.Unit)-7, math.Log(p.Unit)+7, 60,
		func(x float64) bool { return p.MedianBelow(math.Exp(x)) < q })
	return math.Exp((lo + hi) / 2)
}

// Typical returns the distribution at the posterior mean of log shape and of log scale.
func (p Posterior) Typical() Weibull {
	var a, b float64
	for _, n := range p.Nodes {
		a += n.Weight * math.Log(n.Shape)
		b += n.Weight * (math.Log(p.Unit) - math.Log(n.Rate.Mean())/n.Shape)
	}
	return Weibull{math.Exp(a), math.Exp(b)}
}

// Parameters returns a rule of shapes times rates points: Gauss over the log
// shape (the first 2*shapes-1 moments kept), Gauss-Laguerre over the rate.
func (p Posterior) Parameters(shapes, rates int) []ParameterNode {
	var out []ParameterNode
	for _, n := range p.thin(shapes) {
		for _, q := range n.Rate.Nodes(rates) {
			scale := p.Unit * math.Pow(q.At, -1/n.Shape)
			out = append(out, ParameterNode{Weibull{n.Shape, scale}, n.Weight * q.Weight})
		}
	}
	return out
}

// Thin returns the posterior with at most n shape nodes.
func (p Posterior) Thin(n int) Posterior { return Posterior{p.Unit, p.thin(n)} }

// thin moves the mixture to fewer shape nodes; the Gamma distributions between the old
// nodes are read off by interpolation in the log shape, where they are smooth.
func (p Posterior) thin(n int) []ShapeNode {
	if n >= len(p.Nodes) {
		return p.Nodes
	}
	mid := p.Nodes[len(p.Nodes)/2].Shape
	width := math.Log(p.Nodes[len(p.Nodes)-1].Shape / p.Nodes[0].Shape)
	risk := make([]quadrature.Node, len(p.Nodes))
	for i, s := range p.Nodes {
		risk[i] = quadrature.Node{At: math.Log(s.Shape/mid) / width, Weight: s.Weight}
	}
	var out []ShapeNode
	for _, q := range quadrature.Compress(risk, n) {
		out = append(out, ShapeNode{mid * math.Exp(q.At*width), q.Weight, p.rateAt(risk, q.At)})
	}
	return out
}

// rateAt interpolates log count and log exposure through the four nearest nodes (Lagrange).
func (p Posterior) rateAt(risk []quadrature.Node, x float64) Gamma {
	i := slices.IndexFunc(risk, func(n quadrature.Node) bool { return n.At >= x })
	lo := max(0, min(i-2, len(risk)-4))
	var c, e float64
	for j := lo; j < lo+4; j++ {
		w := 1.0
		for m := lo; m < lo+4; m++ {
			if m != j {
				w *= (x - risk[m].At) / (risk[j].At - risk[m].At)
			}
		}
		c += w * math.Log(p.Nodes[j].Rate.Count)
		e += w * math.Log(p.Nodes[j].Rate.Exposure)
	}
	return Gamma{math.Exp(c), math.Exp(e)}
}
