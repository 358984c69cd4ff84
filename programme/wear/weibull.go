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

// Quantile returns the washes that a share p of new pieces does not outlive, 0 <= p < 1.
func (w Weibull) Quantile(p float64) float64 {
	return w.Scale * math.Pow(-math.Log1p(-p), 1/w.Shape)
}

// Median returns the washes that half of new pieces outlive.
func (w Weibull) Median() float64 { return w.Quantile(0.5) }
