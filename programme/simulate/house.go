package simulate

import (
	"math/rand/v2"

	"github.com/kitmuster/kitmuster/programme"
)

// NewHouse returns the shop of the demo with its seven clients as new programmes, each
// as large as the demo has it, and two small ones that the demo does not show: a
// bakery of 6 and a practice of 17.
func NewHouse(s Spread, start programme.Date, seed uint64) (*programme.Shop, []Newcomer) {
	rng := rand.New(rand.NewPCG(seed, 9))
	kinds := append(trades(), smallBakery(), practice())
	shop := catalogue(kinds...)
	common := newShopRates(s, rng)
	var list []Newcomer
	for i := range kinds {
		list = append(list, newcomer(&shop, kinds[i], common, s, start, rng))
	}
	return &shop, list
}

func smallBakery() trade {
	c := programme.Client{
		Code: "plumcote", Name: "Plumcote Bakery", Trade: "bakery",
		Customer: programme.Contact{Name: "Mavis Underlow", Email: "mavis@plumcote.example"},
		Work: programme.Work{Place: programme.Fixed, Setting: programme.Indoor, Duty: programme.Medium,
			DaysPerWeek: 6, Food: true},
		Laundering: programme.Laundering{Regime: "home-hot"},
		Intake:     programme.Intake{PerYear: 3, Months: foodMonths, Strength: 2},
		Leavers:    programme.Leavers{PerYear: 0.5, Strength: 10},
		Prices:     prices(bySize("polo", 2200), []programme.Price{price("apron", 1700), price("cap", 1400)}),
		Roles: []programme.Role{{Code: "staff", Name: "Staff", Kit: []programme.KitLine{
			kit("polo", "navy", 5, 5, art("plumcote-chest", "left-chest")),
			kit("apron", "black", 5, 5, art("plumcote-bib", "bib")), kit("cap", "black", 2, 5)}}},
	}
	return trade{client: c, roleShare: []float64{1}, sites: []string{"Shop"}, heads: 6, recorded: 0.9,
		artworks: []programme.Artwork{filmArt("plumcote-chest", c.Code, "Plum", 3, 3),
			filmArt("plumcote-bib", c.Code, "Plum, bib", 6, 4)}}
}

// practice has three roles, two sites and starters that are rare.
func practice() trade {
	c := programme.Client{
		Code: "sallowgate", Name: "Sallowgate Practice", Trade: "medical practice",
		Customer: programme.Contact{Name: "Rowena Ashdyke", Email: "office@sallowgate.example"},
		Work: programme.Work{Place: programme.Fixed, Setting: programme.Indoor, Duty: programme.Light,
			DaysPerWeek: 5},
		Laundering: programme.Laundering{Regime: "home-hot"},
		Intake:     programme.Intake{PerYear: 2, Strength: 2}, Leavers: programme.Leavers{PerYear: 0.12, Strength: 20},
		CountEveryWeeks: 26,
		Prices:          prices(bySize("tunic", 2900), bySize("polo", 2200), bySize("tee", 1500)),
		Roles: []programme.Role{
			{Code: "nurse", Name: "Nurse", Kit: []programme.KitLine{kit("tunic", "teal", 5, 5,
				art("sallowgate-chest", "left-chest"))}},
			{Code: "desk", Name: "Reception",
				Kit: []programme.KitLine{kit("polo", "white", 5, 5, art("sallowgate-chest", "left-chest"))}},
			{Code: "upkeep", Name: "Upkeep", Kit: []programme.KitLine{kit("tee", "navy", 5, 5,
				art("sallowgate-chest", "left-chest"))}},
		},
	}
	return trade{client: c, roleShare: []float64{0.53, 0.29, 0.18}, sites: []string{"Sallow House", "Gate Lane"},
		heads: 17, recorded: 0.9,
		artworks: []programme.Artwork{filmArt("sallowgate-chest", c.Code, "Sallow leaf", 3, 2.5)}}
}
