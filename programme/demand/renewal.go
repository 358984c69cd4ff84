package demand

import (
	"math"

	"github.com/kitmuster/kitmuster/programme/quadrature"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Law is one complete set of life parameters: every cause that ends a piece.
type Law struct {
	Weight float64
	// Wash are the causes counted in washes, cloth first; all must outlast a wash.
	Wash []wear.Weibull
	// Number is how many lives of each cause a piece carries (several prints of a kind).
	Number []float64
	// Mishap is the rate per week.
	Mishap float64
}

// Rotation is what is the same for pieces that are worn alike.
type Rotation struct {
	// Pace is washes a week of each piece, above 0.
	Pace float64
	// Limit is the greatest number of washes on the label; 0 = none.
	Limit float64
}

// Renewals gives, for every law of a rule at once, the chances that a piece
// and its replacements end so and so often. Every replacement starts new.
//
// For a piece of age a the number N of endings in t weeks has
// P(N >= 1) = 1 - S(a+t)/S(a) and P(N >= n+1) = integral of dG_a(s) F_n(t-s),
// where G_a is the law of its remaining life and F_n(x) the chance that a new
// piece is renewed n times within x (Cox, Renewal Theory, 1962). The integral
// is a Gauss rule in s whose mass is set to the exact chance; F_n for n > 1
// comes from a grid (Stieltjes, trapezoidal). A label limit is a jump of G and
// of F_1 and is treated as one.
type Renewals struct {
	Rotation
	laws   []Law
	powers []power
	terms  [][]term // by law
	rule   []quadrature.Node
	reach  float64 // weeks one application of the rule spans at most
	// grid of F_n by law for n = 2.., at multiples of step weeks. A label limit
	// lies on the grid, jumpAt steps from new.
	step   float64
	jumpAt int
	grid   [][]curve
	fresh  map[float64][]float64
	memo   map[[2]float64][]float64
	unseen map[unseenKey][]float64
	// exact, when set, is the chance of a first ending averaged over all that
	// is not known; the few laws are brought to agree with it piece by piece.
	exact func(age, t float64) float64
	// scratch, by power, and by law
	now, then                  []float64
	alive, later, sum, density []float64
}

// power is x^shape in units of washes, shared by all laws with that shape.
type power struct{ shape, logUnit float64 }

// term is rate * power, one cause of one law.
type term struct {
	power int
	rate  float64
}

// effort is how finely the integrals are done: points of the rule, the share of
// a life it spans at most, cells of the grid, and the chance that is ignored.
type effort struct {
	points int
	smooth bool
	span   float64
	cells  int
	ignore float64
}

// One law alone is computed to 1e-7; a rule of many needs less, since each of
// its laws stands for a neighbourhood.
var (
	fine   = effort{points: 16, smooth: true, span: 0.4, cells: 3000, ignore: 1e-12}
	coarse = effort{points: 3, span: 0.3, cells: 64, ignore: 1e-8}
)

// NewRenewals prepares laws (weights summing to 1) for pieces in a rotation,
// for questions up to weeks ahead.
func NewRenewals(laws []Law, r Rotation, weeks float64) *Renewals {
	e := coarse
	if len(laws) == 1 {
		e = fine
	}
	return newRenewals(laws, r, weeks, e)
}

func newRenewals(laws []Law, rot Rotation, weeks float64, e effort) *Renewals {
	r := &Renewals{Rotation: rot, laws: laws, rule: quadrature.Legendre(e.points), fresh: map[float64][]float64{}, memo: map[[2]float64][]float64{}, unseen: map[unseenKey][]float64{}}
	index := map[power]int{}
	for _, l := range laws {
		var ts []term
		for i, w := range l.Wash {
			unit := l.Wash[i].Scale
			if len(laws) > 1 {
				unit = laws[0].Wash[i].Scale
			}
			p := power{w.Shape, math.Log(unit)}
			at, ok := index[p]
			if !ok {
				at = len(r.powers)
				index[p] = at
				r.powers = append(r.powers, p)
			}
			ts = append(ts, term{at, l.Number[i] * math.Pow(unit/w.Scale, w.Shape)})
		}
		r.terms = append(r.terms, ts)
	}
	if e.smooth {
		smooth(r.rule)
	}
	r.reach = e.span * r.typicalLife()
	r.now, r.then = make([]float64, len(r.powers)), make([]float64, len(r.powers))
	n := len(laws)
	r.alive, r.later, r.sum, r.density = make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n*len(r.rule))
	r.tabulate(weeks, e)
	return r
}

// smooth changes a rule on [0, 1] by s = v*v*(3-2*v), which turns powers such
// as s^1.5 at both ends (a new piece's hazard starts like that) into polynomials.
func smooth(rule []quadrature.Node) {
	for i, p := range rule {
		v := p.At
		rule[i] = quadrature.Node{At: v * v * (3 - 2*v), Weight: p.Weight * 6 * v * (1 - v)}
	}
}

