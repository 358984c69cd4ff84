package wear

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Kind says what is known about the end of a life.
type Kind uint8

// Kinds of observation.
const (
	// Right: alive at Exit (still in service, returned, or ended by another cause).
	Right Kind = iota
	// Exact: ended at Exit.
	Exact
	// Interval: alive at Exit, ended by Upper.
	Interval
)

// Observation is the datum of one piece, or of Count equal ones, about a cause of ending.
type Observation struct {
	Kind  Kind
	Entry float64 // washes at which it came under observation (left truncation)
	Exit  float64 // washes at the ending, at the last sign of life, or now
	Upper float64 // Interval only: washes by which it had ended; +Inf = some day
	Count float64 // equal pieces; above 0
	// Lives is the number of equal lives of this cause that each piece carries, such as
	// prints of a kind, any of which may be the one that ended; 0 = one.
	Lives float64
	// Other is the hazard of the competing causes, when the cause of the ending
	// is not known: for Exact their hazard per wash at Exit, for Interval their
	// cumulative hazard from Exit to Upper. 0 = this cause ended it for certain.
	Other float64
	// Blur is half the variance of the logarithm of ages, of which Entry, Exit and Upper state the middle, where it is
	// not known how hard each wash was. Log-normal ages have a cumulative hazard of e^(Blur k²) times that of the
	// middle on average, k the shape; with the log hazard of the middle at an ending this is the log likelihood
	// averaged over ages, which the EM algorithm climbs.
	Blur float64
}

func (o Observation) check() error {
	switch {
	case !(o.Entry >= 0) || !(o.Exit >= o.Entry) || math.IsInf(o.Exit, 0):
		return fmt.Errorf("life from %g to %g washes: it must start at 0 or later and not end before it starts",
			o.Entry, o.Exit)
	case o.Kind == Exact && o.Exit <= 0:
		return fmt.Errorf("life ended at %g washes: an ending needs an age above 0", o.Exit)
	case o.Kind == Interval && !(o.Upper > o.Exit):
		return fmt.Errorf("ending between %g and %g washes: the second must be greater", o.Exit, o.Upper)
	case !(o.Count > 0) || math.IsInf(o.Count, 0) || !(o.Other >= 0) || !(o.Lives >= 0) || !(o.Blur >= 0):
		return fmt.Errorf("%g equal pieces, other causes %g, lives each %g, blur %g: all must be positive numbers",
			o.Count, o.Other, o.Lives, o.Blur)
	}
	return nil
}

// Pool merges equal observations, so that pieces issued together are computed
// once. The result is sorted; the argument is left as it is.
func Pool(obs []Observation) []Observation {
	all := slices.Clone(obs)
	slices.SortFunc(all, func(a, b Observation) int {
		return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Exit, b.Exit), cmp.Compare(a.Entry, b.Entry),
			cmp.Compare(a.Upper, b.Upper), cmp.Compare(a.Other, b.Other), cmp.Compare(a.Lives, b.Lives),
			cmp.Compare(a.Blur, b.Blur))
	})
	out := all[:0]
	for _, o := range all {
		if n := len(out); n > 0 && same(out[n-1], o) {
			out[n-1].Count += o.Count
			continue
		}
		out = append(out, o)
	}
	return out
}

func same(a, b Observation) bool {
	a.Count, b.Count = 0, 0
	return a == b
}
