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

// hardness is the factor on washes whose cumulative hazard, for lives of a shape, is the mean
// over the two nodes of the pace: lives learnt with the middle of it would have to
// explain what those do who may wear harder, and come out too short.
func (p Pace) hardness(shape float64) float64 {
	if shape <= 0 {
		return math.Exp(p.Log)
	}
	return math.Exp(p.Log + math.Log(math.Cosh(shape*p.SD))/shape)
}

// Pace returns what was learnt of a person's pace.
func (h *History) Pace(staff string) Pace { return h.paces[staff] }

// wearer sums what a person's pieces say of the pace: endings by wear, and how many
// were to be expected of somebody with pace 1.
type wearer struct{ endings, expected float64 }

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
	h.paceShape = shape
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

// wearers adds up, by person, endings by wear and what was expected; shape is the
// mean shape of the causes.
func (b *Book) wearers(h *History, learnt map[Class]*Learnt) (people map[string]wearer, shape float64) {
	believed, uses := b.believed(learnt), b.usesIn(h)
	people = map[string]wearer{}
	sum, all := 0.0, 0.0
	for _, pieces := range [][]programme.Piece{h.InService, h.parts, h.Ended} {
		for i := range pieces {
			p := &pieces[i]
			use, ok := uses.of(p)
			if !ok || use.PerWeek <= 0 || p.Alike || p.Assumed {
				continue
			}
			part := p.Share()
			w, bel := people[p.StaffID], believed[use.Class]
			ends, expected := bel.worn(h.aged(p), h)
			w.endings += part * ends
			w.expected += part * expected
			people[p.StaffID] = w
			sum, all = sum+part*expected*bel.risks[0].Shape, all+part*expected
		}
	}
	return people, sum / max(all, 1e-300)
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
