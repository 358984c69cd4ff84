package demand

import "github.com/kitmuster/kitmuster/programme"

// Short and ComingBy are those of a Muster without the rest of it; Coming is on any day.
func (in *Input) Short() []Short { return newScene(in).short }

func (in *Input) ComingBy(day programme.Date) []Short { return newScene(in).comingBy(day) }

func (in *Input) Coming() []Short { return in.ComingBy(never) }

// PoissonBinomial returns the distribution of the number of successes among independent
// trials with chances p, computed exactly by convolution: P(0), P(1), ..., P(len(p)).
func PoissonBinomial(p []float64) []float64 {
	f := make([]float64, 1, len(p)+1)
	f[0] = 1
	for _, q := range p {
		f = append(f, f[len(f)-1]*q)
		for i := len(f) - 2; i > 0; i-- {
			f[i] = f[i]*(1-q) + f[i-1]*q
		}
		f[0] *= 1 - q
	}
	return f
}

// NewRenewals prepares lifetimes (weights summing to 1) for pieces in a rotation,
// for questions up to weeks ahead.
func NewRenewals(lifetimes []Lifetime, r Rotation, weeks float64) *Renewals {
	e := coarse
	if len(lifetimes) == 1 {
		e = fine
	}
	return newRenewals(lifetimes, r, weeks, e, &room{})
}
