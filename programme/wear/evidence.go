package wear

import (
	"cmp"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Evidence counts what records say about a class.
type Evidence struct {
	InService int `json:"in_service"`
	// Endings of a known cause; Unexplained ones have no reason or were missed at a count.
	programme.Endings[int]
	Unexplained int `json:"unexplained"`
	// Other pieces left service while still good: returned, or of a wrong size.
	Other int `json:"other"`
	// Of the endings, those found by a count and those read from a hand-over beyond the kit.
	Counted    int `json:"counted"`
	HandedOver int `json:"handed_over"`
	// Assumed are pieces in service that no count has confirmed, from past orders, or
	// whose age nobody knows; Ageless are endings of such pieces, which teach nothing.
	Assumed int `json:"assumed"`
	Ageless int `json:"ageless"`
}

// Unconfirmed reports whether most of what is in service is only assumed.
func (e Evidence) Unconfirmed() bool { return 2*e.Assumed > e.InService }

// Replaced returns how many pieces came to an end that needed replacing.
func (e Evidence) Replaced() int { return e.Sum() + e.Unexplained }

// life is one piece as evidence, in washes and days. A large shop has a million: without a pointer inside, collecting
// garbage passes them by.
type life struct {
	entry, from, to float64         // washes: seen from, last sign of life, gone by
	days            float64         // in service under observation, to the last sign of life
	pace            float64         // washes a day while observed
	blur            float64         // see Observation.Blur
	count           float64         // equal pieces
	cause           programme.Cause // where known
	known, ended    bool
	good            bool // the reason says that it was still good
	// Of a piece in service not seen since a count: the days since then, and the
	// share of endings that would not be on the books.
	unseenDays, hidden float64
	// Where entries come late: from which washes on, since how many days, and the share
	// of endings that are still to be entered.
	lateFrom, lateDays, late float64
}

// silent reports that the piece may have ended although its ending is not on the books.
func (l *life) silent() bool { return l.hidden > 0 || l.late > 0 }

func (l *life) unexplained() bool {
	return l.ended && !l.known && !l.good
}

// endedBy reports that the piece is known to have ended by the cause, or by one learnt with it.
func (l *life) endedBy(c programme.Cause) bool {
	return l.ended && l.known && l.cause.Words().With == c
}

// because states what the reason of the ending says: its cause, or that the piece was still good.
func (l *life) because(r programme.Reason) {
	l.good = r.StillGood()
	l.cause, l.known = r.Cause()
}

// sort adds a piece to the evidence of its class.
func (b *Book) sort(p *programme.Piece, use *Use, h *History, asOf programme.Date, out map[Class]*Learnt) {
	hidden := h.Hidden
	end, ended := asOf, !p.Ended.IsZero()
	if p.Assumed { // from past orders, which say when pieces were bought, not when any ended
		out[use.Class.Class].sums.assume(p)
		return
	}
	p = h.aged(p)
	if ended {
		end = p.Ended
	}
	since := max(p.Issued, b.client.RecordsStart, p.Since)
	l := life{entry: p.EntryWashes, from: p.FromWashes, to: p.ToWashes, days: max(0, float64(end-since)-p.AwayDays),
		ended: ended, count: p.Share()}
	l.because(p.Reason)
	if l.days > 0 {
		l.pace = (p.Washes - l.entry) / l.days
	}
	f := 1.0
	if pace := h.paces[p.StaffID]; pace != (Pace{}) {
		f, l.blur = math.Exp(pace.Log), pace.SD*pace.SD/2
		l.entry, l.from, l.to, l.pace = f*l.entry, f*l.from, f*l.to, f*l.pace
	}
	if ended && l.to > l.from && l.pace > 0 && p.UnseenDays == 0 {
		l.days = max(0, l.days-(p.Washes-p.FromWashes)/max(1e-9, (p.Washes-p.EntryWashes)/l.days))
	}
	if ended && p.Ended < since || l.to < l.entry {
		return // over before records begin
	}
	l.entry = min(l.entry, l.from)
	k := out[use.Class.Class]
	switch {
	case p.Replaced: // lasted until it was last seen, for all anybody knows
		l.because(programme.LeftReason)
		l.to, l.days = l.from, max(0, l.days-p.UnseenDays)
	case ended && p.UnseenDays > 0 && hidden > 0: // kept by a leaver, or gone before
		l.unseenDays, l.hidden = min(p.UnseenDays, l.days), hidden
	case ended && p.UnseenDays > 0:
		l.from = l.to
	case ended:
	case (hidden > 0 || p.LateDays > 0) && p.UnseenDays > 0:
		l.unseenDays, l.hidden = min(p.UnseenDays, l.days), hidden
		if l.lateFrom = l.to; p.LateDays > 0 {
			l.lateFrom, l.lateDays, l.late = min(l.to, max(l.from, f*p.LateWashes)), min(p.LateDays, l.unseenDays),
				h.Late.Share
		}
	default:
		l.from = l.to
	}
	k.sums.add(&l)
	k.sums.known(p, &l)
	k.lives = append(k.lives, l)
}

// sums adds evidence up in parts of pieces, which make whole ones together.
type sums struct {
	programme.Endings[float64]
	inService, unexplained, other       float64
	counted, handedOver, assumed, alone float64
}

// assume adds a piece that is only assumed to be there, or to be of its age.
func (s *sums) assume(p *programme.Piece) {
	part := p.Share()
	switch {
	case p.Ended.IsZero():
		s.inService, s.assumed = s.inService+part, s.assumed+part
	case !p.Reason.StillGood() && p.Reason != programme.Unexplained && !p.Implied:
		s.alone += part
	}
}

// known adds how an ending came to be known.
func (s *sums) known(p *programme.Piece, l *life) {
	switch {
	case !l.unexplained():
	case p.Implied:
		s.handedOver += l.count
	case p.Reason == programme.Unexplained:
		s.counted += l.count
	}
}

func (s *sums) add(l *life) {
	switch {
	case !l.ended:
		s.inService += l.count
	case l.unexplained():
		s.unexplained += l.count
	case l.known:
		*s.At(l.cause) += l.count
	default:
		s.other += l.count
	}
}

func (s *sums) whole() Evidence {
	n := func(x float64) int { return int(math.Round(x)) }
	e := Evidence{
		InService: n(s.inService), Unexplained: n(s.unexplained), Other: n(s.other),
		Counted: n(s.counted), HandedOver: n(s.handedOver), Assumed: n(s.assumed), Ageless: n(s.alone),
	}
	for c, x := range s.Each() {
		*e.At(c) = n(x)
	}
	return e
}

// pool merges pieces with equal lives, so that those issued and ended together
// are computed once.
func pool(lives []life) []life {
	lives = withoutRepeats(lives) // most equal ones lie beside each other already, and sorting takes longer
	slices.SortFunc(lives, func(a, b life) int {
		if a.to != b.to { // nearly always: the rest takes longer
			return cmp.Compare(a.to, b.to)
		}
		return cmp.Or(cmp.Compare(a.from, b.from), cmp.Compare(a.entry, b.entry),
			cmp.Compare(a.days, b.days), cmp.Compare(a.pace, b.pace), cmp.Compare(a.cause, b.cause),
			b2i(a.known)-b2i(b.known), b2i(a.good)-b2i(b.good), b2i(a.ended)-b2i(b.ended),
			cmp.Compare(a.unseenDays, b.unseenDays), cmp.Compare(a.hidden, b.hidden),
			cmp.Compare(a.lateFrom, b.lateFrom), cmp.Compare(a.lateDays, b.lateDays), cmp.Compare(a.blur, b.blur))
	})
	return withoutRepeats(lives)
}

// withoutRepeats makes one life of equal ones that lie beside each other.
func withoutRepeats(lives []life) []life {
	out := lives[:0]
	for i := range lives {
		l := &lives[i]
		if n := len(out); n > 0 && l.equals(&out[n-1]) {
			out[n-1].count += l.count
			continue
		}
		out = append(out, *l)
	}
	return out
}

func (l *life) equals(o *life) bool {
	if l.to != o.to { // nearly always: the rest takes longer
		return false
	}
	same := *l
	same.count = o.count
	return same == *o
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}
