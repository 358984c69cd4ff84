package simulate

import "github.com/kitmuster/kitmuster/programme"

// trade is a client of the demo with what only the simulator knows of it.
type trade struct {
	client    programme.Client
	artworks  []programme.Artwork
	roleShare []float64 // of the headcount, in the order of the client's roles
	sites     []string
	heads     int
	recorded  float64 // share of endings that are written down when they happen
	shelf     float64 // weeks of need lying finished on the shelf at the end
	kept      bool    // somebody looks after the shelf: no size is bare, and nobody waits for what lies there
	older     bool    // a programme that began before the records do
}

func kit(garment, colour string, each int, wears float64, decorations ...programme.Decoration) programme.KitLine {
	return programme.KitLine{Garment: garment, Colour: colour, Each: each, WearsAWeek: wears, Decorations: decorations}
}

func art(artwork, place string) programme.Decoration {
	return programme.Decoration{Artwork: artwork, Place: place}
}

func screenArt(code, client, name string, w, h float64, inks int, set string) programme.Artwork {
	return programme.Artwork{Code: code, Client: client, Name: name, Kind: "screen", Width: inches(w),
		Height: inches(h), Turn: true, Inks: inks, InkSet: set}
}

func filmArt(code, client, name string, w, h float64) programme.Artwork {
	return programme.Artwork{Code: code, Client: client, Name: name, Kind: "film", Width: inches(w),
		Height: inches(h), Turn: true}
}

func inches(x float64) programme.Length { return programme.Length(x * float64(programme.Inch)) }

func price(garment string, amount programme.Money) programme.Price {
	return programme.Price{Garment: garment, Price: amount}
}

// bySize adds the upcharge that large sizes carry.
func bySize(garment string, amount programme.Money) []programme.Price {
	return []programme.Price{
		price(garment, amount),
		{Garment: garment, Size: "2XL", Price: amount + 250},
		{Garment: garment, Size: "3XL", Price: amount + 375},
	}
}

func prices(lists ...[]programme.Price) []programme.Price {
	var all []programme.Price
	for _, l := range lists {
		all = append(all, l...)
	}
	return all
}

// Busy months follow the seasons named for each trade (months from memory).
var (
	foodMonths   = [12]float64{0.7, 0.7, 0.9, 1.3, 1.5, 1.5, 1.2, 0.9, 0.8, 0.8, 0.9, 0.8}
	groundMonths = [12]float64{0.4, 0.7, 2.2, 2.2, 1.6, 1.0, 0.8, 0.8, 0.8, 0.7, 0.5, 0.3}
	schoolMonths = [12]float64{1.0, 0.7, 0.6, 0.6, 0.5, 0.3, 0.6, 2.8, 2.6, 0.9, 0.8, 0.6}
)

func trades() []trade {
	return []trade{bakery(), landscaping(), garage(), clinic(), hotel(), schoolKitchen(), removals()}
}

func bakery() trade {
	c := programme.Client{
		Code: "pomarrow", Name: "Pomarrow Bakery-Café", Trade: "bakery-café",
		Customer: programme.Contact{Name: "Saskia Pennyfold", Email: "saskia@pomarrow.example"}, Manager: "noor",
		Work: programme.Work{Place: programme.Fixed, Setting: programme.Indoor, Duty: programme.Medium,
			DaysPerWeek: 6, Food: true},
		Laundering:      programme.Laundering{Regime: "home-hot"},
		Intake:          programme.Intake{PerYear: 14, Months: foodMonths, Strength: 2},
		Leavers:         programme.Leavers{PerYear: 0.65, Strength: 20},
		CountEveryWeeks: 13, ForgetAfterDays: 180, ShowPrices: true,
		Prices: prices(bySize("tee", 1450), []programme.Price{price("apron", 1700), price("cap", 1400)}),
		Roles: []programme.Role{
			{Code: "counter", Name: "Counter", Kit: []programme.KitLine{
				kit("tee", "oatmeal", 4, 4.5, art("pomarrow-wheat", "left-chest")),
				kit("apron", "oatmeal", 3, 4.5, art("pomarrow-bib", "bib")),
				kit("cap", "black", 1, 4, art("pomarrow-cap", "cap-front"))}},
			{Code: "baker", Name: "Baker", Kit: []programme.KitLine{
				kit("tee", "oatmeal", 5, 5, art("pomarrow-wheat", "left-chest")),
				kit("apron", "oatmeal", 5, 5, art("pomarrow-bib", "bib"))}},
		},
	}
	return trade{client: c, roleShare: []float64{0.65, 0.35}, sites: []string{"Mill Yard", "Ferry Stairs"}, heads: 22,
		recorded: 0.9, shelf: 3.4, kept: true,
		artworks: []programme.Artwork{
			screenArt("pomarrow-wheat", c.Code, "Wheat ear, one ink", 3.5, 3.25, 1, "brown"),
			screenArt("pomarrow-bib", c.Code, "Wheat and lettering", 7, 4.5, 1, "brown"),
			filmArt("pomarrow-cap", c.Code, "Wheat roundel", 2.25, 2.25),
		}}
}

