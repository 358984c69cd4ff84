package demand

import (
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// ruleOf returns the lifetimes over which the demand of one class is averaged: a
// product of Gauss rules over shape and rate of cloth and of each kind of
// print and over the mishap rate, drawn together along the one direction that
// matters, the number of endings they mean for the pieces of the sample. What
// matters more for that number gets more points: expected are the expected
// endings by cause.
func ruleOf(k *wear.Learnt, expected byCause, sample []sampled, weeks float64) (few []Lifetime, again float64) {
	return drawTogether(product(k, expected), sample, weeks)
}

func product(k *wear.Learnt, expected byCause) []Lifetime {
	share := influence(k, expected)
	lifetimes := []Lifetime{{Weight: 1}}
	lifetimes = cross(lifetimes, k.Cloth, 1, share[0])
	for i, p := range k.Prints {
		lifetimes = cross(lifetimes, p, float64(k.Terms.Prints[i].Number), share[1+i])
	}
	var out []Lifetime
	for _, m := range k.Mishap.Nodes(points(share[len(share)-1], 1, 2, 2, 3)) {
		for _, l := range lifetimes {
			l.Weight *= m.Weight
			l.Mishap = m.At / weeksPerYear
			out = append(out, l)
		}
	}
	return out
}

// influence returns each unknown's share of the variance that all of them bring to
// the number of endings: cloth, prints, mishap.
func influence(k *wear.Learnt, expected byCause) []float64 {
	v := []float64{square(expected[programme.CauseWorn]) / count(k.Cloth)}
	for _, p := range k.Prints {
		v = append(v, square(expected[programme.CausePrint]/float64(len(k.Prints)))/count(p))
	}
	v = append(v, square(expected[programme.CauseMishap])/k.Mishap.Count)
	sum := 1e-300
	for _, x := range v {
		sum += x
	}
	for i := range v {
		v[i] /= sum
	}
	return v
}

func square(x float64) float64 { return x * x }

// count returns the (pseudo-)endings behind a posterior's rate.
func count(p wear.Posterior) float64 {
	c := 0.0
	for _, n := range p.Nodes {
		c += n.Weight * n.Rate.Count
	}
	return c
}

// points chooses a number of nodes by the share of variance at stake.
func points(share float64, trifle, small, large, nearlyAll int) int {
	switch {
	case share < 0.01:
		return trifle
	case share < 0.1:
		return small
	case share < 0.8:
		return large
	default:
		return nearlyAll
	}
}

func cross(lifetimes []Lifetime, p wear.Posterior, number, share float64) []Lifetime {
	rule := p.Parameters(points(share, 1, 1, 2, 3), points(share, 1, 2, 4, 8))
	out := make([]Lifetime, 0, len(lifetimes)*len(rule))
	for _, l := range lifetimes {
		for _, q := range rule {
			out = append(out, Lifetime{
				Weight: l.Weight * q.Weight, Mishap: l.Mishap,
				Wash:   append(append([]wear.Weibull(nil), l.Wash...), q.Weibull),
				Number: append(append([]float64(nil), l.Number...), number),
			})
		}
	}
	return out
}

// renewedWeekly returns, per week after an ending, the expected further
// endings of the replacement (and of its own replacements) by cause, in steps
// of a week with issue in the middle of the first.
func (p *predictor) renewedWeekly(r Rotation) []byCause {
	a := aged{p, r, 0}
	first := a.masses(func(w int) float64 { return float64(w) + 0.5 })
	out := make([]byCause, len(first))
	for d := range first {
		out[d] = first[d]
		for e := 0; e <= d; e++ {
			m := first[e].sum()
			if e == d || m == 0 {
				continue
			}
			for c := range out[d] {
				out[d][c] += m * out[d-e][c]
			}
		}
	}
	return out
}
