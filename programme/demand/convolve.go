package demand

import (
	"math"

	"github.com/kitmuster/kitmuster/programme/exponent"
)

// count adds P(N >= n), n >= 1, to out: endings up to t weeks or the label's
// limit, stretch by stretch, and what the limit ends at once.
func (r *Renewals) count(age, t float64, out []float64) {
	limit := r.limitAfter(age)
	alive := r.alive
	for q := range alive {
		alive[q] = 1
	}
	r.cut(t, min(t, limit))
	for i := 1; i < len(r.cuts); i++ {
		from, width := r.cuts[i-1], r.cuts[i]-r.cuts[i-1]
		n := int(math.Ceil(width / r.reach))
		for j := range n {
			r.segment(age, t, from+width*float64(j)/float64(n), from+width*float64(j+1)/float64(n), out)
		}
	}
	if limit <= t {
		f := r.ofNew(t - limit)
		for q, s := range alive {
			r.spread(q, s, f, out)
		}
	}
}

// cut sets cuts to 0, end and the weeks between at which F_n(t-s) jumps because
// replacements would reach their own limits at t: the rule is split there.
func (r *Renewals) cut(t, end float64) {
	r.cuts = append(r.cuts[:0], 0)
	life := r.limitAfter(0)
	for c := math.Mod(t, life); c < end; c += life {
		r.cuts = append(r.cuts, c)
	}
	r.cuts = append(r.cuts, end)
}

// segment adds endings between from and to weeks to out; the survival in alive
// is that at from and becomes that at to. The rule gives the shape of the
// density of endings, the survivals its mass.
func (r *Renewals) segment(age, t, from, to float64, out []float64) {
	n := len(r.lifetimes)
	density, sum, alive, later := r.density, r.sum, r.alive, r.later
	r.weigh(age, from, to)
	r.raise(age+r.Pace*to, r.now)
	for q := range n {
		later[q] = exponent.Of(-r.hazard(q, to))
	}
	for i, p := range r.rule {
		f := r.ofNew(t - (from + p.At*(to-from)))
		for q := range n {
			if sum[q] > 0 {
				r.spread(q, density[i*n+q]/sum[q]*(alive[q]-later[q]), f, out)
			}
		}
	}
	copy(alive, later)
}

// weigh puts the density of endings, times the weight of each point of the
// rule, into density and their sums into sum; hazards are counted from age afterwards.
func (r *Renewals) weigh(age, from, to float64) {
	n := len(r.lifetimes)
	density, sum := r.density, r.sum
	clear(sum)
	r.since(age)
	for i, p := range r.rule {
		s := from + p.At*(to-from)
		x := age + r.Pace*s
		r.raise(x, r.now)
		for q := range n {
			d := p.Weight * r.endingAt(q, s, x)
			density[i*n+q] = d
			sum[q] += d
		}
	}
}

// spread adds an ending of chance m, after which a new piece has F_n.
func (r *Renewals) spread(q int, m float64, f, out []float64) {
	d := r.Depth()
	row, fs := out[q*(d+1):(q+1)*(d+1)], f[q*(d-1):(q+1)*(d-1)]
	row[1] += m
	for n, x := range fs {
		row[n+2] += m * x
	}
}
