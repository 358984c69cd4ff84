package wear

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme/exponent"
	"github.com/kitmuster/kitmuster/programme/quadrature"
)

// Gamma is the distribution of a rate of which Count events were seen over Exposure.
// Its mean is Count/Exposure, its relative spread 1/sqrt(Count).
type Gamma struct{ Count, Exposure float64 }

// certainCount makes a Gamma so narrow that its spread is beyond any figure shown.
const certainCount = 1e12

// Certain returns the rate taken as known.
func Certain(rate float64) Gamma { return Gamma{Count: certainCount, Exposure: certainCount / rate} }

// IsCertain reports whether the rate is taken as known.
func (g Gamma) IsCertain() bool { return g.Count >= certainCount }

// Mean returns the expected rate.
func (g Gamma) Mean() float64 { return g.Count / g.Exposure }

// Learn adds events seen over an exposure.
func (g Gamma) Learn(events, exposure float64) Gamma {
	if g.IsCertain() {
		return g
	}
	return Gamma{g.Count + events, g.Exposure + exposure}
}

// Survival returns the chance of no event over exposure x, the rate being
// uncertain: (b/(b+x))^a.
func (g Gamma) Survival(x float64) float64 { return exponent.Of(-g.Hazard(x)) }

// Hazard returns minus the logarithm of Survival.
func (g Gamma) Hazard(x float64) float64 { return g.Count * exponent.Log1p(x/g.Exposure) }

// Quantile returns the rate that the true one stays below with chance p.
func (g Gamma) Quantile(p float64) float64 {
	if g.Count > 1e8 {
		return g.Mean()
	}
	return distuv.Gamma{Alpha: g.Count, Beta: g.Exposure}.Quantile(p)
}

// Below returns the chance that the true rate is below r.
func (g Gamma) Below(r float64) float64 {
	if r <= 0 {
		return 0
	}
	if g.Count > 1e8 {
		return distuv.UnitNormal.CDF((r/g.Mean() - 1) * math.Sqrt(g.Count))
	}
	return distuv.Gamma{Alpha: g.Count, Beta: g.Exposure}.CDF(r)
}

// Nodes returns the n-point Gauss rule for averages over the rate; one point when it is certain.
func (g Gamma) Nodes(n int) []quadrature.Node {
	if g.IsCertain() {
		n = 1
	}
	return quadrature.Gamma(g.Count, g.Exposure, n)
}
