package demand

import "github.com/kitmuster/kitmuster/programme"

// Short and ComingBy are those of a Muster without the rest of it; Coming is on any day.
func (in *Input) Short() []Short { return newScene(in).short }

func (in *Input) ComingBy(day programme.Date) []Short { return newScene(in).comingBy(day) }

func (in *Input) Coming() []Short { return in.ComingBy(never) }

// PoissonBinomial returns the distribution of the endings of pieces that end once with
// chances p each: P(0), P(1), ..., P(len(p)).
func PoissonBinomial(p []float64) []float64 {
	tails := make([][]float64, len(p))
	for i, q := range p {
		tails[i] = []float64{1, q}
	}
	return (&counter{}).pieces(tails, 0, 2)
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
