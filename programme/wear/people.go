package wear

import (
	"maps"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/exponent"
	"github.com/kitmuster/kitmuster/programme/quadrature"
)

// Pace is the distribution of how hard a person wears: the logarithm of the factor
// on washes has this mean and standard deviation. The zero value is everybody.
type Pace struct{ Log, SD float64 }

// Nodes returns factors on washes with their chances, two that keep mean and spread
// of the logarithm, on a grid that many people share.
func (p Pace) Nodes() []quadrature.Node {
	if p == (Pace{}) {
		return nil
	}
	m, sd := math.Round(p.Log*10)/10, math.Round(p.SD*20)/20
	return []quadrature.Node{{At: math.Exp(m - sd), Weight: 0.5}, {At: math.Exp(m + sd), Weight: 0.5}}
}

// Pace returns what was learnt of a person's pace.
func (h *History) Pace(staff string) Pace { return h.paces[staff] }

// wearer sums what a person's pieces say of the pace: endings by wear, and how many
// were to be expected of somebody with pace 1.
type wearer struct{ endings, expected float64 }

func (w *wearer) add(endings, expected float64) {
	w.endings, w.expected = w.endings+endings, w.expected+expected
}

// spreads are the standard deviations of the log pace that are weighed.
var spreads = []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6}

// noticeable is the least gain in the logarithm of the likelihood from which on people are believed to differ.
const noticeable = 2

// learnPaces learns how far people differ by the likelihood with each person's
// pace averaged out, and then each person's pace. A pace of w multiplies the
// cumulative hazard by w^shape.
func (b *Book) learnPaces(h *History, learnt map[Class]*Learnt) map[string]Pace {
	people, shape := b.wearers(h, learnt)
	if len(people) < 5 {
		return nil
	}
	ids := slices.Sorted(maps.Keys(people))
	best, none, sd := math.Inf(-1), 0.0, 0.0
	for _, s := range spreads {
		sum := 0.0
		for _, id := range ids {
			l, _ := people[id].weigh(s, shape)
			sum += l
		}
		if s == 0 {
			none = sum
		}
		if sum > best {
			best, sd = sum, s
		}
	}
	if sd == 0 || best < none+noticeable {
		return nil
	}
	out := make(map[string]Pace, len(people))
	for _, id := range ids {
		_, out[id] = people[id].weigh(sd, shape)
	}
	return out
}

// paceRule is the rule over the log pace, around its likeliest value.
var paceRule = quadrature.Normal(5)

// weigh returns the log likelihood of a person's endings when log paces have a
// standard deviation, and the pace given them. Many endings leave so little doubt of
// a pace that the rule must lie where they say (adaptive Gauss-Hermite quadrature: Naylor
// and Smith, Applications of a method for the efficient computation of posterior
// distributions, 1982).
func (w wearer) weigh(sd, shape float64) (logLikelihood float64, p Pace) {
	if sd == 0 {
		return -w.expected, Pace{}
	}
	prior := 1 / (sd * sd)
	// Newton's method from the pace of everybody: the logarithm of the posterior is
	// concave, and steps are kept short.
	at, bend := 0.0, prior
	for range 20 {
		e := w.expected * exponent.Of(shape*at)
		bend = shape*shape*e + prior
		step := (shape*(w.endings-e) - prior*at) / bend
		at += max(-1, min(1, step))
		if math.Abs(step)*math.Sqrt(bend) < 0.01 {
			break
		}
	}
	width := 1 / math.Sqrt(bend)
	var m0, m1, m2 float64
	top := w.endings*shape*at - w.expected*exponent.Of(shape*at) - prior*at*at/2
	for _, q := range paceRule {
		d := width * q.At
		x := at + d
		v := q.Weight * exponent.Of(w.endings*shape*x-w.expected*exponent.Of(shape*x)-prior*x*x/2-top+q.At*q.At/2)
		m0, m1, m2 = m0+v, m1+v*d, m2+v*d*d
	}
	m1, m2 = m1/m0, m2/m0
	return top + math.Log(m0*width/sd), Pace{at + m1, math.Sqrt(max(0, m2-m1*m1))}
}

// beyondPaces returns the logarithm of the likelihood ratio of a delivery that wears out faster where people may
// differ: whoever wears hard is handed out more, so that a delivery can seem bad for being theirs. The factor of
// each person on hazards is integrated out (Gamma, of the variance that the log-normal pace gives: the gamma
// frailty of Vaupel, Manton and Stallard, The impact of heterogeneity in individual frailty, 1979), and how far
// people differ is averaged over spreads, all as likely.
func (b *Book) beyondPaces(s *Suspicion, h *History, learnt map[Class]*Learnt) float64 {
	type evidence struct{ all, group wearer }
	people := map[string]evidence{}
	asIs := func(p *programme.Piece) *programme.Piece { return p }
	shape := b.sumWorn(h, learnt, asIs, func(p *programme.Piece, ends, expected float64) {
		e := people[p.StaffID]
		e.all.add(ends, expected)
		if s.of(p) {
			e.group.add(ends, expected)
		}
		people[p.StaffID] = e
	})
	ids := slices.Sorted(maps.Keys(people))
	var usual, faster []float64 // log likelihoods
	for _, sd := range spreads {
		frailty := frailtyOf(math.Expm1(shape * shape * sd * sd))
		logs := make([]float64, 1+len(badFactors))
		for _, id := range ids {
			e := people[id]
			as := frailty.logLikelihood(e.all)
			logs[0] += as
			for i, f := range badFactors {
				if e.group == (wearer{}) {
					logs[1+i] += as
					continue
				}
				than := wearer{e.all.endings, e.all.expected + (f-1)*e.group.expected}
				logs[1+i] += e.group.endings*math.Log(f) + frailty.logLikelihood(than)
			}
		}
		usual, faster = append(usual, logs[0]), append(faster, logs[1:]...)
	}
	return logMean(faster) - logMean(usual)
}

