package simulate

import "github.com/kitmuster/kitmuster/programme"

// catalogue returns the shop of the demo: what it buys, prints and presses, with the
// artworks of these clients.
// Prices are invented; settings follow the usual ranges of the trade (common
// practice, no source: the supplier's sheet always wins).
func catalogue(clients ...trade) programme.Shop {
	shop := programme.Shop{
		Name: "Gannet Lane Pressroom", Currency: "USD", TimeZone: "America/New_York",
		Units: programme.Inches, DateStyle: programme.MonthFirst,
		Owner: programme.Contact{Name: "Odalys Fenwarden", Email: "odalys@gannetlane.example"},
		Managers: []programme.Manager{
			{Code: "bram", Contact: programme.Contact{Name: "Bram Tollesby", Email: "bram@gannetlane.example"}},
			{Code: "noor", Contact: programme.Contact{Name: "Noor Haldane", Email: "noor@gannetlane.example"}},
		},
		ReviewDays: 7, PressDays: 3, DeliveryDays: 1,
		Press:     programme.Press{PiecesPerHour: 55, CostPerHour: 3200},
		Suppliers: suppliers(), Garments: garments(), Kinds: transferKinds(),
		SizeMix: sizeMix(), Baselines: programme.DefaultBaselines(), Labels: labels(),
		Keeping: programme.UsualKeeping(), Ordering: programme.UsualOrdering, Missing: programme.UsualMissing(),
		WorthPulling: programme.UsualWorthPulling,
		Terms:        programme.Terms{Address: "4 Gannet Lane, Tern Harbour", Payment: "30 days net"},
	}
	for i := range clients {
		shop.Artworks = append(shop.Artworks, clients[i].artworks...)
	}
	return shop
}

// sizeMix returns the built-in mix of tops with its largest size folded into the
// largest this shop stocks, and a mix of waists of our own invention.
func sizeMix() map[string][]programme.SizeShare {
	tops := programme.DefaultSizeMix()
	last := len(tops) - 1
	tops[last-1].Share += tops[last].Share
	return map[string][]programme.SizeShare{
		"top": tops[:last],
		"bottom": {{Size: "28", Share: 6}, {Size: "30", Share: 16}, {Size: "32", Share: 25}, {Size: "34", Share: 23},
			{Size: "36", Share: 16}, {Size: "38", Share: 9}, {Size: "40", Share: 5}},
	}
}

func suppliers() []programme.Supplier {
	return []programme.Supplier{
		{Code: "blanks", Name: "Two Rivers Blanks", Email: "orders@tworivers.example", LeadDays: 3,
			FreeFreightFrom: 20000, Freight: 1450},
		{Code: "workwear", Name: "Hollin Workwear Stores", Email: "desk@hollin.example", LeadDays: 6,
			FreeFreightFrom: 25000, Freight: 1900, MinimumOrder: 7500},
		{Code: "screens", Name: "Papermoon Transfers", Email: "art@papermoon.example", LeadDays: 7, Freight: 1200,
			MinimumOrder: 4000},
		{Code: "film", Name: "Longroll Film Print", Email: "hello@longroll.example", LeadDays: 4,
			FreeFreightFrom: 10000, Freight: 900},
	}
}

// sizes builds a run of sizes: up costs are added from 2XL on, as blanks are priced.
func sizes(base programme.Money, codes ...string) []programme.GarmentSize {
	extra := map[string]programme.Money{"2XL": 200, "3XL": 300, "4XL": 400}
	run := make([]programme.GarmentSize, len(codes))
	for i, code := range codes {
		run[i] = programme.GarmentSize{Code: code, Cost: base + extra[code]}
	}
	return run
}

func tops(base programme.Money) []programme.GarmentSize {
	return sizes(base, "XS", "S", "M", "L", "XL", "2XL", "3XL")
}

func chest(from string, drop programme.Length, words string) []programme.Placement {
	return []programme.Placement{
		{Place: "left-chest", From: from, Drop: drop, Words: words},
		{Place: "full-back", From: "the collar seam", Drop: 4 * programme.Inch,
			Words: "centred between the shoulder blades"},
	}
}

