package wear

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// Haste forecasts a delivery that seems to wear out faster than others: each of its washes counts for Factor.
type Haste struct {
	Garment  string // empty = all garments
	From, To programme.Date
	Factor   float64
}

// believeBad is the weight of a suspicion at which a delivery is as likely bad as not,
// leastBad from which on it is reckoned with at all: some one in a hundred of the
// deliveries that can be told apart in a year may be bad (common practice, no source).
const (
	believeBad = 4.5
	leastBad   = 3.5
)

// hasten states as what the pieces of a bad delivery are forecast, where a delivery
// weighs more than a change that concerns all pieces. The factor on washes is the mean
// over what is believed of the hazard's, by the likelihood, that it is usual among it.
func (b *Book) hasten(h *History, all []Suspicion, learnt map[Class]*Learnt) {
	h.haste = nil
	if len(all) == 0 || !all[0].Delivery || all[0].Weight < leastBad {
		return
	}
	s := &all[0]
	bad := 1 / (1 + math.Exp(believeBad-s.Weight))
	sum, factor, shape := 0.0, 0.0, b.typicalShape(learnt)
	for _, f := range badFactors {
		w := math.Exp(weightOf(wornTally{s.Ended, s.Expected}, s.all, b.strength(), []float64{f}))
		sum, factor = sum+w, factor+w*math.Pow(f, 1/shape)
	}
	h.haste = &Haste{s.Garment, s.From, s.To, 1 + bad*(factor/sum-1)}
}

// typicalShape is the mean shape of cloth of what was learnt.
func (b *Book) typicalShape(learnt map[Class]*Learnt) float64 {
	sum := 0.0
	for _, c := range b.order {
		sum += learnt[c].Cloth.Typical().Shape
	}
	return sum / float64(len(b.order))
}

// Haste returns for how many washes each of a piece's counts: 1, unless it is of a
// delivery that wears out faster.
func (h *History) Haste(p *programme.Piece) float64 {
	d := h.haste
	if d == nil || p.Issued < d.From || p.Issued >= d.To || d.Garment != "" && d.Garment != p.SKU.Garment {
		return 1
	}
	return d.Factor
}

// aged is a piece with its washes as they count.
func (h *History) aged(p *programme.Piece) *programme.Piece {
	f := h.Haste(p)
	if f == 1 {
		return p
	}
	out := *p
	for _, x := range []*float64{&out.EntryWashes, &out.FromWashes, &out.ToWashes, &out.Washes, &out.LateWashes} {
		*x *= f
	}
	return &out
}
