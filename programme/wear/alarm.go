package wear

import (
	"cmp"
	"iter"
	"maps"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Suspicion is a group of pieces of one client that wear out faster than its other
// pieces lead to expect: of a delivery, or of all since a day.
type Suspicion struct {
	// Delivery says that it is what was handed out on From or later and before To: of
	// Garment, or of all garments where that is empty. Else all pieces, whenever they
	// were handed out, wear faster since From.
	Delivery bool
	Garment  string
	From, To programme.Date
	// Ended and Expected are endings by wear of the group, and how many were to be
	// expected of it; InUse pieces of it are in service, with so many People.
	Ended, Expected float64
	InUse, People   int
	// Weight is the logarithm of the likelihood ratio: faster against as the others.
	Weight float64
	all    wornTally // what Ended and Expected are compared with
}

const (
	// watchDays is the step in which deliveries and starts of a change are told apart.
	watchDays = 28
	// watchSteps is the number of steps back for which deliveries are watched, changeSteps the number for changes.
	watchSteps  = 13
	changeSteps = 6
	// falseAlarms bounds the number of alarms of each kind that a shop gets in a year for nothing,
	// were all as believed. One of both kinds together in two years is allowed; DEVELOPERS.md says how many
	// 'kitlab alarms' counted.
	falseAlarms = 1
)

// Hazards that a bad delivery, and a harsher laundry, are weighed with, in
// multiples of the usual.
var (
	badFactors   = []float64{1.7, 3, 5}
	harshFactors = []float64{1.4, 2, 3}
)

// deliveryLengths are the lengths of a delivery that are weighed, in steps: it is
// handed out at once, or over a quarter.
var deliveryLengths = []int{1, 2, 4}

// AlarmAt returns the weight from which on suspicions are told, where so many
// clients, or pairs of client and garment for deliveries, are watched. Were all as
// believed, each likelihood ratio that is watched from its start would reach a
// height of c with a chance of 1/c at most (Ville's inequality), however often one
// looks; every step each of those watched begins one more.
func AlarmAt(watched int) float64 {
	return math.Log(daysPerYear / watchDays * float64(max(watched, 1)) / falseAlarms)
}

// Alarms returns the suspicions of a client that are to be told, where the shop watches so many clients and so many
// garments of clients. Where all pieces wear faster, so do deliveries; and where a delivery of all garments does,
// so does its part of one garment. The weightiest is told.
func Alarms(all []Suspicion, clients, garments int) (told []Suspicion) {
	for _, s := range all {
		switch {
		case s.Garment == "" && s.Weight >= AlarmAt(clients) && len(told) == 0:
			return []Suspicion{s}
		case s.Garment != "" && s.Weight >= AlarmAt(garments):
			told = append(told, s)
		}
	}
	return told
}

// worth reports that a suspicion has enough endings, clearly more than expected; its weight is judged apart.
func (s *Suspicion) worth() bool { return s.Ended >= 5 && s.Ended >= 1.5*s.Expected }

// leastWeight is below what a single client and garment need.
const leastWeight = 3

// wornTally is endings by wear and how many were to be expected.
type wornTally struct{ ended, expected float64 }

func (t *wornTally) add(ended, expected float64) {
	t.ended, t.expected = t.ended+ended, t.expected+expected
}

// watch sorts the pieces of a client by garment and step of issue, and their wear by
// the step in which it came.
type watch struct {
	asOf     programme.Date
	garments map[string]*watched
	whole    watched                // all garments
	when     [changeSteps]wornTally // by steps back
}

// watched is the wear of what was handed out in each step.
type watched struct {
	issued [watchSteps]wornTally // by steps back
	all    wornTally
}

// Suspicions lists what wears faster than the rest, the weightiest of each
// garment and of all together, where it may be worth an alarm. It compares groups of
// pieces with what the records taught of lives and with the client's other
// pieces: the likelihood of a common factor on the hazard of the group, with the factor
// of all integrated out (Gamma, worth the prior's endings). For starts of a change
// this is the CUSUM of censored lifetimes (Olteanu, Cumulative sum control charts for
// censored reliability data, 2010), with the ratio mixed over several factors.
func (b *Book) Suspicions(h *History, learnt map[Class]*Learnt, asOf programme.Date) []Suspicion {
	if b.client.Known {
		return nil
	}
	w := b.watch(h, learnt, asOf)
	strength := b.strength()
	var out []Suspicion
	for _, garment := range slices.Sorted(maps.Keys(w.garments)) {
		if s, ok := w.garments[garment].heaviest(asOf, strength); ok {
			s.Garment, s.Delivery = garment, true
			out = append(out, s)
		}
	}
	if s, ok := w.whole.heaviest(asOf, strength); ok {
		s.Delivery = true
		out = append(out, s)
	}
	if s, ok := w.change(strength); ok {
		out = append(out, s)
	}
	for i := range out {
		out[i].find(h)
		if out[i].Delivery {
			out[i].Weight = min(out[i].Weight, b.beyondPaces(&out[i], h, learnt))
		}
	}
	out = slices.DeleteFunc(out, func(s Suspicion) bool { return s.Weight <= leastWeight })
	slices.SortStableFunc(out, func(a, b Suspicion) int { return cmp.Compare(b.Weight, a.Weight) })
	return out
}

// strength returns the number of endings that the belief about all pieces together is worth.
func (b *Book) strength() float64 { return max(b.shop.Baselines.PriorEndings, 0.5) }

// watch adds up the wear of all pieces.
func (b *Book) watch(h *History, learnt map[Class]*Learnt, asOf programme.Date) *watch {
	w := &watch{asOf: asOf, garments: map[string]*watched{}}
	for p, bel := range b.worn(h, learnt) {
		w.add(h.paced(p), bel, max(p.Issued, b.client.RecordsStart, p.Since), h)
	}
	return w
}

// worn goes over the pieces whose wear the books tell, each with what is believed of its life.
func (b *Book) worn(h *History, learnt map[Class]*Learnt) iter.Seq2[*programme.Piece, *belief] {
	return func(yield func(*programme.Piece, *belief) bool) {
		believed, uses := b.believed(learnt), b.usesIn(h)
		for _, pieces := range [][]programme.Piece{h.InService, h.parts, h.Ended} {
			for i := range pieces {
				p := &pieces[i]
				use, ok := uses.of(p)
				if !ok || use.PerWeek <= 0 || p.Alike || p.Assumed {
					continue
				}
				if !yield(p, believed[use.Class]) {
					return
				}
			}
		}
	}
}

// stepsBack returns how many steps ago a day lies; steps are the same whenever one looks.
func stepsBack(day, asOf programme.Date) int { return int(asOf)/watchDays - int(day)/watchDays }

func (w *watch) add(p *programme.Piece, bel *belief, since programme.Date, h *History) {
	part := p.Share()
	ends, expected := bel.worn(p, h)
	ends, expected = part*ends, part*expected
	g := w.garments[p.SKU.Garment]
	if g == nil {
		g = &watched{}
		w.garments[p.SKU.Garment] = g
	}
	step := stepsBack(p.Issued, w.asOf)
	g.add(step, ends, expected)
	w.whole.add(step, ends, expected)
	w.spread(p, bel, since, part, ends)
}

func (d *watched) add(step int, ends, expected float64) {
	d.all.add(ends, expected)
	if step < watchSteps {
		d.issued[step].add(ends, expected)
	}
}

// of reports that a piece is of the group.
func (s *Suspicion) of(p *programme.Piece) bool {
	return !s.Delivery || p.Issued >= s.From && p.Issued < s.To && (s.Garment == "" || s.Garment == p.SKU.Garment)
}

// find counts what of the group is in use, and with how many people.
func (s *Suspicion) find(h *History) {
	people := map[string]bool{}
	for i := range h.InService {
		p := &h.InService[i]
		if s.of(p) {
			s.InUse++
			people[p.StaffID] = true
		}
	}
	s.People = len(people)
}

// spread adds a piece's wear to the steps in which it came, washes being even
// over its time.
func (w *watch) spread(p *programme.Piece, bel *belief, since programme.Date, part, ends float64) {
	end := p.Ended
	if end.IsZero() {
		end = w.asOf
	}
	if p.Replaced || stepsBack(end, w.asOf) >= changeSteps {
		return
	}
	if i := stepsBack(end, w.asOf); ends > 0 {
		w.when[i].ended += ends
	}
	days := float64(end - since)
	if days <= 0 {
		return
	}
	age := func(d programme.Date) float64 {
		return p.EntryWashes + (p.Washes-p.EntryWashes)*float64(max(d, since)-since)/days
	}
	to, until := end, bel.wornBy(age(end))
	for i := stepsBack(end, w.asOf); i < changeSteps && to > since; i++ {
		from := max(since, programme.Date((int(w.asOf)/watchDays-i)*watchDays))
		before := bel.wornBy(age(from))
		w.when[i].expected += part * max(0, until-before)
		to, until = from, before
	}
}

// heaviest is the delivery of a garment with the greatest weight.
func (g *watched) heaviest(asOf programme.Date, strength float64) (best Suspicion, ok bool) {
	first := int(asOf) / watchDays
	for start := range watchSteps { // steps back at which the delivery begins
		sum, top := 0.0, Suspicion{Weight: math.Inf(-1)}
		for _, length := range deliveryLengths {
			var s Suspicion
			for i := start; i >= 0 && i > start-length; i-- {
				s.Ended, s.Expected = s.Ended+g.issued[i].ended, s.Expected+g.issued[i].expected
			}
			s.all = g.all
			s.Weight = weightOf(wornTally{s.Ended, s.Expected}, g.all, strength, badFactors)
			s.From, s.To = programme.Date((first-start)*watchDays),
				min(asOf+1, programme.Date((first-start+length)*watchDays))
			sum += math.Exp(s.Weight) / float64(len(deliveryLengths))
			if s.Weight > top.Weight {
				top = s
			}
		}
		if top.Weight = math.Log(sum); top.worth() && top.Weight > max(best.Weight, leastWeight) {
			best, ok = top, true
		}
	}
	return best, ok
}

// change is the start with the greatest weight from which on all pieces wear faster.
func (w *watch) change(strength float64) (best Suspicion, ok bool) {
	s := Suspicion{To: w.asOf + 1}
	for i := range changeSteps {
		s.Ended, s.Expected = s.Ended+w.when[i].ended, s.Expected+w.when[i].expected
		s.From = programme.Date((int(w.asOf)/watchDays - i) * watchDays)
		s.Weight = weightOf(wornTally{s.Ended, s.Expected}, w.whole.all, strength, harshFactors)
		if s.worth() && s.Weight > max(best.Weight, leastWeight) {
			best, ok = s, true
		}
	}
	return best, ok
}

// weightOf returns the logarithm of the likelihood ratio of a group's endings, with a hazard of f times that of all
// others, averaged over factors f. A factor common to all, Gamma(strength, strength), is integrated out, which
// gives f^E ((b + x) / (b + f x))^(a + E): E and x are the endings and the expectation of the group, a and b the
// strength with the endings and the expectation of the others added.
func weightOf(group, all wornTally, strength float64, factors []float64) float64 {
	a, b := strength+max(0, all.ended-group.ended), strength+max(0, all.expected-group.expected)
	sum := 0.0
	for _, f := range factors {
		sum += math.Exp(group.ended*math.Log(f) + (a+group.ended)*math.Log((b+group.expected)/(b+f*group.expected)))
	}
	return math.Log(sum / float64(len(factors)))
}
