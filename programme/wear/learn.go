package wear

import (
	"cmp"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Learnt is what a client's records have taught about one class of its pieces.
type Learnt struct {
	Terms  *Terms
	Cloth  Posterior
	Prints []Posterior // as Terms.Prints, each for one print of its kind
	// Mishap is the rate of loss and damage per piece and year.
	Mishap Gamma
	// Evidence is what it rests on.
	Evidence Evidence
	// lives are all pieces of the class, for pictures.
	lives []life
}

// Evidence counts what records say about a class.
type Evidence struct {
	InService int `json:"in_service"`
	// Endings by cause; Unexplained ones have no reason or were missed at a count.
	Worn        int `json:"worn"`
	Print       int `json:"print"`
	Mishap      int `json:"mishap"`
	Unexplained int `json:"unexplained"`
	// Other pieces left service while still good: returned, or of a wrong size.
	Other int `json:"other"`
}

// Endings returns how many pieces came to an end that needed replacing.
func (e Evidence) Endings() int { return e.Worn + e.Print + e.Mishap + e.Unexplained }

// life is one piece as evidence, in washes and days.
type life struct {
	entry, from, to float64 // washes: seen from, last sign of life, gone by
	days            float64 // in service under observation, to the last sign of life
	pace            float64 // washes a day while observed
	reason          programme.Reason
	ended           bool
	count           float64 // equal pieces
	// Of a piece in service not seen since a count: the days since then, and the
	// share of endings that would not be on the books.
	unseenDays, hidden float64
}

func (l *life) unexplained() bool {
	return l.ended && (l.reason == programme.NoReason || l.reason == programme.Unexplained)
}

// Learn returns the posterior of every class of the client from a history.
// An ending of unknown cause is shared between the causes by their chances:
// each cause is learnt with what the others may have done held at its present
// estimate, in turn, until nothing moves. The fixed point is that of the EM
// algorithm for competing risks; the spread is that of the observed, not of
// the completed, likelihood, so a guess is never counted as a fact.
func (b *Book) Learn(h History, asOf programme.Date) map[Class]*Learnt {
	out := make(map[Class]*Learnt, len(b.order))
	for _, c := range b.order {
		out[c] = &Learnt{Terms: b.terms[c], Mishap: b.terms[c].Mishap}
	}
	for _, pieces := range [][]programme.Piece{h.InService, h.Ended} {
		for i := range pieces {
			b.sort(&pieces[i], h.roles[pieces[i].StaffID], h.Hidden, asOf, out)
		}
	}
	for _, c := range b.order {
		out[c].lives = pool(out[c].lives)
		out[c].learn()
	}
	return out
}

// Relearn is Learn from evidence that another book of the same client has
// sorted already, one that knew nothing of other clients: it spares tracing and
// sorting the pieces twice.
func (b *Book) Relearn(first map[Class]*Learnt) map[Class]*Learnt {
	out := make(map[Class]*Learnt, len(b.order))
	for _, c := range b.order {
		k := &Learnt{Terms: b.terms[c]}
		if before := first[c]; before != nil {
			k.Evidence, k.lives = before.Evidence, before.lives
		}
		k.learn()
		out[c] = k
	}
	return out
}

// sort adds a piece to the evidence of its class; hidden is the share of endings
// that stay off the books until a count.
func (b *Book) sort(p *programme.Piece, role string, hidden float64, asOf programme.Date, out map[Class]*Learnt) {
	use, ok := b.Use(role, p.SKU.Garment, p.SKU.Colour)
	if !ok || use.PerWeek <= 0 {
		return
	}
	end, ended := asOf, !p.Ended.IsZero()
	if ended {
		end = p.Ended
	}
	since := max(p.Issued, b.client.RecordsStart)
	l := life{entry: p.EntryWashes, from: p.FromWashes, to: p.ToWashes, days: max(0, float64(end-since)), reason: p.Reason, ended: ended, count: 1}
	if l.days > 0 {
		l.pace = (p.Washes - l.entry) / l.days
	}
	if ended && l.to > l.from && l.pace > 0 {
		l.days = max(0, l.days-(p.Washes-l.from)/l.pace)
	}
	if ended && p.Ended < since || l.to < l.entry {
		return // over before records begin
	}
	l.entry = min(l.entry, l.from)
	k := out[use.Class.Class]
	k.Evidence.add(&l)
	switch {
	case ended:
	case hidden > 0 && p.UnseenDays > 0:
		l.unseenDays, l.hidden = min(p.UnseenDays, l.days), hidden
	default:
		l.from = l.to
	}
	k.lives = append(k.lives, l)
}

func (e *Evidence) add(l *life) {
	switch {
	case !l.ended:
		e.InService++
	case l.unexplained():
		e.Unexplained++
	case l.reason == programme.Worn:
		e.Worn++
	case l.reason == programme.Print:
		e.Print++
	case l.reason == programme.Damaged, l.reason == programme.Lost:
		e.Mishap++
	default:
		e.Other++
	}
}

// sharing is how often the causes are learnt in turn, at most; movement below
// settled (relative, of the typical scales) ends it.
const (
	sharing = 12
	settled = 5e-4
)

func (k *Learnt) learn() {
	t := k.Terms
	k.Prints = make([]Posterior, len(t.Prints))
	k.Mishap = t.Mishap
	laws := t.laws()
	rounds := 0
	if k.Evidence.Unexplained > 0 || slices.ContainsFunc(k.lives, func(l life) bool { return l.hidden > 0 }) || len(t.Prints) > 1 && k.Evidence.Print > 0 {
		rounds = sharing
	}
	near := make([]learner, len(laws))
	for range rounds {
		before, mishap := slices.Clone(laws), k.Mishap
		for c := range laws {
			l := newLearner(t.prior(c), k.observations(c, before))
			l.near, l.nearRate = near[c].near, near[c].nearRate
			laws[c].Weibull = l.centre()
			near[c] = *l
		}
		k.Mishap = k.mishaps(before)
		if still(before, laws, mishap, k.Mishap) {
			break
		}
	}
	for c := range laws {
		l := newLearner(t.prior(c), k.observations(c, laws))
		l.near, l.nearRate = near[c].near, near[c].nearRate
		if c == 0 {
			k.Cloth = l.posterior()
		} else {
			k.Prints[c-1] = l.posterior()
		}
	}
	k.Mishap = k.mishaps(laws)
}

// pool merges pieces with equal lives, so that those issued and ended together
// are computed once.
func pool(lives []life) []life {
	slices.SortFunc(lives, func(a, b life) int {
		return cmp.Or(cmp.Compare(a.to, b.to), cmp.Compare(a.from, b.from), cmp.Compare(a.entry, b.entry),
			cmp.Compare(a.days, b.days), cmp.Compare(a.pace, b.pace), cmp.Compare(a.reason, b.reason), b2i(a.ended)-b2i(b.ended),
			cmp.Compare(a.unseenDays, b.unseenDays), cmp.Compare(a.hidden, b.hidden))
	})
	out := lives[:0]
	for _, l := range lives {
		if n := len(out); n > 0 && l.equals(&out[n-1]) {
			out[n-1].count += l.count
			continue
		}
		out = append(out, l)
	}
	return out
}

func (l life) equals(o *life) bool {
	l.count = o.count
	return l == *o
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// prior is that of cause c: cloth first, then the prints.
func (t *Terms) prior(c int) Prior { return t.sources()[c].Prior }

// laws are the causes as believed before any record.
func (t *Terms) laws() []law {
	out := []law{{t.Cloth.Weibull, 1}}
	for _, p := range t.Prints {
		out = append(out, law{p.Weibull, float64(p.Number)})
	}
	return out
}

// still reports that a round of sharing moved nothing that matters.
func still(before, after []law, mishapBefore, mishapAfter Gamma) bool {
	for i := range before {
		if math.Abs(after[i].Scale/before[i].Scale-1) > settled || math.Abs(after[i].Shape/before[i].Shape-1) > 4*settled {
			return false
		}
	}
	return math.Abs(mishapAfter.Mean()/mishapBefore.Mean()-1) < 10*settled
}

// law is a cause at its present estimate: number Weibulls at once.
type law struct {
	Weibull
	number float64
}

func (w law) cumulative(from, to float64) float64 {
	return w.number * (w.Hazard(to) - w.Hazard(from))
}

func (w law) rate(x float64) float64 { return w.number * w.Shape * w.Hazard(x) / x }

// laws are cloth first, then the prints.
func (k *Learnt) laws() []law {
	out := []law{{k.Cloth.Typical(), 1}}
	for j, p := range k.Prints {
		out = append(out, law{p.Typical(), float64(k.Terms.Prints[j].Number)})
	}
	return out
}

// others is the competing hazard besides cause c (0 cloth, 1.. prints) for an
// unexplained ending: cumulative over an interval, per wash at a known age.
// With c = -1 it is that of all causes.
func (k *Learnt) others(l *life, c int, laws []law) float64 {
	sum, mishap := 0.0, 0.0
	if l.pace > 0 {
		mishap = k.Mishap.Mean() / daysPerYear / l.pace
	}
	interval := l.to > l.from
	for j, w := range laws {
		if j == c {
			continue
		}
		if interval {
			sum += w.cumulative(l.from, l.to)
		} else {
			sum += w.rate(l.to)
		}
	}
	if interval {
		return sum + mishap*(l.to-l.from)
	}
	return sum + mishap
}

// silent is how much the silence of the books says of a piece in service since
// it was seen, from 0, nothing, to 1, as if it had been seen today. With S its
// survival since then, the chance of the silence is S + hidden (1 - S). The slope
// of its logarithm by the cumulative hazard is -(1 - hidden) S / (S + hidden (1 - S));
// with that as weight, at the present estimate, such a piece is evidence as seen
// until today, and with the rest as seen at its last sign of life.
func (k *Learnt) silent(l *life, laws []law) float64 {
	h := k.Mishap.Mean() / daysPerYear * l.unseenDays
	for _, w := range laws {
		h += w.cumulative(l.from, l.to)
	}
	return (1 - l.hidden) * (1 - Gone(h, l.hidden))
}

// Gone is the chance that a piece has ended although no ending of it is written
// down, hazard the cumulative hazard since its last sign of life and hidden the
// share of endings that nobody writes down.
func Gone(hazard, hidden float64) float64 {
	ended := -math.Expm1(-hazard)
	if ended <= 0 || hidden <= 0 {
		return 0
	}
	return hidden * ended / (1 - ended + hidden*ended)
}

// observations states the evidence as cause c sees it. Of several prints of a
// kind, each is a life of its own, and any of them may be the one that ended.
func (k *Learnt) observations(c int, laws []law) []Observation {
	number := laws[c].number
	out := make([]Observation, 0, len(k.lives))
	for i := range k.lives {
		l := &k.lives[i]
		o := Observation{Kind: Right, Entry: l.entry, Exit: l.from, Count: l.count, Lives: number}
		if l.hidden > 0 {
			silent := k.silent(l, laws)
			o.Count = (1 - silent) * l.count
			out = append(out, o)
			o.Exit, o.Count = l.to, silent*l.count
		}
		mine := l.ended && (c == 0 && l.reason == programme.Worn || c > 0 && l.reason == programme.Print)
		shared := l.unexplained()
		if !mine && !shared || l.to <= 0 {
			out = append(out, o)
			continue
		}
		o.Kind = Exact
		if l.to > l.from {
			o.Kind, o.Upper = Interval, l.to
		}
		switch {
		case shared:
			o.Other = k.others(l, c, laws)
		case c > 0 && len(laws) > 2:
			o.Other = k.otherPrints(l, c, laws)
		}
		out = append(out, o)
	}
	return out
}

// otherPrints is the hazard of prints of other kinds when a print, not known which, ended it.
func (k *Learnt) otherPrints(l *life, c int, laws []law) float64 {
	sum := 0.0
	for j := 1; j < len(laws); j++ {
		if j != c {
			sum += laws[j].rate(l.to)
		}
	}
	return sum
}

// mishaps learns the rate per piece and year, unexplained endings by their shares.
func (k *Learnt) mishaps(laws []law) Gamma {
	var events, days float64
	for i := range k.lives {
		l := &k.lives[i]
		days += l.count * l.days
		switch {
		case l.hidden > 0:
			days -= l.count * (1 - k.silent(l, laws)) * l.unseenDays
		case l.reason == programme.Damaged, l.reason == programme.Lost:
			events += l.count
		case l.unexplained() && l.to <= 0:
			events += l.count // never washed, so nothing else can have ended it
		case l.unexplained() && l.to > l.from && l.pace > 0:
			share, lived := k.inside(l, laws)
			events += l.count * share
			days += l.count * lived
		case l.unexplained():
			mishap := k.Mishap.Mean() / daysPerYear / max(l.pace, 1e-9)
			events += l.count * mishap / max(k.others(l, -1, laws), mishap)
		}
	}
	return k.Terms.Mishap.Learn(events, days/daysPerYear)
}

// inside looks into an interval in which a piece ended unseen: the chance that
// a mishap ended it, and the days it is expected to have lived in there.
// With S the survival since from, both follow from the integral of S.
func (k *Learnt) inside(l *life, laws []law) (share, days float64) {
	rate, gap := k.Mishap.Mean()/daysPerYear, (l.to-l.from)/l.pace
	const cells = 8 // Simpson's rule
	integral, last := 0.0, 0.0
	for i := 0; i <= cells; i++ {
		t := float64(i) / cells
		h := rate * gap * t
		for _, w := range laws {
			h += w.cumulative(l.from, l.from+t*(l.to-l.from))
		}
		last = math.Exp(-h)
		integral += last * float64([2]int{2, 4}[i%2])
	}
	integral = (integral - 1 - last) * gap / (3 * cells)
	ended := 1 - last
	if ended <= 0 {
		return 0, gap / 2
	}
	return min(1, rate*integral/ended), max(0, (integral-gap*last)/ended)
}
