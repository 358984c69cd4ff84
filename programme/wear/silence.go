package wear

import (
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/exponent"
)

// Where nobody counts, pieces that grow old beyond belief on the books betray
// that some endings are not written down at all. The share of those is believed
// one in ten, as from ten endings, before the books speak.

// silences is the number of rounds in which the share of silent endings and the lives are worked out in turn.
const silences = 4

// pacings is the number of rounds in which paces and lives are worked out in turn.
const pacings = 4

// deliveryRounds is the number of rounds in which a bad delivery and the lives of all others are worked out in turn.
const deliveryRounds = 2

// LearnWithSilence is Learn that also learns, where no count tells, which share of
// endings nobody writes down, whether a delivery wears out faster than others, and how
// far people differ; it returns the history with what it learnt.
func (b *Book) LearnWithSilence(h History, asOf programme.Date) (History, map[Class]*Learnt) {
	h, learnt := b.learnSilence(h, asOf)
	if b.client.Known {
		return h, learnt
	}
	h.Suspicions = b.Suspicions(&h, learnt, asOf)
	for range deliveryRounds {
		before := h.bad
		if b.findBadDelivery(&h, h.Suspicions, learnt); h.bad == nil && before == nil {
			break
		}
		learnt = b.Learn(h, asOf)
		h.Suspicions = b.Suspicions(&h, learnt, asOf)
	}
	for range pacings {
		if h.paces = b.learnPaces(&h, learnt); h.paces == nil {
			break
		}
		learnt = b.Learn(h, asOf)
	}
	if h.paces != nil {
		h.Suspicions = b.Suspicions(&h, learnt, asOf)
	}
	return h, learnt
}

func (b *Book) learnSilence(h History, asOf programme.Date) (History, map[Class]*Learnt) {
	learnt := b.Learn(h, asOf)
	if h.Counts || b.client.Known || !b.tooOld(&h, learnt) {
		return h, learnt
	}
	h.Hidden = max(h.Hidden, 0.3)
	for range silences {
		learnt = b.Learn(h, asOf)
		h.Hidden = b.silentShare(&h, learnt)
	}
	return h, b.Learn(h, asOf)
}

// tooOld reports whether pieces are in service that should not be, if every
// ending were written down. The sum of 1/S - 1 over the pieces that lasted, S
// their survival since they were last seen, is expected to equal the number of
// endings; it is the slope of the likelihood by the share of silent endings.
func (b *Book) tooOld(h *History, learnt map[Class]*Learnt) bool {
	sum, written := 0.0, 0.0
	b.eachUnseen(h, learnt, func(part, hazard float64) { sum += part * exponent.Expm1(min(hazard, 5)) })
	for _, c := range b.order {
		written += float64(learnt[c].Evidence.Replaced())
	}
	return sum > 1.5*written+10
}

// silentShare returns the share of endings not written down, given what is believed
// of lives: one step of the EM algorithm.
func (b *Book) silentShare(h *History, learnt map[Class]*Learnt) float64 {
	gone, written := 0.0, 0.0
	b.eachUnseen(h, learnt, func(part, hazard float64) { gone += part * Gone(hazard, h.Hidden) })
	for _, c := range b.order {
		written += float64(learnt[c].Evidence.Replaced())
	}
	return (foundBefore + gone) / (writtenBefore + foundBefore + written + gone)
}

// eachUnseen calls f with each part of a piece in service and its cumulative
// hazard from when it was last seen until late entries begin.
func (b *Book) eachUnseen(h *History, learnt map[Class]*Learnt, f func(part, hazard float64)) {
	believed, uses := b.believed(learnt), b.usesIn(h)
	for _, pieces := range [][]programme.Piece{h.InService, h.parts} {
		for i := range pieces {
			p := h.aged(&pieces[i])
			use, ok := uses.of(p)
			if p.Alike || p.Assumed || p.UnseenDays <= 0 || !ok {
				continue
			}
			part := p.Share()
			w := believed[use.Class]
			until := p.Washes
			if p.LateDays > 0 {
				until = p.LateWashes
			}
			f(part, w.wearing(p.FromWashes, until)+w.mishap*(p.UnseenDays-p.LateDays))
		}
	}
}
