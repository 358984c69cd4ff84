package replenish

import (
	"math"
	"slices"
)

// Demand is the distribution of one line's need, as far as a policy asks for it.
type Demand interface {
	// Chances returns the chance of 0, 1, 2... pieces in weeks 1..w, w >= 1.
	Chances(w int) []float64
	// Mean returns the expected pieces of weeks 1..w, w >= 0.
	Mean(w int) float64
	// Excess describes how much wider than Poisson the demand is: the variance of
	// m expected pieces is m + perPiece·m + common·m². The first part comes from
	// needs that come several at a time, the second from a rate that is not known
	// and the same in all weeks.
	Excess() (perPiece, common float64)
}

// Steady is demand that is independent from week to week and alike in all of
// them: Poisson for a dispersion of 1, negative binomial above it.
type Steady struct {
	Rate       float64 // expected pieces a week
	Dispersion float64 // variance over mean, at least 1
}

// Chances implements Demand.
func (s Steady) Chances(w int) []float64 {
	mean := s.Rate * float64(w)
	return fit(mean, s.Dispersion*mean)
}

// Mean implements Demand.
func (s Steady) Mean(w int) float64 { return s.Rate * float64(w) }

// Excess implements Demand.
func (s Steady) Excess() (perPiece, common float64) { return s.Dispersion - 1, 0 }

// fit returns the chances of a distribution on whole numbers with that mean and
// variance: Poisson where they are equal, negative binomial above, and below
// that a binomial whose number of trials, where it is not whole, is one of its
// two neighbours by chance.
func fit(mean, variance float64) []float64 { return fitIn(nil, mean, variance) }

// fitIn is fit that writes into room where it is large enough.
func fitIn(room []float64, mean, variance float64) []float64 {
	switch {
	case mean <= 0:
		return append(room[:0], 1)
	case variance < mean*(1-1e-9):
		return binomialIn(room, mean, math.Max(variance, 0))
	}
	return negativeBinomialIn(room, mean, variance)
}

// withRoom returns room for about so many numbers, and for what is likely beside a mean.
func withRoom(room []float64, mean, variance float64) []float64 {
	return slices.Grow(room[:0], int(mean+8*math.Sqrt(variance))+8)
}

// tail is the chance that a distribution leaves out above its last number, and
// mostPieces bounds how long one gets.
const (
	tail       = 1e-10
	mostPieces = 20000
)

// negativeBinomialIn counts up from 0; a variance equal to the mean is Poisson.
func negativeBinomialIn(room []float64, mean, variance float64) []float64 {
	grow, r, first := 0.0, 0.0, -mean
	if variance > mean*(1+1e-9) {
		stop := mean / variance
		grow, r = 1-stop, mean*mean/(variance-mean)
		first = r * math.Log(stop)
	}
	ratio := func(j int) float64 { // of the chance of j+1 to that of j
		if grow > 0 {
			return grow * (r + float64(j)) / float64(j+1)
		}
		return mean / float64(j+1)
	}
	// The chance of 0 may be too small to hold; so far below the mean all are 0.
	out := withRoom(room, mean, variance)
	log := first
	for ; log < smallest && len(out) < mostPieces; log += math.Log(ratio(len(out) - 1)) {
		out = append(out, 0)
	}
	p, sum := math.Exp(log), 0.0
	for len(out) < mostPieces {
		out = append(out, p)
		if sum += p; 1-sum < tail {
			break
		}
		p *= ratio(len(out) - 1)
	}
	return out
}

// smallest is the logarithm of the least chance that is held.
const smallest = -600

func binomialIn(room []float64, mean, variance float64) []float64 {
	p := 1 - variance/mean
	trials := mean / p
	n := int(trials + 1e-9)
	out := addBinomial(withRoom(room, mean, variance), n, p, 1-(trials-float64(n)))
	return addBinomial(out, n+1, p, trials-float64(n))
}

// addBinomial adds weight times the chances of a binomial, as far as they can be
// held: a variance just below the mean is that of millions of trials.
func addBinomial(into []float64, n int, p, weight float64) []float64 {
	if weight <= 1e-9 {
		return into
	}
	add := func(k int, q float64) {
		into = padded(into, k+1)
		into[k] += q
	}
	if p >= 1 {
		add(n, weight)
		return into
	}
	odds := p / (1 - p)
	log := float64(n) * math.Log1p(-p)
	k := 0
	for ; log < smallest && k < n; k++ {
		log += math.Log(odds * float64(n-k) / float64(k+1))
	}
	for q := weight * math.Exp(log); k <= n && (q > leastHeld || float64(k) < p*float64(n)); k++ {
		add(k, q)
		q *= odds * float64(n-k) / float64(k+1)
	}
	return into
}

// leastHeld is the least chance, above the mean, that is counted up with: a hundred of
// them change no sum of others.
const leastHeld = 1e-25
