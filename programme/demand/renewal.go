package demand

import (
	"math"

	"github.com/kitmuster/kitmuster/programme/quadrature"
)

// Renewals gives, for every lifetime of a rule at once, the chances that a piece
// and its replacements end so and so often. Every replacement starts new.
//
// For a piece of age a the number N of endings in t weeks has
// P(N >= 1) = 1 - S(a+t)/S(a) and P(N >= n+1) = integral of dG_a(s) F_n(t-s),
// where G_a is the distribution of its remaining life and F_n(x) the chance that a new
// piece is renewed n times within x (Cox, Renewal Theory, 1962). The integral
// is a Gauss rule in s whose mass is set to the exact chance; F_n for n > 1
// comes from a grid. A label limit is a jump of G and of F_1 and is treated as
// one.
type Renewals struct {
	hazards
	grid   grid
	rule   []quadrature.Node
	room   *room
	reach  float64 // weeks one application of the rule spans at most
	fresh  map[float64][]float64
	pieces map[pieceKey]*reckoned
	// tables hold, by weeks, what counted works out, where there are many pieces; nil where it is worked out for each.
	tables map[float64]*ageTable
	// exact, when set, is the chance of a first ending averaged over all that
	// is not known; the few lifetimes are brought to agree with it piece by piece.
	exact func(age, t float64) float64
	// again multiplies the chances of further endings of the few lifetimes, so that their
	// average is the average over all of them.
	again float64
	// scratch: weeks at which the rule is split; by lifetime; by point of the rule, then lifetime
	cuts              []float64
	alive, later, sum []float64
	density           []float64
}

// effort is the fineness of the integrals: points of the rule, the share of
// a life it spans at most, cells of the grid, and the chance that is ignored.
type effort struct {
	points int
	smooth bool
	span   float64
	cells  int
	ignore float64
}

// One lifetime alone is computed to 1e-7; a rule of many needs less, since each of
// its lifetimes stands for a neighbourhood.
var (
	fine   = effort{points: 16, smooth: true, span: 0.4, cells: 3000, ignore: 1e-12}
	coarse = effort{points: 3, span: 0.3, cells: 64, ignore: 1e-8}
)

