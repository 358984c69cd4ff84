package demand

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// unseen is what may have happened to a piece since its last sign of life: it
// is still on the books, but a share of endings is not written down until a
// count shows them, and some of the last weeks are still to be entered. The zero
// value is a piece known to be there.
type unseen struct {
	washes float64 // at the last sign of life
	weeks  float64 // since
	hidden float64 // share of endings that nobody writes down
	// forgotten endings are never found, and nobody asks for a new piece.
	forgotten bool
	// From lateWashes on, for lateWeeks until now, late is the share of endings that
	// are still to be entered.
	lateWashes, lateWeeks, late float64
}

// none reports that the piece is known to be there.
func (u *unseen) none() bool { return u.hidden == 0 && u.late == 0 }

// asked returns the part of the unrecorded endings for which somebody asks for a new piece.
func (u *unseen) asked(never, toCome float64) float64 {
	if u.forgotten {
		return toCome
	}
	return never + toCome
}

func (in *Input) unseen(p *programme.Piece) unseen {
	h := &in.History
	u := unseen{}
	if p.UnseenDays <= 0 || h.Hidden <= 0 && (h.Late.Share <= 0 || p.LateDays <= 0) {
		return u
	}
	u = unseen{washes: p.FromWashes, weeks: p.UnseenDays / 7, hidden: h.Hidden, forgotten: !h.Counts}
	if p.LateDays > 0 {
		u.lateWashes, u.lateWeeks, u.late = p.LateWashes, p.LateDays/7, h.Late.Share
	}
	return u
}

// ageForCompanions corrects the ages of a holder's pieces for companions that may have
// gone unknown to the books: fewer share the washes than the books say. On an average day
// since they were seen half of those that are gone by now were; where each of n - 1 others
// is gone with a chance of g, one of n pieces is worn (1 - g^n) / (1 - g) times as often,
// the mean of n / (1 + B) with B of them there (Chao and Strawderman, Journal of the
// American Statistical Association 67 (1972) 429-431).
func (h *holder) ageForCompanions(p *predictor) {
	n := float64(len(h.pieces))
	each := make([]float64, len(h.pieces))
	for i, piece := range h.pieces {
		h.ages[i] = h.acceleration * piece.Washes
	}
	for range companions {
		gone := 0.0
		for i := range h.pieces {
			by, _ := p.gone(h.ages[i], h.unseen[i])
			each[i] = by.sum()
			gone += each[i]
		}
		if gone <= 0 || n < 2 {
			return
		}
		for i, u := range h.unseen {
			if u.none() {
				continue
			}
			from := u.washes
			if u.hidden == 0 {
				from = u.lateWashes
			}
			g := (gone - each[i]) / (n - 1) / 2
			h.ages[i] = from + (h.acceleration*h.pieces[i].Washes-from)*(1-math.Pow(g, n))/(1-g)
		}
	}
}

// companions is the number of rounds in which ages and chances of having gone are worked out in turn.
const companions = 2

// unwritten is wear.Unwritten of a piece of age washes under each distribution.
func (r *Renewals) unwritten(age float64, u unseen) (never, toCome []float64) {
	never, toCome = r.room.floats(len(r.lifetimes)), r.room.floats(len(r.lifetimes))
	r.raise(age, r.now)
	if u.late > 0 {
		r.since(u.lateWashes)
		for q := range toCome {
			toCome[q] = r.hazard(q, u.lateWeeks)
		}
		copy(r.now, r.then)
	}
	r.since(u.washes)
	for q := range never {
		before := r.hazard(q, u.weeks-u.lateWeeks)
		never[q], toCome[q] = wear.Unwritten(before, toCome[q], u.hidden, u.late)
	}
	return never, toCome
}

// gone returns the chance that a piece of age washes has ended already, by cause,
// and of that the part that somebody asks for.
func (p *predictor) gone(age float64, u unseen) (by byCause, asked float64) {
	if u.none() {
		return by, 0
	}
	h, late := byCause{}, byCause{}
	from, weeks := age, u.weeks
	if u.late > 0 && u.lateWeeks > 0 {
		late = p.cumulative(u.lateWashes, Rotation{Pace: (age - u.lateWashes) / u.lateWeeks}, u.lateWeeks)
		from, weeks = u.lateWashes, u.weeks-u.lateWeeks
	}
	if weeks > 0 {
		h = p.cumulative(u.washes, Rotation{Pace: (from - u.washes) / weeks}, weeks)
	}
	before, since := h.sum(), late.sum()
	if before+since <= 0 {
		return by, 0
	}
	never, toCome := wear.Unwritten(before, since, u.hidden, u.late)
	all := never + toCome
	for c := range h {
		by[c] = all * (h[c] + late[c]) / (before + since)
	}
	return by, u.asked(never, toCome) / max(all, 1e-300)
}
