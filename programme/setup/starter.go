package setup

import "github.com/kitmuster/kitmuster/programme"

// Start holds what a new shop says about itself.
type Start struct {
	Name      string
	Currency  string
	TimeZone  string
	Units     programme.Units
	DateStyle programme.DateStyle
	Owner     programme.Contact
	// Ordering is the cost of one order, and Unused the chance in a year that
	// decorated goods are never used.
	Ordering programme.Money
	Unused   float64
}

// Starter returns a shop to begin with: a catalogue of ten usual blanks and four
// kinds of transfer, two of which are pressed below the heat at which polyester bleeds.
// Its prices and lead times are examples to be overwritten; its press settings lie inside
// the usual ranges of the trade (common practice, no source: the supplier's sheet always wins).
func Starter(s Start) *programme.Shop {
	shop := freshShop()
	shop.Name, shop.Currency, shop.TimeZone, shop.Owner = s.Name, s.Currency, s.TimeZone, s.Owner
	shop.Units, shop.DateStyle = s.Units, s.DateStyle
	shop.Ordering, shop.Keeping.LossPerYear = s.Ordering, s.Unused
	shop.Press.CostPerHour = 3000
	shop.Suppliers = []programme.Supplier{
		{Code: "blanks", Name: "Your supplier of blanks", LeadDays: 3, FreeFreightFrom: 20000, Freight: 1500},
		{Code: "screens", Name: "Your printer of screen-printed transfers", LeadDays: 7, Freight: 1200},
		{Code: "film", Name: "Your printer of digital transfers", LeadDays: 4, Freight: 900},
	}
	if s.Units.Metric() {
		shop.Labels = a4Labels()
	}
	shop.Garments = starterGarments(s.Units.Metric())
	shop.Kinds = starterKinds(s.Units.Metric())
	return &shop
}

// a4Labels returns a page of A4 (ISO 216) with 2 by 5 labels of 99.1 by 57 mm, as stationers
// sell them where paper is metric (common practice, no source).
func a4Labels() programme.LabelSheet {
	const mm = programme.Millimetre
	return programme.LabelSheet{
		PageWidth: 210 * mm, PageHeight: 297 * mm, Columns: 2, Rows: 5, Width: 991 * mm / 10, Height: 57 * mm,
		Left: 465 * mm / 100, Top: 6 * mm, PitchX: 1016 * mm / 10, PitchY: 57 * mm,
	}
}

// starterMeasures are the places of prints, in whole numbers of what the shop's rulers show.
type starterMeasures struct {
	collar, neck, zip, back, bib, visor programme.Length
	aside, clear                        string
}

var (
	inInches = starterMeasures{3*programme.Inch + programme.Inch/2, 8 * programme.Inch,
		6*programme.Inch + programme.Inch/2, 4 * programme.Inch, 3*programme.Inch + programme.Inch/2,
		programme.Inch / 2, "5 in", "1 in"}
	inMetres = starterMeasures{9 * programme.Centimetre, 20 * programme.Centimetre, 165 * programme.Millimetre,
		10 * programme.Centimetre, 9 * programme.Centimetre, 12 * programme.Millimetre, "13 cm", "2.5 cm"}
)

func starterGarments(metric bool) []programme.Garment {
	const neck = "the shoulder seam at the neck"
	at := inInches
	if metric {
		at = inMetres
	}
	tee := starterTop("the collar seam", at.collar, at.back, "its middle "+at.aside+" from the middle line")
	polo := starterTop(neck, at.neck, at.back, "clear of the placket by "+at.clear)
	shirt := starterTop(neck, at.neck, at.back, "clear of buttons and pocket by "+at.clear)
	zip := starterTop(neck, at.zip, at.back, "clear of zip and cord")
	return []programme.Garment{
		starter("tee", "Cotton tee", "cotton-tee-ringspun", "top", []string{"black", "navy", "white"}, 380, tee),
		starter("polo", "Polyester/cotton polo", "blend-polo", "top", []string{"black", "navy", "white"}, 890, polo),
		starter("cool-polo", "Performance polo", "performance-polyester", "top", []string{"grey", "navy"}, 1150, polo),
		starter("work-shirt", "Woven work shirt 65/35", "blend-work-shirt", "top", []string{"charcoal", "white"},
			1650, shirt),
		starter("hoodie", "Hooded sweatshirt", "fleece", "top", []string{"black", "navy"}, 1590, zip),
		starter("shell", "Rain shell", "outer-shell", "top", []string{"black"}, 2450, zip),
		starter("trousers", "Work trousers 65/35", "blend-work-shirt", "bottom", []string{"black"}, 1890, nil),
		starter("apron", "Bib apron, twill", "apron-twill", "one", []string{"black", "white"}, 720,
			[]programme.Placement{{Place: "bib", From: "the top edge of the bib", Drop: at.bib, Words: "centred"}}),
		starter("cap", "Six-panel cap", "cap", "one", []string{"black", "navy"}, 420,
			[]programme.Placement{{Place: "cap-front", From: "the visor seam", Drop: at.visor,
				Words: "centred on the front seam"}}),
		starterVest(),
	}
}

