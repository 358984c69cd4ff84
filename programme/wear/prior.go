package wear

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
)

// The product of all multipliers of cloth life is kept inside these bounds
// (common practice, no source).
const (
	leastFactor    = 0.25
	greatestFactor = 1.4
)

func (b *Book) clothSource(g *programme.Garment, fabric *programme.FabricBaseline) Source {
	code, median, shape := fabric.Code, fabric.Median, fabric.Shape
	if g.Median > 0 || g.Shape > 0 {
		code = g.Code
		if g.Median > 0 {
			median = g.Median
		}
		if g.Shape > 0 {
			shape = g.Shape
		}
	}
	return b.source(code, median, shape, b.clothFactor(fabric.Fibre))
}

func (b *Book) source(code string, median, shape, factor float64) Source {
	base := FromMedian(median*factor, shape)
	s := Source{Code: code, Regime: b.washing(), Factor: factor, Baseline: base}
	s.Prior = Prior{Weibull: base, Strength: max(b.shop.Baselines.PriorEndings, 0.5), Known: b.client.Known}
	if !b.client.Known {
		s.Prior = b.shopKnows.prior(b.client.Code, s)
	}
	return s
}

// washing names the laundering with its extras: experience under one is not carried to another.
func (b *Book) washing() string {
	w := b.regime.Code
	if b.client.Laundering.Chlorine {
		w += "+chlorine"
	}
	if b.client.Laundering.Softener {
		w += "+softener"
	}
	return w
}

func (b *Book) clothFactor(f programme.Fibre) float64 {
	base := &b.shop.Baselines
	wash, chlorine := b.regime.Cotton, base.ChlorineCotton
	switch f {
	case programme.Blend:
		wash, chlorine = b.regime.Blend, base.ChlorineBlend
	case programme.Polyester:
		wash, chlorine = b.regime.Polyester, base.ChlorinePolyester
	case programme.Cotton:
	}
	factor := wash * b.duty()
	if b.client.Laundering.Chlorine {
		factor *= chlorine
	}
	if b.client.Work.StrongSun {
		factor *= base.StrongSun
	}
	if b.client.Known {
		return factor
	}
	return min(greatestFactor, max(leastFactor, factor))
}

func (b *Book) duty() float64 {
	base := &b.shop.Baselines
	switch b.client.Work.Duty {
	case programme.Light:
		return base.Light
	case programme.Heavy:
		return base.Heavy
	case programme.Dirty:
		return base.Dirty
	case programme.Medium:
		return base.Medium
	default:
		return 1
	}
}

// printSource returns the prior of a kind of print; lasts is true for prints
// that outlive any garment.
func (b *Book) printSource(code string, kind *programme.TransferKind) (s Source, lasts bool, err error) {
	d, ok := b.shop.Baselines.Decoration(kind.Decoration)
	if !ok {
		return s, false, fmt.Errorf("transfer kind %s: decoration %q is not in the shop's catalogue", kind.Code,
			kind.Decoration)
	}
	if d.Median <= 0 {
		return s, true, nil
	}
	return b.source(code, d.Median, d.Shape, b.printFactor(d, kind.FitForIndustrial)), false, nil
}

// fit is the multiplier of a transfer whose maker states that it stands
// industrial laundry, by regime column (common practice, no source).
var fit = map[string]float64{"home-hot": 0.9, "on-premises": 0.85, "industrial": 0.8}

func (b *Book) printFactor(d *programme.DecorationBaseline, fitForIndustrial bool) float64 {
	factor := 1.0
	switch b.regime.Column {
	case "home-hot":
		factor = d.HomeHot
	case "on-premises":
		factor = d.OnPremises
	case "industrial":
		factor = d.Industrial
	}
	if f, ok := fit[b.regime.Column]; ok && fitForIndustrial {
		factor = f
	}
	base, l := &b.shop.Baselines, b.client.Laundering
	if l.Chlorine {
		factor *= base.DecorationChlorine
	}
	if l.Softener {
		factor *= base.Softener
	}
	if l.NoPrePress {
		factor *= base.NoPrePress
	}
	return factor
}

// mishapPrior returns the catalogue's rate per piece and year, worth PriorEndings mishaps.
func (b *Book) mishapPrior() Gamma {
	rate := b.shop.Baselines.MishapPerYear
	if b.client.Work.Food {
		rate = b.shop.Baselines.MishapPerYearFood
	}
	switch strength := max(b.shop.Baselines.PriorEndings, 0.5); {
	case rate <= 0:
		return Certain(1e-12)
	case b.client.Known:
		return Certain(rate)
	default:
		return Gamma{strength, strength / rate}
	}
}
