package wear

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// badDelivery is a delivery that seems to wear out faster than others: what was issued from day from to the day before
// to.
type badDelivery struct {
	garment  string // empty = all garments
	from, to programme.Date
	factor   float64 // of acceleration, above 1: each wash counts for so many
}

// believeBad is the weight of a suspicion at which a delivery is as likely bad as not,
// leastBad from which on it is reckoned with at all: some one in a hundred of the
// deliveries that can be told apart in a year may be bad (common practice, no source).
const (
	believeBad = 4.5
	leastBad   = 3.5
)

// findBadDelivery sets h.bad where the heaviest suspicion is of a delivery, not of all pieces, and clears it
// otherwise. With hazard ratio f and Weibull shape k the acceleration is f^(1/k); the factor is its mean over the
// ratios that are tried, weighted by their likelihood, and over the chance that the delivery is not bad at all (1).
func (b *Book) findBadDelivery(h *History, all []Suspicion, learnt map[Class]*Learnt) {
	h.bad = nil
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
	h.bad = &badDelivery{s.Garment, s.From, s.To, 1 + bad*(factor/sum-1)}
}

// typicalShape is the mean shape of cloth of what was learnt.
func (b *Book) typicalShape(learnt map[Class]*Learnt) float64 {
	sum := 0.0
	for _, c := range b.order {
		sum += learnt[c].Cloth.Typical().Shape
	}
	return sum / float64(len(b.order))
}

// Acceleration returns the factor by which a piece ages faster than others (accelerated failure time): each of its
// washes counts for so many. It is 1, unless the piece is of a delivery that wears out faster.
func (h *History) Acceleration(p *programme.Piece) float64 {
	d := h.bad
	if d == nil || p.Issued < d.from || p.Issued >= d.to || d.garment != "" && d.garment != p.SKU.Garment {
		return 1
	}
	return d.factor
}

// aged returns a piece with its washes times its acceleration; p itself stays as it is.
func (h *History) aged(p *programme.Piece) *programme.Piece { return washed(p, h.Acceleration(p)) }

// paced returns a piece with its washes times the pace of its holder, as its class was learnt; p itself stays as it is.
func (h *History) paced(p *programme.Piece) *programme.Piece {
	return washed(p, math.Exp(h.paces[p.StaffID].Log))
}

func washed(p *programme.Piece, f float64) *programme.Piece {
	if f == 1 {
		return p
	}
	out := *p
	for _, x := range []*float64{&out.EntryWashes, &out.FromWashes, &out.ToWashes, &out.Washes, &out.LateWashes} {
		*x *= f
	}
	return &out
}
