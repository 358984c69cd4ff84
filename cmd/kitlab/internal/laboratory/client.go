package laboratory

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

const (
	daysPerYear = 365.2425
	// resizes are the changes of size of a person and year that are usual, and growing the
	// part of them to a larger one (common practice, no source).
	resizes, growing = 0.05, 0.6
)

// line is one garment of the kit with what is truly so of it.
type line struct {
	garment, colour string
	each            int
	perDay          float64      // washes of all pieces together
	cloth, print    wear.Weibull // in washes
	mishap          float64      // per day
}

// client is one invented client.
type client struct {
	rng   *rand.Rand
	world *World
	shop  *programme.Shop
	terms *programme.Client
	lines []line
	// Rates a day: of leaving and of changing size for each person, of hires for the client.
	leaving, resizing, hiring float64
	people                    []*person
	here                      []*person
	today, asOf               int
	first                     programme.Date
	ledger                    []programme.Movement
	// Needed counts what the future asks for, by line and size.
	counting bool
	needed   map[programme.SKU]int
}

var sizes = []programme.SizeShare{{Size: "S", Share: 14}, {Size: "M", Share: 27}, {Size: "L", Share: 29},
	{Size: "XL", Share: 20}, {Size: "2XL", Share: 10}}

// newShop returns the catalogue of every invented client: the shipped figures.
func newShop() *programme.Shop {
	shop := &programme.Shop{
		Baselines: programme.DefaultBaselines(),
		SizeMix:   map[string][]programme.SizeShare{"top": sizes},
		Kinds:     []programme.TransferKind{{Code: "screen", Decoration: "plastisol"}},
		Artworks:  []programme.Artwork{{Code: "mark", Kind: "screen"}},
	}
	for _, g := range [][2]string{{"tee", "cotton-tee-carded"}, {"polo", "cotton-polo"}, {"shirt", "blend-work-shirt"},
		{"hoodie", "fleece"}} {
		garment := programme.Garment{Code: g[0], FabricClass: g[1], SizeFamily: "top", WearsPerWash: 1}
		for _, s := range sizes {
			garment.Sizes = append(garment.Sizes, programme.GarmentSize{Code: s.Size})
		}
		shop.Garments = append(shop.Garments, garment)
	}
	return shop
}

// newClient draws a client around the shipped figures, as widely as they claim.
func newClient(w *World, rng *rand.Rand) *client {
	shop := newShop()
	heads := 5 + rng.IntN(26)
	terms := &programme.Client{
		Code: "invented", Laundering: programme.Laundering{Regime: "home-low"},
		Work:    programme.Work{Duty: programme.Medium},
		Intake:  programme.Intake{PerYear: 0.4 * float64(heads), Strength: 2},
		Leavers: programme.Leavers{PerYear: 0.4, Strength: 15},
	}
	c := &client{rng: rng, world: w, shop: shop, terms: terms, needed: map[programme.SKU]int{}}
	c.asOf = int((0.5 + 2*rng.Float64()) * daysPerYear)
	if every := w.CountEvery; w.Stale {
		c.asOf = max(1, c.asOf/every)*every + every - 7
	}
	c.first = programme.NewDate(2024, 1, 1).Add(rng.IntN(365))
	terms.RecordsStart = c.first
	if w.Season > 0 && !w.Unstated {
		terms.Work.WearByMonth = months(w.Season)
	}
	terms.Roles = []programme.Role{{Code: "floor"}}
	c.dress()
	c.leaving = 0.4 * c.gamma(0.4*15) / daysPerYear
	c.resizing = resizes * c.gamma(resizes*8) / daysPerYear
	c.hiring = terms.Intake.PerYear * c.gamma(terms.Intake.PerYear*2) / daysPerYear
	for range heads {
		c.hire()
	}
	return c
}

// dress draws what is so of the garments of the kit.
func (c *client) dress() {
	b := &c.shop.Baselines
	kit := &c.terms.Roles[0].Kit
	add := func(garment, colour string, each int, wears float64, cloth wear.Weibull, printed bool) {
		l := line{garment: garment, colour: colour, each: each, perDay: wears / 7, cloth: cloth,
			print: wear.Weibull{Shape: 1, Scale: math.Inf(1)}, mishap: b.MishapPerYear / daysPerYear}
		k := programme.KitLine{Garment: garment, Colour: colour, Each: each, WearsAWeek: wears}
		if printed {
			l.print = c.around(b.Decorations[0].Median, b.Decorations[0].Shape)
			k.Decorations = []programme.Decoration{{Artwork: "mark"}}
		}
		c.lines, *kit = append(c.lines, l), append(*kit, k)
	}
	if c.world.Distinct {
		cloth := c.fabric("cotton-tee-carded")
		for _, colour := range []string{"black", "navy", "green", "white"} {
			add("tee", colour, 1, 1.5, cloth, true)
			c.lines[len(c.lines)-1].print = c.lines[0].print
		}
	} else {
		add("tee", "black", 5, 5, c.fabric("cotton-tee-carded"), true)
		add("polo", "navy", 4, 4, c.fabric("cotton-polo"), true)
		add("shirt", "white", 3, 3.5, c.fabric("blend-work-shirt"), false)
		add("hoodie", "grey", 2, 2, c.fabric("fleece"), true)
	}
	// Mishaps are learnt class by class; here each class has a rate of its own.
	for i := range c.lines {
		if i > 0 && c.world.Distinct {
			c.lines[i].mishap = c.lines[0].mishap
			continue
		}
		c.lines[i].mishap *= c.gamma(b.PriorEndings)
	}
}

func (c *client) fabric(class string) wear.Weibull {
	f, _ := c.shop.Baselines.Fabric(class)
	return c.around(f.Median, f.Shape)
}

// around draws a life around a shipped one: a Gamma rate and a log-normal
// shape, each as wide as the stated pseudo-endings leave them.
func (c *client) around(median, shape float64) wear.Weibull {
	strength := c.shop.Baselines.PriorEndings
	k := shape * math.Exp(c.rng.NormFloat64()*math.Sqrt(6/strength)/math.Pi)
	return wear.Weibull{Shape: k, Scale: median * math.Pow(math.Ln2, -1/shape) * math.Pow(c.gamma(strength), -1/k)}
}

// gamma draws a factor of mean 1.
func (c *client) gamma(strength float64) float64 {
	return distuv.Gamma{Alpha: strength, Beta: strength, Src: c.rng}.Rand()
}

func (c *client) date() programme.Date { return c.first.Add(c.today) }
