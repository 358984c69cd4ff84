package demand

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// ties adds up what one person's garments have in common: all of them stop
// needing replacement on the day the person leaves, or changes size. Lines are counted apart,
// so sums over lines lack the covariance; it is kept here by group of lines
// (a garment, or all).
type ties struct {
	people map[tiedPeople]*tied
	order  []tiedPeople
}

type tiedPeople struct {
	person *programme.Person
	group  string
}

// tied is the expected replacements by time of leaving, in sum and the
// variance of its parts.
type tied struct {
	weights []float64
	sum     []float64
	parts   float64
	moments int // of leaving, for each pace
}

// add notes a holder's expected replacements for each time of leaving.
func (t *ties) add(p *programme.Person, group string, stay retention, moments int, means []float64) {
	if len(means) < 2 {
		return
	}
	key := tiedPeople{p, group}
	if t.people == nil {
		t.people = map[tiedPeople]*tied{}
	}
	x := t.people[key]
	if x == nil {
		x = &tied{sum: make([]float64, len(means)), moments: moments}
		for _, m := range stay.moments {
			x.weights = append(x.weights, m.Weight)
		}
		t.people[key] = x
		t.order = append(t.order, key)
	}
	for i, m := range means {
		x.sum[i] += m
	}
	x.parts += variance(x.weights, means)
}

// covariance returns what the sums of a group of lines lack: one person's pieces stop
// together, people who go in groups of mean size m do, and the rate of going,
// which is not known, is common to all.
func (t *ties) covariance(group string, going wear.Gamma, m float64) float64 {
	v, moved := 0.0, 0.0
	for _, key := range t.order {
		if key.group != group {
			continue
		}
		x := t.people[key]
		own := variance(x.weights, x.sum)
		v += max(0, own-x.parts) + (spread(max(m, 1))-1)*own
		moved += x.lostByGoing()
	}
	if !going.IsCertain() {
		v += moved * moved / going.Count
	}
	return v
}

// lostByGoing returns by how much a person's expected replacements fall when
// everybody goes e times as often, as the rate of going rises: the chance
// of retention is the first weight of each pace.
func (x *tied) lostByGoing() float64 {
	stay, there, gone := 0.0, 0.0, 0.0
	for i, w := range x.weights {
		if i%x.moments == 0 {
			stay, there = stay+w, there+w*x.sum[i]
		} else {
			gone += w * x.sum[i]
		}
	}
	if stay >= 1 || stay <= 0 {
		return 0
	}
	return (there/stay - gone/(1-stay)) * -math.Log(stay) * stay
}

func variance(weights, x []float64) float64 {
	var m, s float64
	for i, w := range weights {
		m += w * x[i]
		s += w * x[i] * x[i]
	}
	return max(0, s-m*m)
}

// widened adds symmetric whole-number noise of the given variance (the
// difference of two Poisson numbers, Skellam 1946), which keeps the mean;
// chances below zero pieces are counted as zero.
func (f pmf) widened(variance float64) pmf {
	if variance < 1e-9 {
		return f
	}
	one := poisson(variance / 2).p // where it begins makes no difference to a difference
	top := len(one) - 1
	noise := make([]float64, 2*top+1)
	for i, x := range one {
		for j, y := range one {
			noise[top+i-j] += x * y
		}
	}
	wide := f.plus(pmf{-top, noise}.trimmed())
	if wide.lo >= 0 {
		return wide
	}
	below := 0.0
	for i := range -wide.lo + 1 {
		below += wide.p[i]
	}
	out := append([]float64(nil), wide.p[-wide.lo:]...)
	out[0] = below
	return pmf{0, out}.lowered(f.mean())
}

// lowered takes single pieces away with one small chance until the mean is as given.
func (f pmf) lowered(mean float64) pmf {
	some := 1 - f.p[0]
	if some <= 0 {
		return f
	}
	chance := min(1, max(0, (f.mean()-mean)/some))
	out := make([]float64, len(f.p))
	for n, p := range f.p {
		if n == 0 {
			out[0] += p
			continue
		}
		out[n] += (1 - chance) * p
		out[n-1] += chance * p
	}
	return pmf{0, out}
}
