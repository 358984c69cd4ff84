package simulate

import (
	"fmt"
	"iter"
	"math/rand/v2"

	"github.com/kitmuster/kitmuster/programme"
)

// Size is the size of a shop to invent.
type Size struct {
	Clients int
	Staff   int // over all clients
	Pieces  int // in service, over all clients; about, since some are always owed
	Weeks   int // of records before the date
	// Bare leaves all shelves empty, so that every client is due at once. Else
	// shelves hold what they would between two orders, and some are due.
	Bare bool
}

// NewScale invents a shop of any size. The clients come one at a time, in
// order, so that a million pieces need not be in memory together; each pass
// over the sequence gives the same clients.
func NewScale(size Size, asOf programme.Date, seed uint64) (programme.Shop, iter.Seq[Case]) {
	list := make([]trade, size.Clients)
	rng := Seed(seed)
	for i := range list {
		list[i] = largeTrade(i, size, rng)
	}
	shop := catalogue(list...)
	return shop, func(yield func(Case) bool) {
		common := newShopRates(AroundPrior, Seed(seed+1))
		for i := range list {
			// A client looks its artworks up in its own list: the shop's is long.
			own := shop
			own.Artworks = list[i].artworks
			chance := rand.New(rand.NewPCG(seed, uint64(i)))
			c := chronicle(&own, &list[i], common, asOf, size.Weeks, chance, chance)
			if !yield(c) {
				return
			}
		}
	}
}

// largeTrade returns the i-th client of a large shop: an even share of staff, a kit
// that keeps the asked number of pieces in service, and any work and laundering.
func largeTrade(i int, size Size, rng *rand.Rand) trade {
	code := fmt.Sprintf("client-%04d", i+1)
	heads := size.Staff*(i+1)/size.Clients - size.Staff*i/size.Clients
	// About an eighth of the kits is out of service at any time: ended and not yet
	// replaced, or of people who left before their successors came.
	each := float64(size.Pieces) / float64(size.Staff) * 1.15
	part := func(share float64) int { return max(1, int(each*share+0.5)) }
	chest, bib := code+"-chest", code+"-bib"
	colour := func(of ...string) string { return of[rng.IntN(len(of))] }
	tee, polo, apron := colour("black", "navy", "oatmeal"), colour("navy", "burgundy", "white"),
		colour("black", "white")
	lines := []programme.KitLine{
		kit("tee", tee, part(0.4), 2.5, art(chest, "left-chest")),
		kit("polo", polo, part(0.3), 2, art(chest, "left-chest")),
		kit("apron", apron, part(0.2), 2, art(bib, "bib")),
		kit("hoodie", "black", part(0.1), 1, art(chest, "left-chest")),
	}
	regimes := []string{"home-cold-line", "home-low", "home-hot", "on-premises", "industrial"}
	duties := []programme.Duty{programme.Light, programme.Medium, programme.Heavy}
	shelf := 0.0
	if !size.Bare {
		shelf = 4 + 12*rng.Float64()
	}
	return trade{
		shelf: shelf, kept: shelf >= 8,
		client: programme.Client{
			Code: code, Name: fmt.Sprintf("Client %04d", i+1), Trade: "benchmark",
			Customer: programme.Contact{Name: "Uniform desk", Email: code + "@desk.example"},
			Manager:  []string{"bram", "noor"}[i%2],
			Work: programme.Work{Place: programme.Fixed, Setting: programme.Indoor,
				Duty: duties[rng.IntN(len(duties))], DaysPerWeek: 5},
			Laundering:      programme.Laundering{Regime: regimes[rng.IntN(len(regimes))]},
			Intake:          programme.Intake{PerYear: 0.4 * float64(heads), Strength: 2},
			Leavers:         programme.Leavers{PerYear: 0.4, Strength: 20},
			CountEveryWeeks: 26 * (i % 2), ForgetAfterDays: 180,
			Prices: prices(bySize("tee", 1450), bySize("polo", 2200), bySize("hoodie", 3300),
				[]programme.Price{price("apron", 1700)}),
			Roles: []programme.Role{{Code: "floor", Name: "Floor", Kit: lines},
				{Code: "back", Name: "Back of house", Kit: lines[:3]}},
		},
		artworks: []programme.Artwork{screenArt(chest, code, "Chest mark", 3.5, 3, 1, "white"),
			filmArt(bib, code, "Bib mark", 6, 4)},
		roleShare: []float64{0.8, 0.2}, sites: []string{"North", "South"}, heads: heads, recorded: 1 - 0.3*float64(i%2),
	}
}
