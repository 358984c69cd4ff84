package demand

import (
	"cmp"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme/exponent"
	"github.com/kitmuster/kitmuster/programme/quadrature"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// commonNodes is the number of lifetimes that stand for what is not known of a class. They keep the first
// 2*commonNodes-1 moments of the expected endings.
const commonNodes = 4

// sampled is a piece that stands for others when the endings expected under a lifetime are computed.
type sampled struct {
	age             float64
	logAge, logThen float64 // logarithms of the washes now and after the weeks looked at
	Rotation
}

// drawTogether replaces many lifetimes by a few. Not knowing the lifetime spreads the count of endings more widely than
// chance alone, because it moves all pieces of a class up or down together. The few keep that spread: the endings of
// the sample expected under them are the nodes of the Gauss rule for the endings expected under the old ones. Each new
// lifetime has the average parameters of the old ones around its node (in order of expected endings, by the separation
// theorem of Chebyshev, Markov and Stieltjes), with all rates multiplied by one factor so that it expects as many
// endings as its node. An average of parameters has fewer second endings than the average of what they mean; again is
// the factor by which.
func drawTogether(lifetimes []Lifetime, sample []sampled, weeks float64) (few []Lifetime, again float64) {
	if len(lifetimes) <= commonNodes+2 || len(sample) == 0 {
		return lifetimes, 1
	}
	endings := make([]quadrature.Node, len(lifetimes))
	order := make([]int, len(lifetimes))
	mean, seconds := 0.0, 0.0
	ahead := make(prospects, len(sample))
	for q := range lifetimes {
		lifetimes[q].prospects(ahead, sample, weeks)
		firsts, again := ahead.endings(1)
		endings[q] = quadrature.Node{At: firsts + again, Weight: lifetimes[q].Weight}
		mean += endings[q].At * endings[q].Weight
		seconds += again * endings[q].Weight
		order[q] = q
	}
	if mean <= 0 {
		return []Lifetime{average(lifetimes, order, weights(lifetimes))}, 1
	}
	for q := range endings {
		endings[q].At = endings[q].At/mean - 1
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(endings[a].At, endings[b].At) })
	left, kept := weights(lifetimes), 0.0
	for _, node := range quadrature.Compress(endings, commonNodes) {
		l := average(lifetimes, order, take(left, order, node.Weight))
		l.Weight = node.Weight
		l.prospects(ahead, sample, weeks)
		_, again := ahead.endings(l.scale(ahead, mean*(1+node.At)))
		kept += l.Weight * again
		few = append(few, l)
	}
	if kept <= 0 {
		return few, 1
	}
	return few, seconds / kept
}

func weights(lifetimes []Lifetime) []float64 {
	w := make([]float64, len(lifetimes))
	for q := range lifetimes {
		w[q] = lifetimes[q].Weight
	}
	return w
}

// take moves weight out of left, in the given order, until it has moved as much as asked, and returns what came from
// each.
func take(left []float64, order []int, asked float64) []float64 {
	out := make([]float64, len(left))
	for _, q := range order {
		w := min(left[q], asked)
		out[q], left[q], asked = w, left[q]-w, asked-w
	}
	return out
}

// average returns the lifetime with the weighted means of the log shapes, log scales and mishap rates of lifetimes.
func average(lifetimes []Lifetime, order []int, weight []float64) Lifetime {
	causes := len(lifetimes[0].Wash)
	out := Lifetime{Weight: 1, Wash: make([]wear.Weibull, causes), Number: lifetimes[0].Number}
	sum := 0.0
	for _, q := range order {
		w := weight[q]
		sum += w
		out.Mishap += w * lifetimes[q].Mishap
		for i, x := range lifetimes[q].Wash {
			out.Wash[i].Shape += w * math.Log(x.Shape)
			out.Wash[i].Scale += w * math.Log(x.Scale)
		}
	}
	out.Mishap /= sum
	for i := range out.Wash {
		out.Wash[i] = wear.Weibull{Shape: math.Exp(out.Wash[i].Shape / sum), Scale: math.Exp(out.Wash[i].Scale / sum)}
	}
	return out
}

// prospects are the hazards of a sample within some weeks: of each piece, and of a
// new one that follows it early or late in them (two-point Gauss rule: when an
// ending comes is taken as even). They are +Inf where the label's limit is reached.
type prospects []struct {
	own  float64
	next struct{ early, late float64 }
}

// prospects puts those under the lifetime into out.
func (l *Lifetime) prospects(out prospects, sample []sampled, weeks float64) {
	for i, p := range sample {
		h := &out[i]
		if i == 0 || p.Rotation != sample[i-1].Rotation {
			h.next.early, h.next.late = l.fresh(p.Rotation, 0.211324865*weeks), l.fresh(p.Rotation, 0.788675135*weeks)
		} else {
			h.next = out[i-1].next
		}
		if h.own = l.Mishap * weeks; p.Limit > 0 && p.age+p.Pace*weeks >= p.Limit {
			h.own = math.Inf(1)
		}
	}
	for c, w := range l.Wash {
		scale := math.Log(w.Scale)
		for i, p := range sample {
			out[i].own += l.Number[c] * (exponent.Of(w.Shape*(p.logThen-scale)) - exponent.Of(w.Shape*(p.logAge-scale)))
		}
	}
}

// endings returns the expected number of endings of the sample, and of those of a replacement,
// when all rates are multiplied by factor.
func (p prospects) endings(factor float64) (firsts, again float64) {
	fresh := 0.0
	for i, h := range p {
		if i == 0 || h.next != p[i-1].next {
			fresh = -(exponent.Expm1(-factor*h.next.early) + exponent.Expm1(-factor*h.next.late)) / 2
		}
		ended := -exponent.Expm1(-factor * h.own)
		firsts, again = firsts+ended, again+fresh*ended
	}
	return firsts, again
}

// fresh returns the hazard of a new piece within weeks.
func (l *Lifetime) fresh(r Rotation, weeks float64) float64 {
	if r.Limit > 0 && r.Pace*weeks >= r.Limit {
		return math.Inf(1)
	}
	h := l.Mishap * weeks
	for i, w := range l.Wash {
		h += l.Number[i] * w.Hazard(r.Pace*weeks)
	}
	return h
}

// scale multiplies all rates by the factor that makes the endings of what is ahead as
// wanted, and returns it.
func (l *Lifetime) scale(ahead prospects, wanted float64) (factor float64) {
	logFactor, step := 0.0, 0.0
	for range 30 {
		const d = 1e-4
		sum := func(firsts, again float64) float64 { return firsts + again }
		at, next := sum(ahead.endings(math.Exp(logFactor))), sum(ahead.endings(math.Exp(logFactor+d)))
		slope := (next - at) / d
		if !(slope > 0) {
			break
		}
		step = max(-1, min(1, (wanted-at)/slope))
		logFactor += step
		if math.Abs(step) < 1e-9 {
			break
		}
	}
	factor = math.Exp(logFactor)
	l.Mishap *= factor
	for i := range l.Wash {
		l.Wash[i].Scale *= math.Exp(-logFactor / l.Wash[i].Shape)
	}
	return factor
}