// frailty is the Gamma distribution, of mean 1, of the factor of a person on hazards by its
// shape; 0 stands for everybody alike.
type frailty struct{ shape, constant float64 }

func frailtyOf(variance float64) frailty {
	if variance <= 0 {
		return frailty{}
	}
	k := 1 / variance
	atNone, _ := math.Lgamma(k)
	return frailty{k, k*math.Log(k) - atNone}
}

// logLikelihood returns the log-likelihood of a person's endings, less what no belief about people changes.
func (f frailty) logLikelihood(w wearer) float64 {
	if f.shape == 0 {
		return -w.expected
	}
	ended, _ := math.Lgamma(f.shape + w.endings)
	return f.constant + ended - (f.shape+w.endings)*math.Log(f.shape+w.expected)
}

// logMean returns the logarithm of the mean of what these are the logarithms of.
func logMean(logs []float64) float64 {
	top, sum := slices.Max(logs), 0.0
	for _, l := range logs {
		sum += math.Exp(l - top)
	}
	return top + math.Log(sum/float64(len(logs)))
}

// wearers adds up, by person, endings by wear and what was expected; shape is the
// mean shape of the causes.
func (b *Book) wearers(h *History, learnt map[Class]*Learnt) (people map[string]wearer, shape float64) {
	people = map[string]wearer{}
	shape = b.sumWorn(h, learnt, h.aged, func(p *programme.Piece, ends, expected float64) {
		w := people[p.StaffID]
		w.add(ends, expected)
		people[p.StaffID] = w
	})
	return people, shape
}

// sumWorn calls add with the endings by wear of each piece, at the age that aged gives it, and those expected of it,
// parts of pieces as parts. It returns the mean shape of cloth, by the endings expected.
func (b *Book) sumWorn(h *History, learnt map[Class]*Learnt, aged func(*programme.Piece) *programme.Piece,
	add func(p *programme.Piece, ends, expected float64)) (shape float64) {
	sum, all := 0.0, 0.0
	for p, bel := range b.worn(h, learnt) {
		part := p.Share()
		ends, expected := bel.worn(aged(p), h)
		add(p, part*ends, part*expected)
		sum, all = sum+part*expected*bel.risks[0].Shape, all+part*expected
	}
	return sum / max(all, 1e-300)
}

// worn returns the endings by wear that a piece shows, and those expected of it while it
// is known to have been there; silence counts for what it says.
func (b *belief) worn(p *programme.Piece, h *History) (ends, expected float64) {
	cause, known := p.Reason.Cause()
	all := b.wearing(p.EntryWashes, p.Washes)
	switch {
	case p.Replaced: // nobody said that it had ended
		return 0, b.wearing(p.EntryWashes, p.FromWashes)
	case p.UnseenDays > 0 && (p.Ended.IsZero() || p.Reason.StillGood()):
		return 0, b.endured(p, h.Hidden, h.Late.Share)
	case p.Ended.IsZero() || known && !cause.Words().Washed || p.Reason.StillGood():
		return 0, all
	case known:
		return 1, all
	}
	mishap := b.mishap * max(0, float64(p.Ended.Sub(p.Issued))-p.AwayDays) / max(p.Washes, 0.5) // per wash
	if gap := p.ToWashes - p.FromWashes; gap > 0 {
		h := b.wearing(p.FromWashes, p.ToWashes)
		return h / max(h+mishap*gap, 1e-12), b.wearing(p.EntryWashes, (p.FromWashes+p.ToWashes)/2)
	}
	r := b.rate(0, max(p.Washes, 0.5))
	return r / max(r+mishap, 1e-12), all
}

// endured is the cumulative hazard by wear of a piece without an ending on the books,
// since it was last seen weighed by what the silence says.
func (b *belief) endured(p *programme.Piece, hidden, late float64) float64 {
	if p.LateDays <= 0 {
		late = 0
	}
	if hidden <= 0 && late <= 0 {
		return b.wearing(p.EntryWashes, p.Washes)
	}
	until, lateDays := p.Washes, 0.0
	if late > 0 {
		until, lateDays = max(p.FromWashes, p.LateWashes), p.LateDays
	}
	before, since := b.wearing(p.FromWashes, until), b.wearing(until, p.Washes)
	then, now := silence(before+b.mishap*(p.UnseenDays-lateDays), since+b.mishap*lateDays, hidden, late)
	return b.wearing(p.EntryWashes, p.FromWashes) + then*before + now*since
}
