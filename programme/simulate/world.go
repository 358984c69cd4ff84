package simulate

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme"
)

// Case is one client with the records its shop has of it, and the truth.
type Case struct {
	Client programme.Client
	Roster []programme.Person
	Ledger []programme.Movement
	// Stock is the client's finished pieces.
	Stock []programme.StockLine
	Truth Truth
}

// World is a shop with its clients and everything on its shelves.
type World struct {
	Shop  programme.Shop
	AsOf  programme.Date
	Cases []Case
	Stock []programme.StockLine
}

// DemoSeed is the seed of the shop that the demo shows; its clients kept about
// the size that they began with.
const DemoSeed = 79

// demoShelves sets what lies on the shelves apart from everything else. With
// the demo's seed it leaves a week as most are: one client late, two due in
// good time, one that is better ordered with them, three that can wait.
const demoShelves = 7

// Seed returns the source of chance that belongs to a number.
func Seed(n uint64) *rand.Rand { return rand.New(rand.NewPCG(n, 0x6b69746d75737465)) }

// recordWeeks is the number of weeks that the records of a world reach back.
const recordWeeks = 104

// NewWorld invents the shop of the demo with seven clients of different trades
// and two years of records up to asOf: kits issued, pieces ended and counted,
// people come and gone. A part of the endings stays unrecorded until a count.
func NewWorld(asOf programme.Date, rng *rand.Rand) World {
	list := trades()
	w := World{Shop: catalogue(list...), AsOf: asOf}
	common := newShopRates(AroundPrior, rng)
	// of their own: what lies there changes nobody's history
	shelves := rand.New(rand.NewPCG(rng.Uint64(), rng.Uint64()+demoShelves))
	for i := range list {
		c := chronicle(&w.Shop, &list[i], common, asOf, recordWeeks, rng, shelves)
		w.Cases = append(w.Cases, c)
		w.Stock = append(w.Stock, c.Stock...)
	}
	w.Stock = append(w.Stock, blanks(&w.Shop, asOf, shelves)...)
	w.Stock = append(w.Stock, transfers(&w.Shop, asOf, shelves)...)
	return w
}

// chronicle lives through one client's weeks of records; shelves is the source
// of chance for what lies ready at their end.
func chronicle(shop *programme.Shop, t *trade, common *rates, asOf programme.Date, weeks int, rng,
	shelves *rand.Rand) Case {
	client := t.client
	client.RecordsStart = asOf.Add(-weeks * week)
	truth := drawTruth(shop, &client, t.roleShare, common, AroundPrior, rng)
	start := client.RecordsStart
	if t.older {
		start = start.Add(-70 * week)
	}
	c := newCourse(shop, &client, truth, t.recorded, start, rng)
	c.staffUp(t.heads, t.roleShare, t.sites)
	if t.older {
		c.live(client.RecordsStart, 0)
		c.forgetBefore()
	}
	c.live(asOf, client.CountEveryWeeks)
	if t.kept {
		c.handOutAll()
	}
	ledger := c.Ledger()
	for i := range ledger {
		ledger[i].Ref = fmt.Sprintf("%s-%05d", client.Code[:2], i+1)
	}
	done := Case{Client: client, Roster: c.Roster(), Ledger: ledger, Truth: truth}
	done.Stock = finished(&done, t, asOf, shelves)
	return done
}

// finished returns what lies ready for a client: so many weeks of last year's issues.
func finished(c *Case, t *trade, asOf programme.Date, rng *rand.Rand) []programme.StockLine {
	issued := map[programme.SKU]int{}
	for _, m := range c.Ledger {
		if m.Kind == programme.Issued && m.Date > asOf.Add(-52*week) {
			issued[m.SKU] += m.Pieces
		}
	}
	var list []programme.StockLine
	for _, k := range sorted(issued) {
		mean := float64(issued[k]) / 52 * t.shelf
		n := distuv.Poisson{Lambda: mean, Src: rng}.Rand()
		if t.kept {
			n = math.Ceil(mean) + 2
		}
		if n > 0 {
			list = append(list, programme.StockLine{AsOf: asOf,
				Goods: programme.Goods{Kind: programme.Finished, Client: c.Client.Code, Code: k.Garment,
					Colour: k.Colour, Size: k.Size}, Pieces: int(n)})
		}
	}
	return list
}

func sorted(set map[programme.SKU]int) []programme.SKU {
	return slices.SortedFunc(maps.Keys(set), programme.SKU.Compare)
}

// blanks returns undecorated pieces left from other work, in the middle sizes, and
// one delivery on its way.
func blanks(shop *programme.Shop, asOf programme.Date, rng *rand.Rand) []programme.StockLine {
	var list []programme.StockLine
	for _, code := range []string{"tee", "polo", "apron"} {
		g, _ := shop.Garment(code)
		for _, size := range g.Sizes {
			if size.Code == "M" || size.Code == "L" || size.Code == "one" {
				list = append(list, programme.StockLine{AsOf: asOf,
					Goods:  programme.Goods{Kind: programme.Blank, Code: code, Colour: g.Colours[0], Size: size.Code},
					Pieces: 2 + rng.IntN(8)})
			}
		}
	}
	return append(list, programme.StockLine{AsOf: asOf, Goods: programme.Goods{Kind: programme.Blank, Code: "hoodie",
		Colour: "black", Size: "L"}, Pieces: 6, Expected: asOf.Add(4)})
}

// transfers returns what is left of earlier sheets of every artwork.
func transfers(shop *programme.Shop, asOf programme.Date, rng *rand.Rand) []programme.StockLine {
	list := make([]programme.StockLine, 0, len(shop.Artworks))
	for i := range shop.Artworks {
		list = append(list, programme.StockLine{AsOf: asOf,
			Goods: programme.Goods{Kind: programme.Transfer, Code: shop.Artworks[i].Code}, Pieces: rng.IntN(25),
			Made: asOf.Add(-20 - rng.IntN(300))})
	}
	return list
}