func garments() []programme.Garment {
	const neck = "the shoulder seam at the neck"
	tee := chest("the collar seam", 3*programme.Inch+programme.Inch/2, "its middle 5 in from the middle line")
	polo := chest(neck, 7*programme.Inch+programme.Inch/2, "clear of the placket by 1 in")
	shirt := chest(neck, 7*programme.Inch+programme.Inch/2, "clear of buttons and pocket by 1 in")
	hoodie := chest(neck, 6*programme.Inch+programme.Inch/2, "clear of the drawcord by 1 in")
	one := func(cost programme.Money) []programme.GarmentSize { return sizes(cost, "one") }
	return []programme.Garment{
		{Code: "tee", Name: "Ring-spun cotton tee", FabricClass: "cotton-tee-ringspun", SizeFamily: "top",
			Supplier: "blanks", Colours: []string{"black", "navy", "oatmeal"}, Sizes: tops(390), Pack: 1,
			Breaks: []programme.CostBreak{{From: 72, Percent: 8}}, WearsPerWash: 1, Placements: tee},
		{Code: "polo", Name: "Polyester/cotton polo", FabricClass: "blend-polo", SizeFamily: "top", Supplier: "blanks",
			Colours: []string{"navy", "burgundy", "white"}, Sizes: tops(940), Pack: 1,
			Breaks: []programme.CostBreak{{From: 36, Percent: 6}}, WearsPerWash: 1, Placements: polo},
		{Code: "cool-polo", Name: "Performance polyester polo", FabricClass: "performance-polyester", SizeFamily: "top",
			Supplier: "blanks", Colours: []string{"moss", "grey"}, Sizes: tops(1180), Pack: 1, WearsPerWash: 1,
			Placements: polo},
		{Code: "work-shirt", Name: "Woven work shirt 65/35", FabricClass: "blend-work-shirt", SizeFamily: "top",
			Supplier: "workwear", Colours: []string{"charcoal", "white"}, Sizes: tops(1650), Pack: 1, WearsPerWash: 1,
			Placements: shirt},
		{Code: "tunic", Name: "Care tunic 65/35", FabricClass: "blend-work-shirt", SizeFamily: "top",
			Supplier: "workwear", Colours: []string{"teal", "white"}, Sizes: tops(1490), Pack: 1, WearsPerWash: 1,
			Placements: shirt},
		{Code: "work-trousers", Name: "Work trousers 65/35", FabricClass: "blend-work-shirt", SizeFamily: "bottom",
			Supplier: "workwear", Colours: []string{"black"}, Sizes: sizes(1890, "28", "30", "32", "34", "36", "38",
				"40"), Pack: 1, WearsPerWash: 2, Placements: []programme.Placement{{Place: "hip",
				From: "the opening of the right pocket", Drop: programme.Inch, Words: "clear of the seam"}}},
		{Code: "hoodie", Name: "Hooded sweatshirt", FabricClass: "fleece", SizeFamily: "top", Supplier: "blanks",
			Colours: []string{"black", "forest"}, Sizes: tops(1720), Pack: 1,
			Breaks: []programme.CostBreak{{From: 24, Percent: 7}}, WearsPerWash: 3, Placements: hoodie},
		{Code: "apron", Name: "Bib apron, twill", FabricClass: "apron-twill", SizeFamily: "one", Supplier: "blanks",
			Colours: []string{"black", "oatmeal", "white"}, Sizes: one(760), Pack: 6, WearsPerWash: 1,
			Placements: []programme.Placement{{Place: "bib", From: "the top edge of the bib",
				Drop: 3*programme.Inch + programme.Inch/2, Words: "centred"}}},
		{Code: "cap", Name: "Six-panel cap", FabricClass: "cap", SizeFamily: "one", Supplier: "blanks",
			Colours: []string{"black", "forest"}, Sizes: one(520), Pack: 12, WearsPerWash: 5,
			Placements: []programme.Placement{{Place: "cap-front", From: "the visor seam", Drop: programme.Inch / 2,
				Words: "centred on the front seam"}}},
		{Code: "vest", Name: "High-visibility vest", FabricClass: "high-visibility", SizeFamily: "top",
			Supplier: "workwear", Colours: []string{"yellow"}, Sizes: tops(1240), Pack: 1, WearsPerWash: 4,
			LabelWashes: 25, Protective: programme.HighVisibility,
			Placements: []programme.Placement{{Place: "full-back",
				Words: "in the free area between the tapes only; never on or over a tape"}}},
	}
}

func transferKinds() []programme.TransferKind {
	quarter := programme.Inch / 4
	return []programme.TransferKind{
		{
			Code: "screen", Name: "Screen-printed, hot peel", Decoration: "plastisol", Process: programme.ScreenPrinted,
			Printer: "screens",
			Sheets: []programme.SheetSize{{Code: "13x19", Width: 13 * programme.Inch, Height: 19 * programme.Inch},
				{Code: "12x18", Width: 12 * programme.Inch, Height: 18 * programme.Inch}},
			Gutter: quarter, Margin: quarter, Cut: programme.Scissors,
			Prices: []programme.PriceBreak{{From: 1, Price: 640}, {From: 10, Price: 410}, {From: 25, Price: 300},
				{From: 50, Price: 235}, {From: 100, Price: 190}},
			SetUp: 1500, SetUpPerInk: 800, OverWorth: 0.5, MaxOversMonths: 9, MinimumOrder: 4000, ShelfDays: 540,
			Spoilage: 0.02, FitForIndustrial: true,
			Settings: programme.PressSettings{Temperature: 185, DwellSeconds: 9, Pressure: "medium-firm", Peel: "hot",
				PrePressTime: 4, Notes: "one even motion, at once"},
		},
		{
			Code: "film", Name: "Digital film, 22 in roll", Decoration: "direct-to-film", Process: programme.Digital,
			Printer: "film",
			Sheets: []programme.SheetSize{{Code: "roll-22", Width: 22 * programme.Inch, Height: 240 * programme.Inch,
				Roll: true}},
			Gutter: quarter, Margin: quarter, Cut: programme.Scissors,
			Prices:    []programme.PriceBreak{{From: 0, Price: 1650}, {From: 5, Price: 1380}, {From: 15, Price: 1150}},
			OverWorth: 0.3, MinimumOrder: 1500, ShelfDays: 270, Spoilage: 0.03,
			Settings: programme.PressSettings{Temperature: 150, DwellSeconds: 12, Pressure: "medium", Peel: "warm",
				PrePressTime: 4, RePressTime: 8, CoverSheet: true},
		},
	}
}

// labels returns a page of thirty bag tags, ten rows of three, on letter paper.
func labels() programme.LabelSheet {
	in := func(x float64) programme.Length { return programme.Length(x * float64(programme.Inch)) }
	return programme.LabelSheet{
		PageWidth: in(8.5), PageHeight: in(11), Columns: 3, Rows: 10, Width: in(2.625), Height: in(1),
		Left: in(0.1875), Top: in(0.5), PitchX: in(2.75), PitchY: in(1),
	}
}
