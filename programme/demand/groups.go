package demand

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/quadrature"
)

// Before the roster speaks it is believed, as from a few days on which somebody
// came, that one in six comes with others (common practice, no source).
const (
	daysBefore   = 2.0
	othersBefore = 0.4
)

// aloneBelow is the mean size of a group under which people are taken to come
// and go one by one.
const aloneBelow = 1.15

// Groups is what is known of how many people come, or go, on one day on which
// somebody does: their number is geometric, 1 or more, and stops after each with
// a chance that is Beta-distributed. The zero value is people one by one.
type Groups struct {
	stops, others float64
	seen          bool // some came together indeed
}

// Size returns the mean number of a group.
func (g Groups) Size() float64 {
	if g.stops <= 0 {
		return 1
	}
	return 1 + g.others/g.stops
}

// groupNodes is the order of the rule over the chance to stop.
const groupNodes = 3

// sizes returns mean sizes of groups with their chances.
func (g Groups) sizes() []quadrature.Node {
	if g.stops <= 0 {
		return []quadrature.Node{{At: 1, Weight: 1}}
	}
	rule := quadrature.Beta(g.stops, g.others, groupNodes)
	for i := range rule {
		rule[i].At = 1 / max(rule[i].At, 0.02)
	}
	return rule
}

// days are how many people came, or went, on which days, of span days.
type days struct {
	people map[programme.Date]int
	span   float64
}

// beyondChance returns the days with somebody, and the people who shared the day of
// another more often than n people over so many days would by chance alone.
func (d days) beyondChance() (stops, others float64) {
	n := 0.0
	for _, k := range d.people {
		n += float64(k)
	}
	others = max(0, n-float64(len(d.people))-n*n/(2*max(d.span, 1)))
	return n - others, others
}

// learnGroups learns the groups of those who come from the roster, and, with half
// the weight, from those who go; or the other way round.
func learnGroups(own, other days) Groups {
	s1, o1 := own.beyondChance()
	s2, o2 := other.beyondChance()
	g := Groups{stops: daysBefore + s1 + s2/2, others: othersBefore + o1 + o2/2}
	if own.span <= 0 || g.Size() < aloneBelow {
		return Groups{}
	}
	g.seen = o1+o2 > 0
	return g
}

// tells returns by how much less people teach of a rate where they come in groups:
// the spread of groups, once any was seen.
func (g Groups) tells() float64 {
	if !g.seen {
		return 1
	}
	return spread(g.Size())
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
	choose := func(x int) float64 { v, _ := math.Lgamma(float64(x) + 1); return v }
	return math.Exp(choose(n) - choose(k) - choose(n-k) + float64(k)*math.Log(chance) + float64(n-k)*math.Log1p(-chance))
}
