package simulate

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme"
)

// Life is a Weibull wear life: the chance of lasting longer than x washes is
// exp(-(x/Scale)^Shape). A Scale of +Inf never ends.
type Life struct{ Shape, Scale float64 }

// Draw returns one life in washes.
func (l Life) Draw(rng *rand.Rand) float64 {
	if math.IsInf(l.Scale, 1) {
		return l.Scale
	}
	return l.Scale * math.Pow(rng.ExpFloat64(), 1/l.Shape)
}

func fromMedian(median, shape float64) Life {
	return Life{shape, median / math.Pow(math.Ln2, 1/shape)}
}

// Truth holds the true lives and rates of a client, which its records only hint at.
type Truth struct {
	// Fabric is the life of each garment of the kits under this client's
	// laundering and work, by garment code; Print that of each artwork.
	Fabric, Print map[string]Life
	// Label is the greatest number of washes by garment code; absent = none.
	Label         map[string]float64
	MishapPerYear float64 // per piece
	ResizePerYear float64 // per person: needs another size from now on
	LeavePerYear  float64 // per person
	HiresPerYear  map[string]float64
	Months        [12]float64 // busy-month factors, mean 1
	SizeMix       map[string][]programme.SizeShare
}

// Spread says how far truths scatter around the shipped figures.
type Spread struct {
	// Endings is the strength of the scatter in pseudo-endings, as priors are
	// stated: a rate is drawn from a Gamma with that shape and mean 1. Half of
	// the scatter is the shop's, common to its clients, half the client's own.
	// 0 = no scatter at all.
	Endings float64
	// Factor multiplies every wear life; 1 for truths around the prior.
	Factor float64
}

// AroundPrior scatters as widely as the program's priors believe.
var AroundPrior = Spread{Endings: 10, Factor: 1}

// resizePerYear: 0.4 % of pieces a month go out of use because the wearer
// changed size (common practice, no source).
const resizePerYear = 0.048

// rates draws a factor of rates for each name and remembers it, so that all
// clients of a shop share the shop's half of the scatter.
type rates struct {
	rng      *rand.Rand
	strength float64
	drawn    map[string]float64
}

func (r *rates) of(name string) float64 {
	v, ok := r.drawn[name]
	if !ok {
		v = gammaFactor(r.strength, r.rng)
		r.drawn[name] = v
	}
	return v
}

// gammaFactor draws from the Gamma with the given shape and mean 1; 1 when the shape is 0.
func gammaFactor(shape float64, rng *rand.Rand) float64 {
	if shape == 0 {
		return 1
	}
	return distuv.Gamma{Alpha: shape, Beta: shape, Src: rng}.Rand()
}

func newShopRates(s Spread, rng *rand.Rand) *rates {
	return &rates{rng: rng, strength: 2 * s.Endings, drawn: map[string]float64{}}
}

// drawTruth draws what is so about one client, given what is so at its shop;
// share splits hires between the client's roles and sums to 1.
func drawTruth(shop *programme.Shop, c *programme.Client, share []float64, common *rates, s Spread, rng *rand.Rand) Truth {
	own := &rates{rng: rng, strength: 2 * s.Endings, drawn: map[string]float64{}}
	scatter := func(l Life, class string) Life {
		if math.IsInf(l.Scale, 1) {
			return l
		}
		rate := common.of(class) * own.of(class)
		return Life{l.Shape, l.Scale * s.Factor * math.Pow(rate, -1/l.Shape)}
	}
	t := Truth{Fabric: map[string]Life{}, Print: map[string]Life{}, Label: map[string]float64{}, HiresPerYear: map[string]float64{}, SizeMix: shop.SizeMix}
	for i := range c.Roles {
		for _, line := range c.Roles[i].Kit {
			g, _ := shop.Garment(line.Garment)
			t.Fabric[g.Code] = scatter(PriorFabric(shop, c, g), "fabric "+g.FabricClass)
			if g.LabelWashes > 0 {
				t.Label[g.Code] = g.LabelWashes
			}
			for _, d := range line.Decorations {
				a, _ := shop.Artwork(d.Artwork)
				k, _ := shop.Kind(a.Kind)
				t.Print[a.Code] = scatter(PriorPrint(shop, c, k), "print "+k.Code)
			}
		}
	}
	mishap := shop.Baselines.MishapPerYear
	if c.Work.Food {
		mishap = shop.Baselines.MishapPerYearFood
	}
	t.MishapPerYear = mishap * gammaFactor(s.Endings, rng)
	t.ResizePerYear = resizePerYear
	t.LeavePerYear = c.Leavers.PerYear * gammaFactor(c.Leavers.PerYear*c.Leavers.Strength, rng)
	t.Months = monthFactors(c.Intake.Months)
	hires := gammaFactor(c.Intake.PerYear*c.Intake.Strength, rng)
	for i := range c.Roles {
		t.HiresPerYear[c.Roles[i].Code] = c.Intake.PerYear * share[i] * hires
	}
	return t
}