// starterVest has no placement on purpose: its label and its maker say whether and where a
// vest may be printed.
func starterVest() programme.Garment {
	g := starter("vest", "High-visibility vest", "high-visibility", "top", []string{"yellow"}, 950, nil)
	g.Protective, g.LabelWashes = programme.HighVisibility, 25
	// Worn over other clothing, it is washed about once a working week: 25 washes are then
	// half a year of rough use, as a seller's care page has it (weak, no test behind it).
	g.WearsPerWash = 5
	return g
}

func starterTop(from string, drop, back programme.Length, words string) []programme.Placement {
	return []programme.Placement{
		{Place: "left-chest", From: from, Drop: drop, Words: words},
		{Place: "full-back", From: "the collar seam", Drop: back, Words: "centred between the shoulder blades"},
	}
}

// starter returns one garment; large tops cost more, as blanks are priced.
func starter(code, name, fabric, family string, colours []string, cost programme.Money,
	places []programme.Placement) programme.Garment {
	run := map[string][]string{
		"top":    {"XS", "S", "M", "L", "XL", "2XL", "3XL", "4XL"},
		"bottom": {"28", "30", "32", "34", "36", "38", "40", "42"},
		"one":    {"one"},
	}[family]
	extra := map[string]programme.Money{"2XL": 200, "3XL": 300, "4XL": 400}
	g := programme.Garment{Code: code, Name: name, FabricClass: fabric, SizeFamily: family, Supplier: "blanks",
		Colours: colours, Pack: 1, Placements: places}
	for _, size := range run {
		g.Sizes = append(g.Sizes, programme.GarmentSize{Code: size, Cost: cost + extra[size]})
	}
	return g
}

func starterKinds(metric bool) []programme.TransferKind {
	screen, film := freshKind(), freshKind()
	screen.Code, screen.Name, screen.Decoration, screen.Process, screen.Printer = "screen",
		"Screen-printed, 13 x 19 in", "plastisol", programme.ScreenPrinted, "screens"
	screen.Sheets = []programme.SheetSize{{Code: "13x19", Width: 13 * programme.Inch, Height: 19 * programme.Inch}}
	screen.Prices = []programme.PriceBreak{{From: 1, Price: 900}, {From: 10, Price: 520}, {From: 25, Price: 360},
		{From: 50, Price: 280}, {From: 100, Price: 220}}
	screen.SetUpPerInk, screen.ShelfDays, screen.OverWorth, screen.MaxOversMonths = 1500, 540, 0.5, 6
	screen.Settings = programme.PressSettings{Temperature: 185, DwellSeconds: 9, Pressure: "medium-firm", Peel: "hot",
		PrePressTime: 4}
	film.Code, film.Name, film.Decoration, film.Process, film.Printer = "film", "Digital film, 22 in roll",
		"direct-to-film", programme.Digital, "film"
	film.Sheets = []programme.SheetSize{{Code: "roll-22", Width: 22 * programme.Inch, Height: 240 * programme.Inch,
		Roll: true}}
	if metric {
		screen.Name, film.Name = "Screen-printed, 33 x 48 cm", "Digital film, 56 cm roll"
		screen.Sheets = []programme.SheetSize{{Code: "33x48", Width: 330 * programme.Millimetre,
			Height: 480 * programme.Millimetre}}
		film.Sheets = []programme.SheetSize{{Code: "roll-56", Width: 560 * programme.Millimetre,
			Height: 6000 * programme.Millimetre, Roll: true}}
	}
	// Low-bleed inks are pressed at 132 to 160 °C for 6 to 12 seconds (common practice, no source).
	mild := screen
	mild.Code, mild.Name = "screen-low", screen.Name+", low heat for polyester"
	mild.Prices = []programme.PriceBreak{{From: 1, Price: 950}, {From: 10, Price: 560}, {From: 25, Price: 390},
		{From: 50, Price: 300}, {From: 100, Price: 240}}
	mild.Settings = programme.PressSettings{Temperature: 135, DwellSeconds: 10, Pressure: "medium", Peel: "cold",
		PrePressTime: 4}
	film.Prices = []programme.PriceBreak{{From: 0, Price: 1600}, {From: 5, Price: 1350}, {From: 15, Price: 1100}}
	film.ShelfDays, film.Spoilage = 270, 0.03
	cool := film
	film.Settings = programme.PressSettings{Temperature: 150, DwellSeconds: 12, Pressure: "medium", Peel: "warm",
		PrePressTime: 4, RePressTime: 8}
	cool.Code, cool.Name = "film-low", film.Name+", low heat for polyester"
	cool.Prices = []programme.PriceBreak{{From: 0, Price: 1750}, {From: 5, Price: 1500}, {From: 15, Price: 1250}}
	cool.Settings = programme.PressSettings{Temperature: 135, DwellSeconds: 10, Pressure: "light-medium", Peel: "cold",
		PrePressTime: 4}
	return []programme.TransferKind{screen, film, cool, mild}
}