func landscaping() trade {
	c := programme.Client{
		Code: "wrenmoor", Name: "Wrenmoor Grounds", Trade: "landscaping crew",
		Customer: programme.Contact{Name: "Rufus Gorsewick", Email: "yard@wrenmoor.example"}, Manager: "bram",
		Work: programme.Work{Place: programme.Mobile, Setting: programme.Outdoor, Duty: programme.Heavy,
			StrongSun: true, DaysPerWeek: 5},
		Laundering:      programme.Laundering{Regime: "home-low"},
		Intake:          programme.Intake{PerYear: 16, Months: groundMonths, Strength: 2},
		Leavers:         programme.Leavers{PerYear: 0.55, Strength: 20},
		CountEveryWeeks: 13, ForgetAfterDays: 180, ShowPrices: true,
		Prices: prices(bySize("cool-polo", 2450), bySize("hoodie", 3300), bySize("vest", 2600),
			[]programme.Price{price("cap", 1500)}),
		Roles: []programme.Role{
			{Code: "crew", Name: "Crew", Kit: []programme.KitLine{
				kit("cool-polo", "moss", 5, 5, art("wrenmoor-chest", "left-chest"), art("wrenmoor-back", "full-back")),
				kit("hoodie", "forest", 2, 3, art("wrenmoor-chest", "left-chest")),
				kit("cap", "forest", 1, 4, art("wrenmoor-cap", "cap-front")),
				kit("vest", "yellow", 2, 3, art("wrenmoor-vest", "full-back"))}},
			{Code: "foreman", Name: "Foreman", Kit: []programme.KitLine{
				kit("cool-polo", "moss", 5, 5, art("wrenmoor-chest", "left-chest")),
				kit("hoodie", "forest", 2, 3, art("wrenmoor-chest", "left-chest")),
				kit("vest", "yellow", 2, 4, art("wrenmoor-vest", "full-back"))}},
		},
	}
	return trade{client: c, roleShare: []float64{0.8, 0.2}, sites: []string{"Yard"}, heads: 28,
		recorded: 0.9, shelf: 3.8,
		artworks: []programme.Artwork{
			filmArt("wrenmoor-chest", c.Code, "Wren, small", 3.5, 2.75),
			filmArt("wrenmoor-back", c.Code, "Wren and lettering", 11, 6),
			filmArt("wrenmoor-cap", c.Code, "Wren, cap", 4, 2),
			filmArt("wrenmoor-vest", c.Code, "Lettering between the tapes", 8, 2.5),
		}}
}

func garage() trade {
	c := programme.Client{
		Code: "quillbank", Name: "Quillbank Garage", Trade: "vehicle repair",
		Customer: programme.Contact{Name: "Edda Stonepath", Email: "office@quillbank.example"}, Manager: "bram",
		Work: programme.Work{Place: programme.Fixed, Setting: programme.Indoor, Duty: programme.Dirty,
			DaysPerWeek: 5},
		Laundering: programme.Laundering{Regime: "industrial"},
		Intake:     programme.Intake{PerYear: 2, Strength: 2}, Leavers: programme.Leavers{PerYear: 0.25, Strength: 20},
		ForgetAfterDays: 365, ShowPrices: true,
		Prices: prices(bySize("work-shirt", 3100), []programme.Price{price("work-trousers", 3400)}),
		Roles: []programme.Role{
			{Code: "mechanic", Name: "Mechanic", Kit: []programme.KitLine{
				kit("work-shirt", "charcoal", 6, 5, art("quillbank-chest", "left-chest"),
					art("quillbank-back", "full-back")), kit("work-trousers", "black", 4, 5,
					art("quillbank-hip", "hip"))}},
			{Code: "desk", Name: "Front desk",
				Kit: []programme.KitLine{kit("work-shirt", "white", 4, 5, art("quillbank-chest", "left-chest"))}},
		},
	}
	return trade{client: c, roleShare: []float64{0.8, 0.2}, sites: []string{"Quillbank"}, heads: 9, recorded: 1,
		shelf: 1.5, kept: true, older: true,
		artworks: []programme.Artwork{
			screenArt("quillbank-chest", c.Code, "Quill and spanner", 3.25, 3.25, 2, "white+red"),
			screenArt("quillbank-back", c.Code, "Quillbank lettering", 11, 4, 2, "white+red"),
			screenArt("quillbank-hip", c.Code, "Quill, small", 2, 1.5, 1, "white"),
		}}
}

