package demand

import (
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// unseen is what may have happened to a piece since its last sign of life: it
// is still on the books, but a share of endings is not written down until a
// count shows them. The zero value is a piece known to be there.
type unseen struct {
	washes float64 // at the last sign of life
	weeks  float64 // since
	hidden float64 // share of endings that nobody writes down
	// forgotten endings are never found, and nobody asks for a new piece.
	forgotten bool
}

func (in *Input) unseen(p *programme.Piece) unseen {
	if in.History.Hidden <= 0 || p.UnseenDays <= 0 {
		return unseen{}
	}
	return unseen{p.FromWashes, p.UnseenDays / 7, in.History.Hidden, !in.History.Counts}
}

// ageForCompanions corrects the ages of a holder's pieces for companions that may have
// gone unknown to the books: fewer share the washes than the books say, half of
// those that are gone by now on an average day since they were seen.
func (h *holder) ageForCompanions(p *predictor) {
	n, gone := float64(len(h.pieces)), 0.0
	each := make([]float64, len(h.pieces))
	for i, piece := range h.pieces {
		h.ages[i] = piece.Washes
		for _, x := range p.gone(piece.Washes, h.unseen[i]) {
			each[i] += x
		}
		gone += each[i]
	}
	for i, u := range h.unseen {
		if others := (gone - each[i]) / 2; u.hidden > 0 {
			h.ages[i] = u.washes + (h.ages[i]-u.washes)*n/(n-others)
		}
	}
}

// tailsUnseen is Tails of a piece that may have ended already, which is an
// ending at once after which a new piece follows.
func (r *Renewals) tailsUnseen(age float64, u unseen, t float64) []float64 {
	if u.hidden == 0 {
		return r.Tails(age, t)
	}
	key := unseenKey{age, t, u}
	if out, ok := r.unseen[key]; ok {
		return out
	}
	there, after := r.Tails(age, t), r.Tails(0, t)
	out := make([]float64, len(there))
	d := r.Depth() + 1
	r.raise(u.washes, r.then)
	r.raise(age, r.now)
	for q := range r.lifetimes {
		gone := wear.Gone(r.hazard(q, u.weeks), u.hidden)
		out[q*d] = 1
		for n := 1; n < d; n++ {
			out[q*d+n] = (1 - gone) * there[q*d+n]
			if !u.forgotten {
				out[q*d+n] += gone * after[q*d+n-1]
			}
		}
	}
	r.unseen[key] = out
	return out
}

type unseenKey struct {
	age, t float64
	unseen
}

// gone returns the chance that a piece of age washes has ended already, by cause.
func (p *predictor) gone(age float64, u unseen) (by byCause) {
	if u.hidden == 0 || u.weeks <= 0 {
		return by
	}
	h := p.cumulative(u.washes, Rotation{Pace: (age - u.washes) / u.weeks}, u.weeks)
	sum := h.sum()
	if sum <= 0 {
		return by
	}
	all := wear.Gone(sum, u.hidden)
	for c := range h {
		by[c] = all * h[c] / sum
	}
	return by
}

// ofUnseen is of for a piece that may have ended already: such an ending counts
// in the first week, as what is needed now.
func (p *predictor) ofUnseen(age float64, r Rotation, u unseen) *prospect {
	if u.hidden == 0 {
		return p.of(age, r)
	}
	key := prospectKey{age, r, u}
	if got := p.unseen[key]; got != nil {
		return got
	}
	by := p.gone(age, u)
	all := by.sum()
	there := p.of(age, r)
	out := &prospect{weekly: make([]byCause, len(there.weekly))}
	for w := range out.weekly {
		for c := range by {
			out.weekly[w][c] = (1 - all) * there.weekly[w][c]
			if w == 0 && !u.forgotten {
				out.weekly[w][c] += by[c]
			}
		}
	}
	from := 0.0
	for i, q := range dateQuantiles {
		if left := 1 - (1-q)/(1-all); left > 0 {
			from = p.endedBy(age, r, left, from)
		}
		out.ended[i] = from
	}
	p.unseen[key] = out
	return out
}

type prospectKey struct {
	age float64
	Rotation
	unseen
}