// typicalLife is the weeks after which the heaviest law's cumulative hazard is about 1.
func (r *Renewals) typicalLife() float64 {
	heaviest := 0
	for q, l := range r.laws {
		if l.Weight > r.laws[heaviest].Weight {
			heaviest = q
		}
	}
	l := r.laws[heaviest]
	rate := l.Mishap
	for i, w := range l.Wash {
		rate += r.Pace / w.Scale * math.Pow(l.Number[i], 1/w.Shape)
	}
	if rate <= 0 {
		return math.Inf(1)
	}
	return 1 / rate
}

// Depth is the greatest number of endings of one piece that is told apart.
func (r *Renewals) Depth() int { return len(r.grid) + 2 }

func (r *Renewals) raise(x float64, into []float64) {
	if x <= 0 {
		clear(into)
		return
	}
	l := math.Log(x)
	for i, p := range r.powers {
		into[i] = math.Exp(p.shape * (l - p.logUnit))
	}
}

// hazard is the cumulative hazard of law q between the washes raised in then and now, over t weeks.
func (r *Renewals) hazard(q int, t float64) float64 {
	h := r.laws[q].Mishap * t
	for _, c := range r.terms[q] {
		h += c.rate * (r.now[c.power] - r.then[c.power])
	}
	return h
}

// limitAfter is the weeks until the label's limit for a piece of age washes; +Inf without one.
func (r *Renewals) limitAfter(age float64) float64 {
	if r.Limit <= 0 {
		return math.Inf(1)
	}
	return max(0, (r.Limit-age)/r.Pace)
}

// before returns the chance that a new piece ends within x weeks, by law, the
// label's limit left aside.
func (r *Renewals) before(x float64) []float64 {
	out := make([]float64, len(r.laws))
	if x <= 0 {
		return out
	}
	clear(r.then)
	r.raise(r.Pace*x, r.now)
	for q := range out {
		out[q] = -math.Expm1(-r.hazard(q, x))
	}
	return out
}

// first returns F_1 at x weeks by law: the chance that a new piece ends within x.
func (r *Renewals) first(x float64) []float64 {
	out := r.before(x)
	if x >= r.limitAfter(0) {
		for q := range out {
			out[q] = 1
		}
	}
	return out
}

// tabulate fills the grid of F_2, F_3, ... until they no longer matter.
func (r *Renewals) tabulate(weeks float64, e effort) {
	r.step = max(weeks, 1e-9) / float64(e.cells)
	if life := r.limitAfter(0); life <= weeks {
		r.jumpAt = int(math.Ceil(life / r.step))
		r.step = life / float64(r.jumpAt)
	}
	cells := int(math.Ceil(weeks/r.step-1e-9)) + 1
	f1 := r.firstCurves(max(cells, 4))
	last := f1
	for len(r.grid) < 60 && matters(last, e.ignore) {
		next := make([]curve, len(r.laws))
		for q := range next {
			next[q] = stieltjes(f1[q], last[q], r.jumpAt)
		}
		r.grid = append(r.grid, next)
		last = next
	}
}

// curve is a function on the grid: its value at each point and its limit from
// the left, which differ only where it jumps.
type curve struct{ right, left []float64 }

func (r *Renewals) firstCurves(cells int) []curve {
	out := make([]curve, len(r.laws))
	for q := range out {
		c := make([]float64, cells+1)
		out[q] = curve{c, c}
		if r.jumpAt > 0 {
			out[q].left = make([]float64, cells+1)
		}
	}
	for i := range cells + 1 {
		x := float64(i) * r.step
		for q, f := range r.before(x) {
			out[q].left[i] = f
			if r.jumpAt > 0 && i > r.jumpAt {
				out[q].left[i] = 1
			}
			if r.jumpAt > 0 {
				out[q].right[i] = out[q].left[i]
				if i == r.jumpAt {
					out[q].right[i] = 1
				}
			}
		}
	}
	return out
}

func matters(f []curve, ignore float64) bool {
	for _, c := range f {
		if c.right[len(c.right)-1] > ignore {
			return true
		}
	}
	return false
}

// stieltjes is the integral of df(s) g(x-s) on the grid, g averaged over each
// cell; f jumps at the grid point jumpAt (0 = nowhere).
func stieltjes(f, g curve, jumpAt int) curve {
	n := len(f.right)
	mass, mid := make([]float64, n), make([]float64, n)
	for i := 1; i < n; i++ {
		mass[i], mid[i] = f.left[i]-f.right[i-1], (g.left[i]+g.right[i-1])/2
	}
	out := curve{right: make([]float64, n)}
	for i := 1; i < n; i++ {
		sum := 0.0
		for j, m := range mass[1 : i+1] {
			sum += m * mid[i-j]
		}
		out.right[i] = sum
	}
	out.left = out.right
	if jumpAt == 0 {
		return out
	}
	out.left = append([]float64(nil), out.right...)
	jump := f.right[jumpAt] - f.left[jumpAt]
	for i := jumpAt; i < n; i++ {
		out.right[i] += jump * g.right[i-jumpAt]
		out.left[i] += jump * g.left[i-jumpAt]
	}
	return out
}