func clinic() trade {
	c := programme.Client{
		Code: "saltmarrow", Name: "Saltmarrow Clinic", Trade: "outpatient clinic",
		Customer: programme.Contact{Name: "Noémie Larkfield", Email: "wardrobe@saltmarrow.example"}, Manager: "noor",
		Work: programme.Work{Place: programme.Fixed, Setting: programme.Indoor, Duty: programme.Medium,
			DaysPerWeek: 5},
		Laundering: programme.Laundering{Regime: "industrial", Chlorine: true},
		Intake:     programme.Intake{PerYear: 14, Strength: 2}, Leavers: programme.Leavers{PerYear: 0.28, Strength: 30},
		CountEveryWeeks: 13, ForgetAfterDays: 180, ShowPrices: true,
		Prices: prices(bySize("tunic", 2900), bySize("polo", 2200)),
		Roles: []programme.Role{
			{Code: "nurse", Name: "Nursing", Kit: []programme.KitLine{kit("tunic", "teal", 6, 4.5,
				art("saltmarrow-chest", "left-chest"))}},
			{Code: "therapist", Name: "Therapy",
				Kit: []programme.KitLine{kit("polo", "white", 5, 4.5, art("saltmarrow-chest", "left-chest"))}},
			{Code: "reception", Name: "Reception",
				Kit: []programme.KitLine{kit("polo", "navy", 4, 4.5, art("saltmarrow-light", "left-chest"))}},
		},
	}
	return trade{client: c, roleShare: []float64{0.55, 0.25, 0.2}, sites: []string{"Quay House", "Upper Road"},
		heads: 48, recorded: 0.9, shelf: 14, kept: true,
		artworks: []programme.Artwork{
			screenArt("saltmarrow-chest", c.Code, "Samphire sprig", 3.5, 2.5, 2, "green+grey"),
			screenArt("saltmarrow-light", c.Code, "Samphire sprig, light", 3.5, 2.5, 1, "white"),
		}}
}

func hotel() trade {
	c := programme.Client{
		Code: "aldermere", Name: "Hotel Aldermere Quay", Trade: "hotel",
		Customer: programme.Contact{Name: "Vasco Rushmere", Email: "linen@aldermere.example"}, Manager: "noor",
		Work: programme.Work{Place: programme.Fixed, Setting: programme.Indoor, Duty: programme.Medium,
			DaysPerWeek: 7},
		Laundering:      programme.Laundering{Regime: "on-premises"},
		Intake:          programme.Intake{PerYear: 80, Months: foodMonths, Strength: 2},
		Leavers:         programme.Leavers{PerYear: 0.7, Strength: 40},
		CountEveryWeeks: 13, ForgetAfterDays: 90, ShowPrices: true,
		Prices: prices(bySize("polo", 2150), bySize("work-shirt", 2900), bySize("tee", 1400),
			[]programme.Price{price("apron", 1650)}),
		Roles: []programme.Role{
			{Code: "housekeeping", Name: "Housekeeping",
				Kit: []programme.KitLine{kit("polo", "burgundy", 5, 5, art("aldermere-chest", "left-chest")),
					kit("apron", "black", 2, 3, art("aldermere-bib", "bib"))}},
			{Code: "restaurant", Name: "Restaurant",
				Kit: []programme.KitLine{kit("work-shirt", "white", 5, 5, art("aldermere-chest", "left-chest")),
					kit("apron", "black", 4, 5, art("aldermere-bib", "bib"))}},
			{Code: "front", Name: "Front desk",
				Kit: []programme.KitLine{kit("work-shirt", "white", 5, 5, art("aldermere-chest", "left-chest"))}},
			{Code: "upkeep", Name: "Upkeep", Kit: []programme.KitLine{kit("tee", "navy", 6, 5,
				art("aldermere-chest", "left-chest"), art("aldermere-back", "full-back"))}},
		},
	}
	return trade{client: c, roleShare: []float64{0.42, 0.3, 0.16, 0.12}, sites: []string{"Main house", "Boathouse"},
		heads: 120, recorded: 0.9, shelf: 2.5, kept: true,
		artworks: []programme.Artwork{
			screenArt("aldermere-chest", c.Code, "Heron", 3, 3.5, 1, "gold"),
			screenArt("aldermere-bib", c.Code, "Heron and lettering", 6.5, 4, 1, "gold"),
			screenArt("aldermere-back", c.Code, "Aldermere lettering", 10, 3, 1, "gold"),
		}}
}

