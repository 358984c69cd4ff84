package reorder

import "gonum.org/v1/gonum/stat/distuv"

// Stake is what one piece too many and one too few cost, both above 0.
type Stake struct {
	Over, Under float64
}

// Ratio is the chance of no shortage worth having: Under / (Over + Under).
func (s Stake) Ratio() float64 { return s.Under / (s.Over + s.Under) }

// Once is a quantity that is bought one time, with its expected cost.
type Once struct {
	Level float64
	Cost  float64 // Over · E[left] + Under · E[short]
}

// ratioTie lets a distribution that reaches the ratio exactly count as reaching
// it, whatever rounding did to the sum.
const ratioTie = 1e-9

// Newsvendor returns the least quantity whose chance of no shortage is at least
// the stake's ratio, for a demand of 0, 1, 2... pieces with those chances; no
// other quantity has a lower expected cost (Arrow, Harris and Marschak,
// Econometrica 19, 1951, from memory).
func Newsvendor(pmf []float64, s Stake) Once {
	level := leastReaching(pmf, s.Ratio()-ratioTie)
	c := NewShortage(pmf)
	short := c.At(level)
	left := float64(level) - c.Mean() + short
	return Once{Level: float64(level), Cost: s.Over*left + s.Under*short}
}

// NewsvendorNormal is the same for a normal demand: mean + z sd with the
// ratio's quantile z, at a cost of (Over + Under) sd φ(z).
func NewsvendorNormal(mean, sd float64, s Stake) Once {
	z := distuv.UnitNormal.Quantile(s.Ratio())
	return Once{Level: mean + z*sd, Cost: (s.Over + s.Under) * sd * distuv.UnitNormal.Prob(z)}
}

// leastReaching is the smallest q with P(D <= q) >= p; the last value of a
// distribution that never gets there.
func leastReaching(pmf []float64, p float64) int {
	sum := 0.0
	for q, x := range pmf {
		if sum += x; sum >= p {
			return q
		}
	}
	return max(0, len(pmf)-1)
}