// at returns F_1..F_(depth-1) of a new piece at x weeks, by law then n.
func (r *Renewals) at(x float64) []float64 {
	if f, ok := r.fresh[x]; ok {
		return f
	}
	n := r.Depth() - 1
	out := make([]float64, n*len(r.laws))
	for q, f := range r.first(x) {
		out[q*n] = f
		for m, g := range r.grid {
			out[q*n+m+1] = r.read(g[q], max(x, 0)/r.step)
		}
	}
	r.fresh[x] = out
	return out
}

// read returns a curve at position x of the grid: smoothly, or where curves
// jump by straight lines from jump to jump.
func (r *Renewals) read(c curve, x float64) float64 {
	if r.jumpAt == 0 {
		return cubic(c.right, x)
	}
	i := min(int(x+1e-9), len(c.right)-2)
	return c.right[i] + max(0, x-float64(i))*(c.left[i+1]-c.right[i])
}

// cubic reads a grid of at least four points at position x by a cubic through the nearest.
func cubic(g []float64, x float64) float64 {
	lo := max(0, min(int(x)-1, len(g)-4))
	d := x - float64(lo)
	d1, d2, d3 := d-1, d-2, d-3
	return -g[lo]*d1*d2*d3/6 + g[lo+1]*d*d2*d3/2 - g[lo+2]*d*d1*d3/2 + g[lo+3]*d*d1*d2/6
}

// Tails returns P(N >= n) for n = 0..Depth by law (index law*(Depth+1)+n) for
// a piece of age washes, N its endings and those of its replacements within t weeks.
func (r *Renewals) Tails(age, t float64) []float64 {
	key := [2]float64{age, t}
	if out, ok := r.memo[key]; ok {
		return out
	}
	out := make([]float64, (r.Depth()+1)*len(r.laws))
	for q := range r.laws {
		out[q*(r.Depth()+1)] = 1
	}
	if t > 0 {
		r.tails(age, t, out)
		r.agree(age, t, out)
	}
	r.memo[key] = out
	return out
}

// agree scales the chance of a first ending of all laws by one factor so that
// its average is exact; further endings stay as they are.
func (r *Renewals) agree(age, t float64, out []float64) {
	if r.exact == nil || len(r.laws) == 1 {
		return
	}
	d := r.Depth() + 1
	mean := 0.0
	for q := range r.laws {
		mean += r.laws[q].Weight * out[q*d+1]
	}
	if mean <= 0 {
		return
	}
	factor := r.exact(age, t) / mean
	for q := range r.laws {
		out[q*d+1] = min(1, max(factor*out[q*d+1], out[q*d+2]))
	}
}

func (r *Renewals) tails(age, t float64, out []float64) {
	limit := r.limitAfter(age)
	end := min(t, limit)
	// F_n jumps where replacements would reach their own limits; the rule is split there.
	cuts := []float64{0}
	if life := r.limitAfter(0); life < t {
		for c := t - life*math.Floor(t/life); c < end; c += life {
			if c > 0 {
				cuts = append(cuts, c)
			}
		}
	}
	cuts = append(cuts, end)
	alive := r.alive
	for q := range alive {
		alive[q] = 1
	}
	for i := 1; i < len(cuts); i++ {
		from, width := cuts[i-1], cuts[i]-cuts[i-1]
		n := int(math.Ceil(width / r.reach))
		for j := range n {
			r.segment(age, t, from+width*float64(j)/float64(n), from+width*float64(j+1)/float64(n), alive, out)
		}
	}
	if limit <= t {
		f := r.at(t - limit)
		for q, s := range alive {
			r.spread(q, s, f, out)
		}
	}
}

// segment adds endings between from and to weeks; alive is the survival at from and becomes that at to.
func (r *Renewals) segment(age, t, from, to float64, alive, out []float64) {
	if to <= from {
		return
	}
	n := len(r.laws)
	density, sum, later := r.density, r.sum, r.later
	clear(sum)
	r.raise(age, r.then)
	for i, p := range r.rule {
		s := from + p.At*(to-from)
		x := age + r.Pace*s
		r.raise(x, r.now)
		for q := range n {
			h := r.laws[q].Mishap
			for _, c := range r.terms[q] {
				h += c.rate * r.powers[c.power].shape * r.Pace / x * r.now[c.power]
			}
			d := p.Weight * h * math.Exp(-r.hazard(q, s))
			density[i*n+q] = d
			sum[q] += d
		}
	}
	r.raise(age+r.Pace*to, r.now)
	for q := range n {
		later[q] = math.Exp(-r.hazard(q, to))
	}
	for i, p := range r.rule {
		f := r.at(t - (from + p.At*(to-from)))
		for q := range n {
			if sum[q] > 0 {
				r.spread(q, density[i*n+q]/sum[q]*(alive[q]-later[q]), f, out)
			}
		}
	}
	copy(alive, later)
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