func newRenewals(lifetimes []Lifetime, rot Rotation, weeks float64, e effort, room *room) *Renewals {
	r := &Renewals{
		hazards: newHazards(lifetimes, rot), room: room, rule: quadrature.Legendre(e.points),
		fresh: map[float64][]float64{}, pieces: map[pieceKey]*reckoned{},
	}
	if e.smooth {
		smooth(r.rule)
	}
	r.reach = e.span * r.typicalLife()
	r.grid = newGrid(&r.hazards, weeks, e)
	n := len(lifetimes)
	r.alive, r.later, r.sum, r.density = make([]float64, n), make([]float64, n), make([]float64, n),
		make([]float64, n*len(r.rule))
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

// Depth returns the greatest number of endings of one piece that is told apart.
func (r *Renewals) Depth() int { return len(r.grid.further) + 2 }

// ofNew returns F_1..F_(depth-1) of a new piece at x weeks, by lifetime then n.
func (r *Renewals) ofNew(x float64) []float64 {
	if f, ok := r.fresh[x]; ok {
		return f
	}
	n := r.Depth() - 1
	out := r.room.floats(n * len(r.lifetimes))
	for q, f := range r.first(x) {
		out[q*n] = f
		for m, g := range r.grid.further {
			out[q*n+m+1] = r.grid.read(g[q], x)
		}
	}
	r.fresh[x] = out
	return out
}

// first returns F_1 at x weeks by lifetime: the chance that a new piece ends within
// x, the label's limit included.
func (r *Renewals) first(x float64) []float64 {
	out := r.before(x)
	if x >= r.limitAfter(0) {
		for q := range out {
			out[q] = 1
		}
	}
	return out
}

// Tails returns P(N >= n) for n = 0..Depth under each lifetime (index lifetime*(Depth+1)+n), where N counts the endings
// of a piece of age washes and of its replacements within t weeks.
func (r *Renewals) Tails(age, t float64) []float64 { return r.piece(age, unseen{}).tails(t) }

// reckoned is a piece, or several that are alike, with the tails that were asked of it so far.
type reckoned struct {
	*Renewals
	age float64
	unseen
	never, toCome []float64 // see unwritten
	answers       []answer
}

// pieceKey is the age of a piece and what may have happened to it unseen, as bits: a map finds
// them in a third of the time that it takes for numbers.
type pieceKey [8]uint64

func keyOf(age float64, u *unseen) pieceKey {
	k := pieceKey{math.Float64bits(age)}
	if u.none() {
		return k
	}
	for i, x := range [...]float64{u.washes, u.weeks, u.hidden, u.lateWashes, u.lateWeeks, u.late} {
		k[1+i] = math.Float64bits(x)
	}
	if u.forgotten {
		k[7] = 1
	}
	return k
}

type answer struct {
	weeks float64
	tails []float64
}

// piece returns a piece of age washes that may have ended already.
func (r *Renewals) piece(age float64, u unseen) *reckoned {
	key := keyOf(age, &u)
	got := r.pieces[key]
	if got == nil {
		got = &reckoned{Renewals: r, age: age, unseen: u}
		if !u.none() {
			got.never, got.toCome = r.unwritten(age, u)
		}
		r.pieces[key] = got
	}
	return got
}

// tails is Tails of the piece. That it has ended already is an ending at once after
// which a new piece follows.
func (p *reckoned) tails(t float64) []float64 {
	for _, before := range p.answers {
		if before.weeks == t {
			return before.tails
		}
	}
	d := p.Depth() + 1
	out := p.room.floats(d * len(p.lifetimes))
	if t > 0 {
		p.agree(p.counted(t, out), out)
	}
	for q := range p.lifetimes {
		out[q*d] = 1
	}
	if !p.none() {
		after := p.Tails(0, t)
		for q := range p.lifetimes {
			gone, asked := p.never[q]+p.toCome[q], p.asked(p.never[q], p.toCome[q])
			for n := 1; n < d; n++ {
				out[q*d+n] = (1-gone)*out[q*d+n] + asked*after[q*d+n-1]
			}
		}
	}
	p.answers = append(p.answers, answer{t, out})
	return out
}

// counted puts the chances of one ending and more of a piece known to be there, as the few lifetimes have them, into
// out and returns the exact chance of the first.
func (p *reckoned) counted(t float64, out []float64) (ended float64) {
	if p.tables == nil {
		p.count(p.age, t, out)
		return p.endedExactly(p.age, t)
	}
	table := p.tables[t]
	if table == nil {
		d := p.Depth() + 1
		table = newAgeTable(p.typicalLife()*p.Pace, d*len(p.lifetimes), p.room, func(age float64, into []float64) {
			p.count(age, t, into)
			into[0] = p.endedExactly(age, t) // count leaves the place of no endings free
		})
		p.tables[t] = table
	}
	table.read(p.age, out)
	return out[0]
}

// endedExactly is exact where that is asked for.
func (r *Renewals) endedExactly(age, t float64) float64 {
	if !r.agrees() {
		return 0
	}
	return r.exact(age, t)
}

func (r *Renewals) agrees() bool { return r.exact != nil && len(r.lifetimes) > 1 }

// agree scales the chance of a first ending of all lifetimes by one factor so that
// its average is exactly ended, and those of further endings by one that is common to all pieces.
func (r *Renewals) agree(ended float64, out []float64) {
	if !r.agrees() {
		return
	}
	d := r.Depth() + 1
	mean := 0.0
	for q := range r.lifetimes {
		mean += r.lifetimes[q].Weight * out[q*d+1]
	}
	if mean <= 0 {
		return
	}
	factor := ended / mean
	for q := range r.lifetimes {
		tails := out[q*d+1 : (q+1)*d]
		tails[0] = min(1, factor*tails[0])
		for n := 1; n < len(tails); n++ {
			tails[n] = min(tails[n-1], r.again*tails[n])
		}
	}
}
