package wear

import (
	"cmp"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/exponent"
)

// mostShares is the number of parts of endings that one client's records may come to. A part
// takes some 400 bytes and 15 microseconds before all is learnt.
const mostShares = 1_000_000

// share works out, ending by ending, of which batch the piece was: of every
// batch with its chance, which goes by how many of it are left and how likely
// one of that age ends by that cause on that day. Washes depend only on how
// many are held, so all ages are known; a loss has nothing to do with age.
func (r *rotation) share(m *programme.Movement, asOf programme.Date, h *History) {
	for i := range r.batches {
		b := &r.batches[i]
		b.left, b.whole, b.parts, b.called, b.alone = float64(b.number), 0, 0, 0, 0
	}
	doubt := false
	for i := range r.ends {
		if h.Overfull != nil {
			r.takeAny(&r.ends[i])
			continue
		}
		if doubt {
			r.weigh(r.ends[i].kind, r.ends[i].out)
		}
		r.shareOne(&r.ends[i])
		doubt = doubt || len(r.ends[i].shares) > 1
		if h.shares += len(r.ends[i].shares); h.shares > mostShares {
			h.Overfull = m
		}
	}
	if !doubt || h.Overfull != nil {
		return
	}
	for i := range r.takes {
		r.weigh(i, asOf)
	}
	r.reconcile()
}

// weigh learns from what came since: of batches that may be there the older is the
// less likely to have lasted without an ending, and the likelier to have been there
// for one that came. The odds of each of its doubtful pieces fall by what it would
// have survived and rise by the danger that was its own at each ending (call),
// and all are raised together until as many are there as are held. That one of m pieces is not there because
// another is moves m/(m-1) as much as it would alone (Hájek, Annals of
// Mathematical Statistics 35 (1964) 1491-1523; exact for two).
func (r *rotation) weigh(kind int, on programme.Date) {
	total, pieces := 0.0, 0
	unsure := r.unsure[:0]
	for i := range r.batches {
		b := &r.batches[i]
		if b.kind != kind || b.in >= on || b.left <= 0 {
			continue
		}
		age := max(0, r.at(on)-r.at(b.in)+b.initial)
		worn := r.takes[kind].belief.wearing(b.seen, age) - b.called
		b.seen, b.called = age, 0
		n := b.doubtful()
		if there := b.left - float64(b.number-b.whole-n); there > settledPart && there < float64(n)-settledPart {
			unsure = append(unsure, doubtful{i, n, there / (float64(n) - there), worn})
			total, pieces = total+there, pieces+n
		}
	}
	if r.unsure = unsure; len(unsure) < 2 {
		return
	}
	// All odds are raised by one factor next, so only differences count; of pieces far past
	// their life the hazards alone would leave no odds to raise.
	least := slices.MinFunc(unsure, func(a, b doubtful) int { return cmp.Compare(a.worn, b.worn) }).worn
	for i := range unsure {
		u := &unsure[i]
		u.odds *= exponent.Of((least - u.worn) * float64(pieces) / float64(pieces-1))
	}
	r.raise(total)
}

// doubtful is a batch with the number of its pieces that may be there or not, the odds
// of each of them, and what came since it was last weighed as a hazard.
type doubtful struct {
	batch, pieces int
	odds, worn    float64
}

// doubtful is the number of pieces that may be there or not: no more than endings that may
// have been of the batch or of others.
func (b *batch) doubtful() int { return min(b.parts, b.number-b.whole) }

// raise multiplies all odds by one factor so that total pieces are expected
// (Newton's method in the logarithm of the factor).
func (r *rotation) raise(total float64) {
	factor := 1.0
	for range 30 {
		sum, slope := -total, 0.0
		for _, u := range r.unsure {
			n := float64(u.pieces)
			p := factor * u.odds / (1 + factor*u.odds)
			sum, slope = sum+n*p, slope+n*p*(1-p)
		}
		step := max(-2, min(2, -sum/max(slope, 1e-12)))
		factor *= math.Exp(step)
		if math.Abs(step) < 1e-6 {
			break
		}
	}
	for _, u := range r.unsure {
		b := &r.batches[u.batch]
		b.left = float64(b.number-b.whole-u.pieces) + float64(u.pieces)*factor*u.odds/(1+factor*u.odds)
	}
}

