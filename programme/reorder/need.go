package reorder

import "math"

// need is one line's demand as the policy asks for it: the distribution over
// the trigger horizon as it is forecast, longer ones derived from the forecast of
// the longer horizon.
type need struct {
	near     []float64
	weeks    int // of near
	far      Spread
	perPiece float64
	common   float64
}

func newNeed(l *Stocked, h Horizon) *need {
	n := &need{near: l.nearPMF(h), weeks: h.Trigger, far: NewSpread(l.Quantity, h.Quantity)}
	n.perPiece, n.common = excess(n.near, l.Quantity.PMF)
	return n
}

// Chances implements replenish.Demand.
func (n *need) Chances(w int) []float64 {
	switch {
	case w > n.weeks:
		return n.far.At(w)
	case w == n.weeks || n.far.Mean(n.weeks) == 0:
		return n.near
	}
	return thin(n.near, min(1, n.far.Mean(w)/n.far.Mean(n.weeks)), len(n.near))
}

// Mean implements replenish.Demand.
func (n *need) Mean(w int) float64 { return n.far.Mean(w) }

// Excess implements replenish.Demand.
func (n *need) Excess() (perPiece, common float64) { return n.perPiece, n.common }

// excess parts what two horizons are wider than Poisson into a part that grows
// with the mean and one that grows with its square: (variance - mean)/mean =
// perPiece + common·mean at both.
func excess(near, far []float64) (perPiece, common float64) {
	m1, v1 := moments(near)
	m2, v2 := moments(far)
	if m2 <= 0 {
		return 0, 0
	}
	whole := math.Max(0, v2/m2-1)
	if m1 <= 0 || m2-m1 < 0.05*m2 {
		return 0, whole / m2
	}
	common = math.Max(0, (whole-math.Max(0, v1/m1-1))/(m2-m1))
	common = math.Min(common, whole/m2)
	return whole - common*m2, common
}

func moments(pmf []float64) (mean, variance float64) {
	for d, p := range pmf {
		mean += p * float64(d)
		variance += p * float64(d) * float64(d)
	}
	return mean, math.Max(0, variance-mean*mean)
}