func monthFactors(m [12]float64) [12]float64 {
	sum := 0.0
	for _, f := range m {
		sum += f
	}
	for i := range m {
		if sum == 0 {
			m[i] = 1
		} else {
			m[i] *= 12 / sum
		}
	}
	return m
}

// PriorFabric returns the shipped life of a garment's cloth under a client's
// laundering and work: median times the multipliers of trade practice, their
// product held between 0.25 and 1.4.
func PriorFabric(shop *programme.Shop, c *programme.Client, g *programme.Garment) Life {
	b := &shop.Baselines
	var f programme.FabricBaseline
	for _, x := range b.Fabrics {
		if x.Code == g.FabricClass {
			f = x
		}
	}
	if g.Median > 0 {
		f.Median = g.Median
	}
	if g.Shape > 0 {
		f.Shape = g.Shape
	}
	return fromMedian(f.Median*min(1.4, max(0.25, launderingFactor(b, c, f.Fibre)*dutyFactor(b, c))), f.Shape)
}

func launderingFactor(b *programme.Baselines, c *programme.Client, fibre programme.Fibre) float64 {
	r := regime(b, c)
	factor, chlorine := r.Cotton, b.ChlorineCotton
	switch fibre {
	case programme.Cotton:
	case programme.Blend:
		factor, chlorine = r.Blend, b.ChlorineBlend
	case programme.Polyester:
		factor, chlorine = r.Polyester, b.ChlorinePolyester
	}
	if c.Laundering.Chlorine {
		factor *= chlorine
	}
	return factor
}

func dutyFactor(b *programme.Baselines, c *programme.Client) float64 {
	factor := map[programme.Duty]float64{programme.Light: b.Light, programme.Medium: b.Medium, programme.Heavy: b.Heavy, programme.Dirty: b.Dirty}[c.Work.Duty]
	if c.Work.StrongSun {
		factor *= b.StrongSun
	}
	return factor
}

// PriorPrint returns the shipped life of a transfer kind under a client's laundering.
func PriorPrint(shop *programme.Shop, c *programme.Client, k *programme.TransferKind) Life {
	b := &shop.Baselines
	var d programme.DecorationBaseline
	for _, x := range b.Decorations {
		if x.Code == k.Decoration {
			d = x
		}
	}
	if d.Median == 0 {
		return Life{1, math.Inf(1)}
	}
	// A maker's statement of fitness for industrial laundry replaces the column.
	hot, premises, industrial := d.HomeHot, d.OnPremises, d.Industrial
	if k.FitForIndustrial {
		hot, premises, industrial = 0.9, 0.85, 0.8
	}
	factor := map[string]float64{"home": 1, "home-hot": hot, "on-premises": premises, "industrial": industrial}[regime(b, c).Column]
	if c.Laundering.Chlorine {
		factor *= b.DecorationChlorine
	}
	if c.Laundering.Softener {
		factor *= b.Softener
	}
	if c.Laundering.NoPrePress {
		factor *= b.NoPrePress
	}
	return fromMedian(d.Median*factor, d.Shape)
}

func regime(b *programme.Baselines, c *programme.Client) programme.Regime {
	for _, r := range b.Regimes {
		if r.Code == c.Laundering.Regime {
			return r
		}
	}
	panic("simulate: client " + c.Code + " has no known laundering regime")
}