// reconcile makes the parts of every batch, ended and left, add up to its pieces
// again, and those of every ending to one: what came later said more of which
// piece an earlier ending took (iterative proportional fitting, Deming and
// Stephan, Annals of Mathematical Statistics 11 (1940) 427-444).
func (r *rotation) reconcile() {
	for i := range r.ends {
		if shares := r.ends[i].shares; len(shares) == 1 { // of that batch for certain
			r.batches[shares[0].batch].alone += shares[0].part
		}
	}
	for range 5 {
		r.rows = append(r.rows[:0], make([]float64, len(r.batches))...)
		for i := range r.ends {
			if shares := r.ends[i].shares; len(shares) > 1 {
				for _, s := range shares {
					r.rows[s.batch] += s.part
				}
			}
		}
		for i, all := range r.rows {
			if b := &r.batches[i]; all > 0 {
				r.rows[i] = max(settledPart, float64(b.number)-b.left-b.alone) / all
			}
		}
		for i := range r.ends {
			shares, sum := r.ends[i].shares, 0.0
			if len(shares) < 2 {
				continue
			}
			for j := range shares {
				shares[j].part *= r.rows[shares[j].batch]
				sum += shares[j].part
			}
			for j := range shares {
				shares[j].part /= max(sum, 1e-300)
			}
		}
	}
}

// settledPart is a part of a piece that is not followed any further.
const settledPart = 1e-3

func (r *rotation) shareOne(c *closing) {
	only, several := -1, false
	for i := range r.batches {
		if r.eligible(c, i) {
			several = only >= 0
			if only = i; several {
				break
			}
		}
	}
	switch {
	case only < 0:
		r.takeAny(c)
	case !several && r.batches[only].left >= 1-settledPart:
		r.give(c, only, 1)
	default:
		r.shareOut(c)
	}
}

// eligible reports whether a closing may have taken a piece of a batch: not of
// one that was handed out on the same day.
func (r *rotation) eligible(c *closing, i int) bool {
	b := &r.batches[i]
	return b.kind == c.kind && b.left > 0 && b.in < c.out
}

// takeAny serves a piece that ended on the day it was issued.
func (r *rotation) takeAny(c *closing) {
	need := 1.0
	for i := range r.batches {
		b := &r.batches[i]
		if b.kind == c.kind && b.left > 0 && b.in <= c.out && need > 0 {
			part := min(need, b.left)
			r.give(c, i, part)
			need -= part
		}
	}
}

func (r *rotation) give(c *closing, i int, part float64) {
	b := &r.batches[i]
	if b.left > float64(b.number)-settledPart {
		b.seen = max(0, r.at(c.out)-r.at(b.in)+b.initial) // surely there until now
	}
	if b.left -= part; b.left < settledPart {
		b.left = 0
	}
	if part > 1-settledPart {
		b.whole++
	} else {
		b.parts++
	}
	c.shares = append(c.shares, portion{i, part})
}

// shareOut divides a closing by claims; a batch with less left than its claim
// gives what it has, and the others bear the rest.
func (r *rotation) shareOut(c *closing) {
	sum := r.claim(c)
	r.call(sum)
	need := 1.0
	for range 4 {
		if sum <= 0 || need < settledPart {
			break
		}
		left, scale := 0.0, need/sum
		for i, x := range r.claims {
			if x <= 0 {
				continue
			}
			part := min(scale*x, r.batches[i].left)
			r.put(c, i, part)
			need -= part
			if r.batches[i].left <= 0 {
				r.claims[i] = 0
				continue
			}
			left += x
		}
		sum = left
	}
	if need > settledPart {
		r.rest(c, need)
	}
}

