package reorder

import (
	"math"
	"sort"

	"github.com/kitmuster/kitmuster/programme/demand"
)

// Spread tells the demand of other horizons from the demand of one, so that a
// round need not compute every client's muster for every horizon.
type Spread struct {
	line  demand.Line
	weeks int
	cum   []float64 // expected pieces of weeks 1..i
	whole float64   // mean of the distribution itself
}

// NewSpread takes a line over that many weeks. Without weekly figures its
// demand is spread evenly.
func NewSpread(line demand.Line, weeks int) Spread {
	weeks = max(weeks, 1)
	s := Spread{line: line, weeks: weeks, cum: make([]float64, weeks+1)}
	for d, p := range line.PMF {
		s.whole += float64(d) * p
	}
	for w := 1; w <= weeks; w++ {
		each := line.Mean / float64(weeks)
		if len(line.Weekly) > 0 {
			each = 0
			if w <= len(line.Weekly) {
				each = line.Weekly[w-1]
			}
		}
		s.cum[w] = s.cum[w-1] + each
	}
	return s
}

// Mean returns the expected pieces of weeks 1..w; past the horizon the average
// week goes on.
func (s Spread) Mean(w int) float64 {
	if w <= s.weeks {
		return s.cum[max(w, 0)]
	}
	return s.cum[s.weeks] * float64(w) / float64(s.weeks)
}

// share returns what part of the horizon's demand falls into weeks 1..w.
func (s Spread) share(w int) float64 {
	if all := s.cum[s.weeks]; all > 0 {
		return s.Mean(w) / all
	}
	return 0
}

// At returns the chance of 0, 1, 2... pieces in weeks 1..w. Inside the horizon
// each piece of its demand falls into those weeks by itself with the share of
// the expected demand that does (thinning; exact for Poisson demand with a
// common unknown rate). Past it the distribution has the mean of Mean(w) and
// the horizon's excess of variance over Poisson, grown in proportion.
func (s Spread) At(w int) []float64 {
	q := s.share(w)
	if q <= 1 {
		return thin(s.line.PMF, q, len(s.line.PMF))
	}
	excess := math.Max(0, s.line.SD*s.line.SD-s.line.Mean) * q
	return negativeBinomial(s.Mean(w), excess)
}

// Quantile returns the smallest number that so much of the chance of weeks 1..w
// does not exceed. Inside the horizon that chance is a sum over D of binomial
// ones, each from the one before: P(B(d+1) <= k) = P(B(d) <= k) - q P(B(d) = k).
func (s Spread) Quantile(w int, chance float64) int {
	q := s.share(w)
	switch {
	case q >= 1:
		return demand.Quantile(s.At(w), chance)
	case q <= 0:
		return 0
	}
	last := len(s.line.PMF) - 1
	return sort.Search(last, func(k int) bool { return atMost(s.line.PMF, q, k) >= chance-1e-12 })
}

// atMost is the chance that at most k of D things are kept, k at least 0, when
// each is kept with chance q, below 1.
func atMost(pmf []float64, q float64, k int) float64 {
	sum := 0.0
	for _, p := range pmf[:min(k, len(pmf))] {
		sum += p
	}
	below, log := 1.0, float64(k)*math.Log(q)
	d := k
	for ; d < len(pmf) && log < -600; d++ { // just k of d is next to impossible
		sum += pmf[d]
		log += math.Log((1 - q) * float64(d+1) / float64(d+1-k))
	}
	just := math.Exp(log)
	for ; d < len(pmf); d++ {
		sum += pmf[d] * below
		below -= q * just
		just *= (1 - q) * float64(d+1) / float64(d+1-k)
	}
	return sum
}

// short returns E[max(0, D - stock)] over weeks 1..w without the whole
// distribution: mean - stock + sum of (stock - j) P(D = j), j < stock.
func (s Spread) short(w, stock int) float64 {
	mean := s.Mean(w)
	if stock <= 0 || mean == 0 {
		return mean + math.Max(0, -float64(stock))
	}
	q := s.share(w)
	var head []float64
	if q <= 1 {
		head = thin(s.line.PMF, q, stock)
		mean = q * s.whole
	} else {
		head = s.At(w)
	}
	short := mean - float64(stock)
	for j := 0; j < min(stock, len(head)); j++ {
		short += float64(stock-j) * head[j]
	}
	return math.Max(0, short)
}

// thin returns the first n chances of how many of D things are kept when each
// is kept with chance q: the coefficients of P(1-q+q z), P the generating function of
// D, by Horner's rule.
func thin(pmf []float64, q float64, n int) []float64 {
	out := make([]float64, min(n, len(pmf)))
	if q >= 1 {
		copy(out, pmf)
		return out
	}
	if len(out) == 0 {
		return out
	}
	lost, top, d := 1-q, 0, len(pmf)-1 // above top chances are nothing
	for d > 0 && pmf[d] == 0 {
		d--
	}
	out[0] = pmf[d]
	if d%2 == 1 { // one step, so that an even number is left
		if len(out) > 1 {
			out[1], top = q*out[0], 1
		}
		out[0] = lost*out[0] + pmf[d-1]
		d--
	}
	for d--; d > 0; d -= 2 { // two steps at once, the first of which leads to once
		if q*q*out[top] > nothing {
			top = min(top+2, len(out)-1)
		}
		x := out[0]
		once := lost*x + pmf[d]
		out[0] = lost*once + pmf[d-1]
		row := out[1 : top+1]
		for j, next := range row {
			before := once
			once = lost*next + q*x
			row[j] = lost*once + q*before
			x = next
		}
	}
	return out
}

// nothing is a chance too small to change a sum of others.
const nothing = 1e-40

// negativeBinomial returns the distribution with that mean and a variance of
// mean + excess; Poisson without excess. The tail left out is below 1e-12.
func negativeBinomial(mean, excess float64) []float64 {
	step := func(j float64) float64 { return mean / (j + 1) }
	first := math.Exp(-mean)
	if excess > 1e-9 {
		r := mean * mean / excess
		p := mean / (mean + excess) // chance of stopping
		first = math.Exp(r * math.Log(p))
		step = func(j float64) float64 { return (1 - p) * (r + j) / (j + 1) }
	}
	out := []float64{first}
	for sum := first; sum < 1-1e-12 && len(out) < 20000; {
		last := len(out) - 1
		out = append(out, out[last]*step(float64(last)))
		sum += out[last+1]
	}
	return out
}
