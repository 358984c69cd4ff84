package reorder_test

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// A shop of our own invention: one client, tees and aprons bought singly, a
// protective vest that is never ordered by the program.

var monday = programme.NewDate(2026, 3, 2)

func aShop() *programme.Shop {
	sizes := []programme.GarmentSize{{Code: "S", Cost: 400}, {Code: "M", Cost: 400}, {Code: "L", Cost: 400},
		{Code: "2XL", Cost: 600}}
	return &programme.Shop{
		Currency: "USD", ReviewDays: 7, PressDays: 2, DeliveryDays: 1, Keeping: programme.UsualKeeping(),
		Ordering: programme.UsualOrdering, Missing: programme.UsualMissing(), WorthPulling: programme.UsualWorthPulling,
		Press: programme.Press{PiecesPerHour: 60, CostPerHour: 3000},
		Suppliers: []programme.Supplier{
			{Code: "cloth", LeadDays: 3, FreeFreightFrom: 20000, Freight: 1500},
			{Code: "prints", LeadDays: 5},
		},
		Garments: []programme.Garment{
			{Code: "tee", Supplier: "cloth", Sizes: sizes},
			{Code: "apron", Supplier: "cloth", Sizes: []programme.GarmentSize{{Code: "one", Cost: 900}}},
			{Code: "vest", Supplier: "cloth", Sizes: sizes, Protective: programme.HighVisibility, LabelWashes: 25},
		},
		Kinds:    []programme.TransferKind{{Code: "plastisol", Printer: "prints"}},
		Artworks: []programme.Artwork{{Code: "logo", Client: "bakery", Kind: "plastisol"}},
	}
}

func aClient() *programme.Client {
	logo := []programme.Decoration{{Artwork: "logo", Place: "left-chest"}}
	return &programme.Client{
		Code: "bakery", CoverWeeks: 8,
		Prices: []programme.Price{{Garment: "tee", Price: 1400}, {Garment: "tee", Size: "2XL", Price: 1700},
			{Garment: "apron", Price: 2200}},
		Roles: []programme.Role{{Code: "counter", Kit: []programme.KitLine{
			{Garment: "tee", Colour: "black", Each: 5, WearsAWeek: 5, Decorations: logo},
			{Garment: "apron", Colour: "black", Each: 2, WearsAWeek: 5, Decorations: logo},
			{Garment: "vest", Colour: "yellow", Each: 1, WearsAWeek: 5},
		}}},
	}
}

func sku(garment, size string) programme.SKU {
	colour := "black"
	if garment == "vest" {
		colour = "yellow"
	}
	return programme.SKU{Garment: garment, Colour: colour, Size: size}
}

// poissonPMF is computed by logarithms, another road than the product's.
func poissonPMF(mean float64) []float64 {
	n := int(mean+12*math.Sqrt(mean)) + 20
	out := make([]float64, n)
	for j := range out {
		lg, _ := math.Lgamma(float64(j + 1))
		out[j] = math.Exp(float64(j)*math.Log(mean) - mean - lg)
	}
	if mean == 0 {
		out[0] = 1
	}
	return out
}

// poissonLine is a line whose demand over that many weeks is Poisson, spread
// evenly: nine tenths worn, one tenth hires.
func poissonLine(k programme.SKU, perWeek float64, weeks int) demand.Line {
	mean := perWeek * float64(weeks)
	l := demand.Line{SKU: k, Distribution: demand.Distribution{Mean: mean, SD: math.Sqrt(mean), PMF: poissonPMF(mean)}}
	l.ByCause = programme.Causes{Endings: programme.Endings[float64]{Worn: 0.9 * mean}, Hires: 0.1 * mean}
	for range weeks {
		l.Weekly = append(l.Weekly, perWeek)
	}
	return l
}

// stocked is a Poisson line over both horizons of the shop and client above.
func stocked(k programme.SKU, perWeek float64, onHand int) reorder.Stocked {
	h := reorder.Horizons(aShop(), aClient(), monday)
	return reorder.Stocked{Trigger: poissonLine(k, perWeek, h.Trigger), Quantity: poissonLine(k, perWeek, h.Quantity),
		OnHand: onHand}
}

func anInput(lines ...reorder.Stocked) reorder.Input {
	return reorder.Input{Shop: aShop(), Client: aClient(), AsOf: monday, Lines: lines}
}
