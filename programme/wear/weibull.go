package wear

import (
	"math"

	"github.com/kitmuster/kitmuster/programme/exponent"
)

// Weibull is the distribution of a life in washes: survival exp(-(x/Scale)^Shape).
type Weibull struct {
	Shape float64 // no unit, above 0
	Scale float64 // washes that 63.2 % of pieces do not outlive
}

// FromMedian returns the distribution with the given shape whose median is median washes.
func FromMedian(median, shape float64) Weibull {
	return Weibull{Shape: shape, Scale: median / math.Pow(math.Ln2, 1/shape)}
}

// Hazard returns the cumulative hazard (x/Scale)^Shape at x washes, x >= 0.
func (w Weibull) Hazard(x float64) float64 {
	if x <= 0 {
		return 0
	}
	return exponent.Raise(x/w.Scale, w.Shape)
}

// Survival returns the chance that a piece is still presentable after x washes
// given that it entered at age entry. x and entry are in washes, 0 <= entry <= x;
// the result is in [0, 1] and does not rise with x.
func (w Weibull) Survival(x, entry float64) float64 {
	return math.Exp(w.Hazard(entry) - w.Hazard(x))
}

// Quantile returns the washes that a share p of new pieces does not outlive, 0 <= p < 1.
func (w Weibull) Quantile(p float64) float64 {
	return w.Scale * math.Pow(-math.Log1p(-p), 1/w.Shape)
}

// Median returns the washes that half of new pieces outlive.
func (w Weibull) Median() float64 { return w.Quantile(0.5) }

// Mean returns the expected washes of a new piece.
func (w Weibull) Mean() float64 { return w.Scale * math.Gamma(1+1/w.Shape) }