// call notes that a piece ended where sum is the danger of all. That one did is the
// likelier the more danger there is, so it raises the odds that a piece is there by
// its own part of it, up to what would settle the matter.
func (r *rotation) call(sum float64) {
	for i, x := range r.claims {
		if b := &r.batches[i]; x > 0 && b.parts > 0 {
			b.called += min(settling, x/b.left/sum)
		}
	}
}

// settling is a logarithm of odds that leaves little doubt.
const settling = 3

// put adds to what a closing has of a batch already.
func (r *rotation) put(c *closing, i int, part float64) {
	for j := range c.shares {
		if c.shares[j].batch == i {
			c.shares[j].part += part
			r.batches[i].left = max(0, r.batches[i].left-part)
			return
		}
	}
	r.give(c, i, part)
}

// rest takes what claims did not cover from the oldest batches.
func (r *rotation) rest(c *closing, need float64) {
	for i := range r.batches {
		if b := &r.batches[i]; b.kind == c.kind && b.left > 0 && b.in <= c.out && need > 0 {
			part := min(need, b.left)
			r.put(c, i, part)
			need -= part
		}
	}
}

// claim states how likely each batch is to have had the piece, up to a factor.
func (r *rotation) claim(c *closing) (sum float64) {
	r.claims = r.claims[:0]
	for range r.batches {
		r.claims = append(r.claims, 0)
	}
	pace := 0.0
	if i := r.indexOf(c.out); i >= 0 {
		pace = r.useOn(c.out).Pace(r.held[i]) / 7
	}
	for i := range r.batches {
		if !r.eligible(c, i) {
			continue
		}
		b := &r.batches[i]
		age := r.at(c.out) - r.at(b.in) + b.initial
		r.claims[i] = b.left * r.takes[c.kind].belief.danger(c.reason, age, pace)
		sum += r.claims[i]
	}
	return sum
}

// belief is the distributions by which endings are shared over alike pieces.
type belief struct {
	risks  []risk  // cloth first, then the prints
	mishap float64 // per day
}

func (t *Terms) belief() *belief { return &belief{t.risks(), t.Mishap.Mean() / daysPerYear} }

// believed returns what is believed after learning, by terms.
func (b *Book) believed(learnt map[Class]*Learnt) map[*Terms]*belief {
	out := make(map[*Terms]*belief, len(b.order))
	for _, c := range b.order {
		k := learnt[c]
		out[k.Terms] = &belief{k.risks(), k.Mishap.Mean() / daysPerYear}
	}
	return out
}

// danger returns the chance, per day and up to a factor common to all ages, that a
// piece of an age ends for a reason; pace is washes a day. What was lost,
// damaged or handed back goes by days alone.
func (b *belief) danger(why programme.Reason, age, pace float64) float64 {
	if age <= 0 {
		return 1e-9
	}
	cause, known := why.Cause()
	switch {
	case !known && !why.StillGood():
		return pace*b.rate(0, age) + b.mishap
	case known && cause.Words().With == programme.CausePrint && len(b.risks) > 1:
		return b.rate(1, age)
	case known && cause.Words().Washed:
		return b.risks[0].rate(age)
	default:
		return 1
	}
}

// rate returns the hazard per wash of the causes from one on.
func (b *belief) rate(from int, age float64) float64 {
	sum := 0.0
	for _, w := range b.risks[from:] {
		sum += w.rate(age)
	}
	return sum
}

// wearing returns the cumulative hazard of cloth and prints between two ages.
func (b *belief) wearing(from, to float64) float64 {
	h := 0.0
	if to > from {
		for _, w := range b.risks {
			h += w.cumulative(from, to)
		}
	}
	return h
}

// wornBy returns the cumulative hazard of cloth and prints from new to an age.
func (b *belief) wornBy(age float64) (h float64) {
	for _, w := range b.risks {
		h += w.number * w.Hazard(age)
	}
	return h
}
