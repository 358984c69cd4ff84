package wear

import (
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Learnt is the posterior of one class of a client's pieces, given its records.
type Learnt struct {
	Terms  *Terms
	Cloth  Posterior
	Prints []Posterior // as Terms.Prints, each for one print of its kind
	// Mishap is the rate of loss and damage per piece and year.
	Mishap Gamma
	// Evidence counts the records that it rests on.
	Evidence Evidence
	// lives are all pieces of the class, for pictures.
	lives []life
	// packed holds lives instead once the records were trimmed.
	packed packedLives
	sums   sums
}

// Learn returns the posterior of every class of the client from a history.
// An ending of unknown cause is shared between the causes by their chances:
// each cause is learnt with what the others may have done held at its present
// estimate, in turn, until nothing moves. The fixed point is that of the EM
// algorithm for competing risks; the spread is the spread of the observed, not of
// the completed, likelihood, so a guess is never counted as a fact.
func (b *Book) Learn(h History, asOf programme.Date) map[Class]*Learnt {
	out := make(map[Class]*Learnt, len(b.order))
	all := len(h.InService) + len(h.parts) + len(h.Ended)
	for _, c := range b.order {
		out[c] = &Learnt{Terms: b.terms[c], Mishap: b.terms[c].Mishap, lives: make([]life, 0, all/len(b.order))}
	}
	uses := b.usesIn(&h)
	for _, pieces := range [][]programme.Piece{h.InService, h.parts, h.Ended} {
		for i := range pieces {
			p := &pieces[i]
			if p.Alike {
				continue // its parts teach
			}
			if use, ok := uses.of(p); ok && use.PerWeek > 0 {
				b.sort(p, use, &h, asOf, out)
			}
		}
	}
	for _, c := range b.order {
		out[c].Evidence = out[c].sums.whole()
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
			k.Evidence, k.lives = before.Evidence, before.packed.unpack(before.lives)
		}
		k.learn()
		out[c] = k
	}
	return out
}

// sharing is the greatest number of rounds in which the causes are learnt in turn; movement below settled
// (relative, of the typical scales) ends them.
const (
	sharing = 12
	settled = 5e-4
)

func (k *Learnt) learn() {
	t := k.Terms
	k.Prints = make([]Posterior, len(t.Prints))
	k.Mishap = t.Mishap
	risks := t.risks()
	rounds := 0
	if k.Evidence.Unexplained > 0 || slices.ContainsFunc(k.lives, func(l life) bool { return l.silent() }) ||
		len(t.Prints) > 1 && k.Evidence.Print > 0 {
		rounds = sharing
	}
	learners := make([]learner, len(risks)) // they start from where they found the last one
	for c := range learners {
		learners[c].prior = t.prior(c)
	}
	var room []Observation
	var says []silent
	for range rounds {
		before, mishap := slices.Clone(risks), k.Mishap
		says = k.silences(says, before)
		for c := range risks {
			room = k.observationsGiven(room[:0], c, before, says)
			learners[c].take(room)
			risks[c].Weibull = learners[c].centre()
		}
		k.Mishap = k.mishapsGiven(before, says)
		if still(before, risks, mishap, k.Mishap) {
			break
		}
	}
	says = k.silences(says, risks)
	for c := range risks {
		room = k.observationsGiven(room[:0], c, risks, says)
		l := &learners[c]
		l.take(room)
		if c == 0 {
			k.Cloth = l.posterior()
		} else {
			k.Prints[c-1] = l.posterior()
		}
	}
	k.Mishap = k.mishapsGiven(risks, says)
}

// prior returns the prior of cause c: cloth first, then the prints.
func (t *Terms) prior(c int) Prior { return t.sources()[c].Prior }

// risks returns the causes as believed before any record: cloth first, then the prints.
func (t *Terms) risks() []risk {
	out := []risk{{t.Cloth.Weibull, 1}}
	for _, p := range t.Prints {
		out = append(out, risk{p.Weibull, float64(p.Number)})
	}
	return out
}

// still reports that a round of sharing moved nothing that matters.
func still(before, after []risk, mishapBefore, mishapAfter Gamma) bool {
	for i := range before {
		if math.Abs(after[i].Scale/before[i].Scale-1) > settled ||
			math.Abs(after[i].Shape/before[i].Shape-1) > 4*settled {
			return false
		}
	}
	return math.Abs(mishapAfter.Mean()/mishapBefore.Mean()-1) < 10*settled
}
