package simulate

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Draw returns one life in washes.
func Draw(l wear.Weibull, rng *rand.Rand) float64 {
	return l.Scale * math.Pow(rng.ExpFloat64(), 1/l.Shape)
}

// Truth holds the true lives and rates of a client, which its records only hint at.
type Truth struct {
	// Fabric is the life of each garment of the kits under this client's
	// laundering and work, by garment code; Print that of each artwork, by its code; absent = it outlasts the garment.
	Fabric, Print map[string]wear.Weibull
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
func drawTruth(shop *programme.Shop, c *programme.Client, share []float64, common *rates, s Spread,
	rng *rand.Rand) Truth {
	own := &rates{rng: rng, strength: 2 * s.Endings, drawn: map[string]float64{}}
	scatter := func(l wear.Weibull, class string) wear.Weibull {
		rate := common.of(class) * own.of(class)
		return wear.Weibull{Shape: l.Shape, Scale: l.Scale * s.Factor * math.Pow(rate, -1/l.Shape)}
	}
	book, err := wear.NewBook(shop, c, nil)
	if err != nil {
		panic(fmt.Sprintf("simulate: %v", err)) // what is invented here resolves
	}
	t := Truth{Fabric: map[string]wear.Weibull{}, Print: map[string]wear.Weibull{}, Label: map[string]float64{},
		HiresPerYear: map[string]float64{}, SizeMix: shop.SizeMix}
	for i := range c.Roles {
		for _, line := range c.Roles[i].Kit {
			g, _ := shop.Garment(line.Garment)
			use, _ := book.Use(c.Roles[i].Code, line.Garment, line.Colour)
			t.Fabric[g.Code] = scatter(use.Class.Cloth.Baseline, "fabric "+g.FabricClass)
			if g.LabelWashes > 0 {
				t.Label[g.Code] = g.LabelWashes
			}
			for _, d := range line.Decorations {
				a, _ := shop.Artwork(d.Artwork)
				k, _ := shop.Kind(a.Kind)
				for _, p := range use.Class.Prints {
					if p.Code == book.PrintCode(a.Code) {
						t.Print[a.Code] = scatter(p.Baseline, "print "+k.Code)
					}
				}
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
