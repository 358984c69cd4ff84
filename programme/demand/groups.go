package demand

import (
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/exponent"
	"github.com/kitmuster/kitmuster/programme/quadrature"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// groupings are the mean sizes of groups that are thought of, each with the chance that it is
// a client's before its roster speaks: at four in five clients people come and go
// one by one (common practice, no source).
var groupings = [...]quadrature.Node{{At: 1, Weight: 0.8}, {At: 1.5, Weight: 0.06}, {At: 2.5, Weight: 0.05},
	{At: 4, Weight: 0.04}, {At: 7, Weight: 0.03}, {At: 12, Weight: 0.02}}

// inBoth is the chance that people go in groups as they come: of the same mean size.
const inBoth = 0.5

// aloneBelow is the mean size of a group under which people are taken to come
// and go one by one.
const aloneBelow = 1.15

// Groups is the distribution of the number of people who come, or go, on one day on which somebody does. The number
// is geometric, 1 or more; each node is a possible mean with its chance. The zero value is one person at a time.
type Groups []quadrature.Node

// Size returns the mean number of a group.
func (g Groups) Size() float64 {
	if len(g) == 0 {
		return 1
	}
	mean := 0.0
	for _, n := range g {
		mean += n.Weight * n.At
	}
	return mean
}

// groupNodes is the order of the rule over the mean size of groups.
const groupNodes = 3

// flow counts the people who came, or went, over an exposure, and the days on which they did.
type flow struct {
	onDay          map[int]int // days by the people of each
	people, events int         // events are days with somebody
	span           float64     // days in all
	rate           wear.Gamma  // of people, before
	exposure       float64     // of that rate
}

func newFlow(people map[programme.Date]int, span float64, rate wear.Gamma, exposure float64) flow {
	f := flow{onDay: map[int]int{}, events: len(people), span: span, rate: rate, exposure: exposure}
	for _, k := range people {
		f.onDay[k]++
		f.people += k
	}
	return f
}

// given returns the rate of people when groups have mean size m, and the logarithm of the
// marginal likelihood of the days seen. Groups are Poisson at the rate over m with a
// Gamma prior, each geometric, so that the people of a day are a Polya-Aeppli
// number (Johnson, Kemp and Kotz, Univariate Discrete Distributions, 9.7); which of a
// day's people belong together is not known, so how many groups came is expected in turn
// with the rate. The likelihood follows from Bayes' theorem at the rate's mean.
func (f *flow) given(m float64) (wear.Gamma, float64) {
	groups := float64(f.events)
	if m == 1 {
		groups = float64(f.people)
	}
	var learnt wear.Gamma
	logL := 0.0
	for range 4 {
		learnt = f.rate.Learn(groups, f.exposure/m)
		mean := learnt.Mean() * f.exposure / m // groups in all
		logL, groups = -mean, 0
		for k, n := range f.onDay {
			logP, some := onOneDay(k, max(mean/f.span, 1e-12), 1/m)
			logL, groups = logL+float64(n)*logP, groups+float64(n)*some
		}
		if m == 1 {
			break
		}
	}
	at := learnt.Mean()
	return learnt, logL + logDensity(f.rate, at) - logDensity(learnt, at)
}

// onOneDay returns the logarithm of the chance, but for the factor of no group at all,
// that k people come on a day on which groups are expected, each stopping after a person
// with a chance, and how many groups these are expected to be.
func onOneDay(k int, expected, stop float64) (logP, groups float64) {
	n := float64(k)
	if stop >= 1 {
		lg, _ := math.Lgamma(n + 1)
		return n*math.Log(expected) - lg, n
	}
	term, sum, times := 1.0, 1.0, 1.0
	for j := 1.0; j < n; j++ {
		term *= expected / (j + 1) * (n - j) / j * stop / (1 - stop)
		sum, times = sum+term, times+(j+1)*term
	}
	return math.Log(expected*stop) + (n-1)*math.Log1p(-stop) + math.Log(sum), times / sum
}

// logDensity returns the logarithm of the density of a Gamma distribution at x.
func logDensity(g wear.Gamma, x float64) float64 {
	lg, _ := math.Lgamma(g.Count)
	return g.Count*math.Log(g.Exposure) - lg + (g.Count-1)*math.Log(x) - g.Exposure*x
}

// sizings is a flow at each of groupings: the rate, and the likelihood in proportion.
type sizings struct {
	rates      [len(groupings)]wear.Gamma
	likelihood [len(groupings)]float64
}

func (f *flow) sizings() (w sizings) {
	// That nobody came says how seldom people come, and is not taken for groups.
	var logL [len(groupings)]float64
	for i, g := range groupings {
		w.rates[i], logL[i] = f.given(g.At)
	}
	most := slices.Max(logL[:])
	for i, l := range logL {
		if w.likelihood[i] = 1; f.people > 0 {
			w.likelihood[i] = math.Exp(l - most)
		}
	}
	return w
}

// learn returns the groups in which people come, or go, and the rate at which they do.
// Those of the other way tell of the groups too, as far as both are alike.
func (w *sizings) learn(other *sizings) (Groups, wear.Gamma) {
	apart := 0.0
	for i, g := range groupings {
		apart += g.Weight * other.likelihood[i]
	}
	var chance [len(groupings)]float64
	sum := 0.0
	for i, g := range groupings {
		chance[i] = g.Weight * w.likelihood[i] * (inBoth*other.likelihood[i] + (1-inBoth)*apart)
		sum += chance[i]
	}
	out, size, mean, square := Groups{}, 0.0, 0.0, 0.0
	for i, g := range groupings {
		p, r := chance[i]/sum, w.rates[i].Mean()
		out, size = append(out, quadrature.Node{At: g.At, Weight: p}), size+p*g.At
		mean, square = mean+p*r, square+p*r*r*(1+1/w.rates[i].Count)
	}
	if size < aloneBelow {
		return nil, w.rates[0]
	}
	// One Gamma stands for the mixture: of the same mean and variance.
	count := mean * mean / (square - mean*mean)
	return quadrature.Compress(out, groupNodes), wear.Gamma{Count: count, Exposure: count / mean}
}

// spread returns the variance of a sum over groups of mean size m by its mean, when
// their number is Poisson: E[k^2]/E[k] of the geometric distribution.
func spread(m float64) float64 { return 2*m - 1 }

// grouped returns the PMF of pieces when hires are expected to come in geometric
// groups of mean size m, each bringing i pieces with chance one[i]. The pieces of
// a group are a geometric number of these, by a recursion like Panjer's; groups
// are Poisson.
func grouped(expected, m float64, one []float64) pmf {
	stop := 1 / m
	group := []float64{stop * one[0] / (1 - (1-stop)*one[0])}
	for n, gone := 1, group[0]; gone < 1-1e-7 && n < 2000; n++ {
		sum := 0.0
		if n < len(one) {
			sum = stop * one[n]
		}
		for j := 1; j < min(n+1, len(one)); j++ {
			sum += (1 - stop) * one[j] * group[n-j]
		}
		group = append(group, sum/(1-(1-stop)*one[0]))
		gone += group[n]
	}
	return compound(expected/m*(1-group[0]), group[1:])
}

// compound returns the PMF of a Poisson number of jumps; sizes[i] is in proportion to
// the chance of a jump of i+1.
func compound(lambda float64, sizes []float64) pmf {
	var mass, first, second float64
	for i, p := range sizes {
		k := float64(i + 1)
		mass, first, second = mass+p, first+k*p, second+k*k*p
	}
	if lambda <= 0 || mass <= 0 {
		return certainly(0)
	}
	severity := make([]float64, len(sizes))
	for i, p := range sizes {
		severity[i] = p / mass
	}
	mean, sd := lambda*first/mass, math.Sqrt(lambda*second/mass)
	top := int(mean + 8*sd + 8*second/first + 8)
	return pmf{0, CompoundPoisson(lambda, severity, top)}.trimmed()
}

// stretched puts a pmf of units of pieces onto single pieces.
func (f pmf) stretched(unit int) pmf {
	if unit == 1 {
		return f
	}
	out := make([]float64, (len(f.p)-1)*unit+1)
	for i, x := range f.p {
		out[i*unit] = x
	}
	return pmf{f.lo * unit, out}
}

// withEndings adds to a number of new pieces those of them that end within the
// weeks looked at and are replaced: each with a small chance, independently.
func (f pmf) withEndings(chance float64) pmf {
	if chance <= 1e-9 {
		return f
	}
	out := make([]float64, 2*(f.lo+len(f.p)))
	for i, x := range f.p {
		n := f.lo + i
		mean, sd := float64(n)*chance, math.Sqrt(float64(n)*chance*(1-chance))
		from, to := max(0, int(mean-9*sd-2)), min(n, int(mean+9*sd+6))
		p := x * binomial(n, from, chance)
		for k := from; k <= to; k++ {
			out[n+k] += p
			p *= chance / (1 - chance) * float64(n-k) / float64(k+1)
		}
	}
	return pmf{0, out}.trimmed()
}

// binomial returns the chance of k of n, each with a chance.
func binomial(n, k int, chance float64) float64 {
	if k == 0 {
		return exponent.Of(float64(n) * math.Log1p(-chance))
	}
	choose := func(x int) float64 { v, _ := math.Lgamma(float64(x) + 1); return v }
	return math.Exp(choose(n) - choose(k) - choose(n-k) + float64(k)*math.Log(chance) +
		float64(n-k)*math.Log1p(-chance))
}