func schoolKitchen() trade {
	c := programme.Client{
		Code: "larkspindle", Name: "Larkspindle School Kitchen", Trade: "school kitchen",
		Customer: programme.Contact{Name: "Wilma Netherby", Email: "kitchen@larkspindle.example"}, Manager: "bram",
		Work: programme.Work{Place: programme.Fixed, Setting: programme.Indoor, Duty: programme.Dirty,
			DaysPerWeek: 5, Food: true},
		Laundering:      programme.Laundering{Regime: "home-hot"},
		Intake:          programme.Intake{PerYear: 2, Months: schoolMonths, Strength: 2},
		Leavers:         programme.Leavers{PerYear: 0.35, Strength: 10},
		ForgetAfterDays: 180, ShowPrices: true,
		Prices: prices(bySize("tee", 1500), []programme.Price{price("apron", 1750)}),
		Roles: []programme.Role{{Code: "kitchen", Name: "Kitchen", Kit: []programme.KitLine{
			kit("tee", "black", 5, 5, art("larkspindle-chest", "left-chest")),
			kit("apron", "white", 5, 5, art("larkspindle-bib", "bib"))}}},
	}
	return trade{client: c, roleShare: []float64{1}, sites: []string{"Kitchen"}, heads: 5, recorded: 1,
		shelf: 14, kept: true,
		artworks: []programme.Artwork{filmArt("larkspindle-chest", c.Code, "Lark and spindle", 3.5, 3),
			filmArt("larkspindle-bib", c.Code, "Lark, bib", 6, 5)}}
}

func removals() trade {
	c := programme.Client{
		Code: "thistledown", Name: "Thistledown Removals", Trade: "removals",
		Customer: programme.Contact{Name: "Hollis Brackenholt", Email: "depot@thistledown.example"}, Manager: "bram",
		Work: programme.Work{Place: programme.Mobile, Setting: programme.Outdoor, Duty: programme.Heavy,
			DaysPerWeek: 5},
		Laundering: programme.Laundering{Regime: "home-low", Softener: true},
		Intake:     programme.Intake{PerYear: 18, Strength: 2}, Leavers: programme.Leavers{PerYear: 0.5, Strength: 20},
		ForgetAfterDays: 180, ShowPrices: true,
		Prices: prices(bySize("tee", 1600), bySize("hoodie", 3250), []programme.Price{price("work-trousers", 3300)}),
		Roles: []programme.Role{{Code: "mover", Name: "Mover", Kit: []programme.KitLine{
			kit("tee", "navy", 6, 5, art("thistledown-chest", "left-chest"), art("thistledown-back", "full-back")),
			kit("hoodie", "black", 2, 3, art("thistledown-chest", "left-chest")),
			kit("work-trousers", "black", 3, 5, art("thistledown-hip", "hip"))}}},
	}
	return trade{client: c, roleShare: []float64{1}, sites: []string{"North depot", "South depot"}, heads: 36,
		recorded: 1, shelf: 12, kept: true, older: true,
		artworks: []programme.Artwork{
			screenArt("thistledown-chest", c.Code, "Thistle", 3.5, 3.5, 2, "white+violet"),
			screenArt("thistledown-back", c.Code, "Thistle and lettering", 11, 7, 2, "white+violet"),
			filmArt("thistledown-hip", c.Code, "Thistle, small", 2, 2),
		}}
}
