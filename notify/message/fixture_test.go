package message_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"

	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// A shop of our own invention with two clients due, one to come and one whose
// protective vests are held.

var monday = programme.NewDate(2026, 3, 2)

func aShop() *programme.Shop {
	sizes := []programme.GarmentSize{{Code: "S", Cost: 400}, {Code: "M", Cost: 400}, {Code: "L", Cost: 400},
		{Code: "XL", Cost: 400}, {Code: "2XL", Cost: 600}, {Code: "3XL", Cost: 700}}
	in := programme.Inch
	return &programme.Shop{
		Name: "Millbrook Press & Thread", Currency: "USD", TimeZone: "America/Chicago", Units: programme.Inches,
		DateStyle: programme.DayFirst,
		Owner:     programme.Contact{Name: "Ida Rowan", Email: "ida@millbrook.example"},
		Managers: []programme.Manager{{Code: "tom",
			Contact: programme.Contact{Name: "Tom Lark", Email: "tom@millbrook.example"}}},
		ReviewDays: 7, PressDays: 2, DeliveryDays: 1, Fonts: "no-fonts", // whatever the machine of the tests has
		Press: programme.Press{PiecesPerHour: 60, CostPerHour: 3000},
		Suppliers: []programme.Supplier{
			{Code: "cloth", Name: "Harbour Cloth Supply", Email: "orders@harbour.example", LeadDays: 3,
				FreeFreightFrom: 50000, Freight: 1500},
			{Code: "prints", Name: "Fern Street Transfers", Email: "print@fernstreet.example", LeadDays: 5},
		},
		Garments: []programme.Garment{
			{Code: "tee", Name: "Crew tee", FabricClass: "cotton-tee-ringspun", SizeFamily: "top", Supplier: "cloth",
				Colours: []string{"black", "sage"}, Sizes: sizes, Pack: 1, WearsPerWash: 1,
				Placements: []programme.Placement{{Place: "left-chest",
					Words: "top edge below the shoulder seam at the neck, centred between placket line and armhole",
					Drop:  4 * in}}},
			{Code: "apron", Name: "Bib apron", FabricClass: "apron-twill", SizeFamily: "one", Supplier: "cloth",
				Colours: []string{"black"}, Sizes: []programme.GarmentSize{{Code: "one", Cost: 900}}, Pack: 6,
				WearsPerWash: 1,
				Placements: []programme.Placement{{Place: "bib", Words: "centred, top edge below the upper hem",
					Drop: 3 * in}}},
			{Code: "vest", Name: "Road vest", FabricClass: "high-visibility", SizeFamily: "top", Supplier: "cloth",
				Colours: []string{"yellow"}, Sizes: sizes, Pack: 1, WearsPerWash: 1,
				Protective: programme.HighVisibility, LabelWashes: 25},
		},
		Kinds: []programme.TransferKind{
			{Code: "plastisol", Name: "Screen-printed, hot peel", Decoration: "plastisol",
				Process: programme.ScreenPrinted, Printer: "prints", Spoilage: 0.02,
				Settings: programme.PressSettings{Temperature: 185, DwellSeconds: 9, Pressure: "medium-firm",
					Peel: "hot", PrePressTime: 4}},
			{Code: "film", Name: "Digital film, cold peel", Decoration: "direct-to-film", Process: programme.Digital,
				Printer: "prints", Spoilage: 0.03,
				Settings: programme.PressSettings{Temperature: 155, DwellSeconds: 12, Pressure: "medium", Peel: "cold",
					PrePressTime: 4, RePressTime: 6, CoverSheet: true}},
		},
		Artworks: []programme.Artwork{
			{Code: "loaf", Client: "bakery", Name: "Loaf badge", Kind: "plastisol", Width: 3*in + in/2,
				Height: 3 * in, Inks: 2},
			{Code: "loaf-bib", Client: "bakery", Name: "Loaf wide", Kind: "film", Width: 7 * in, Height: 3 * in},
			{Code: "fern", Client: "garden", Name: "Fern badge", Kind: "plastisol", Width: 3 * in,
				Height: 3 * in, Inks: 2},
		},
		Labels: programme.LabelSheet{PageWidth: 8*in + in/2, PageHeight: 11 * in, Columns: 2, Rows: 5, Width: 4 * in,
			Height: 2 * in, Left: 4 * programme.Millimetre, Top: in / 2, PitchX: 4*in + in/5, PitchY: 2 * in},
	}
}

func bakery() *programme.Client {
	loaf := []programme.Decoration{{Artwork: "loaf", Place: "left-chest"}}
	bib := []programme.Decoration{{Artwork: "loaf-bib", Place: "bib"}}
	return &programme.Client{
		Code: "bakery", Name: "Copper Hearth Bakery", Trade: "bakery",
		Customer: programme.Contact{Name: "Nell Abara", Email: "nell@copperhearth.example"}, Manager: "tom",
		Work: programme.Work{Place: programme.Fixed, Setting: programme.Indoor, Duty: programme.Dirty, DaysPerWeek: 5,
			Food: true}, Laundering: programme.Laundering{Regime: "home-hot"},
		CoverWeeks: 8, FillRate: 0.95, CountEveryWeeks: 12, ShowPrices: true, ForgetAfterDays: 90,
		Prices: []programme.Price{{Garment: "tee", Price: 1400}, {Garment: "tee", Size: "2XL", Price: 1700},
			{Garment: "apron", Price: 2200}, {Garment: "vest", Price: 1900}},
		Roles: []programme.Role{{Code: "counter", Name: "Counter", Kit: []programme.KitLine{
			{Garment: "tee", Colour: "black", Each: 5, WearsAWeek: 5, Decorations: loaf},
			{Garment: "apron", Colour: "black", Each: 2, WearsAWeek: 5, Decorations: bib},
			{Garment: "vest", Colour: "yellow", Each: 1, WearsAWeek: 1},
		}}},
		Note:    "Pays late; do not extend terms.",
		Address: "Copper Hearth Bakery, 4 High Street, Millbrook",
		Sites:   []programme.Site{{Name: "Station", Address: "Platform 2, Millbrook Station"}},
		Contacts: []programme.SiteContact{{Contact: programme.Contact{Name: "Pia Sandoval",
			Email: "pia@copperhearth.example"}, Site: "Station"}},
	}
}

func garden() *programme.Client {
	fern := []programme.Decoration{{Artwork: "fern", Place: "left-chest"}}
	return &programme.Client{
		Code: "garden", Name: "Fernhill Garden Care",
		Customer: programme.Contact{Name: "Ola Brandt", Email: "ola@fernhill.example"}, Manager: "tom",
		CoverWeeks: 8, FillRate: 0.95,
		Prices: []programme.Price{{Garment: "tee", Price: 1600}},
		Roles: []programme.Role{{Code: "crew", Name: "Crew",
			Kit: []programme.KitLine{{Garment: "tee", Colour: "sage", Each: 5, WearsAWeek: 5, Decorations: fern}}}},
	}
}

func bakers() []programme.Person {
	return []programme.Person{
		{StaffID: "b1", Name: "Amara Osei", Role: "counter", Site: "High Street", Sizes: map[string]string{"top": "M"}},
		{StaffID: "b2", Name: "Bruno Keller", Role: "counter", Site: "High Street",
			Sizes: map[string]string{"top": "L"}},
		{StaffID: "b3", Name: "Chloé Dupont", Role: "counter", Site: "Station", Sizes: map[string]string{"top": "S"}},
		{StaffID: "b4", Name: "Дарья Иванова", Role: "counter", Site: "Station", Sizes: map[string]string{"top": "M"}},
		{StaffID: "b5", Name: "Eun-ji Park (박은지)", Role: "counter", Site: "Station",
			Sizes: map[string]string{"top": "2XL"}},
		{StaffID: "b6", Name: "Frank O’Neil", Role: "counter", Site: "Station", Sizes: map[string]string{"top": "L"}},
		{StaffID: "b7", Name: "Grace Lindqvist", Role: "counter", Site: "High Street",
			Sizes: map[string]string{"top": "M"}},
		{StaffID: "b8", Name: "Hamza Yıldız", Role: "counter", Site: "High Street",
			Sizes: map[string]string{"top": "M"}},
		{StaffID: "b9", Name: "Inês Ferreira", Role: "counter", Site: "Station", Sizes: map[string]string{"top": "L"}},
		{StaffID: "b10", Name: "Jo Marsh", Role: "counter", Site: "Station", Sizes: map[string]string{"top": "5XL"}},
		{StaffID: "b11", Name: "Kit Nobody-Asked", Role: "counter", Site: "Station"},
	}
}

// poissonPMF is the chance of 0, 1, 2... pieces.
func poissonPMF(mean float64) []float64 {
	out := make([]float64, int(mean+12*math.Sqrt(mean))+20)
	for j := range out {
		lg, _ := math.Lgamma(float64(j + 1))
		out[j] = math.Exp(float64(j)*math.Log(max(mean, 1e-300)) - mean - lg)
	}
	return out
}

func lineOf(k programme.SKU, perWeek float64, weeks int) demand.Line {
	mean := perWeek * float64(weeks)
	l := demand.Line{SKU: k, Distribution: demand.Distribution{Mean: mean, SD: math.Sqrt(mean), PMF: poissonPMF(mean)}}
	l.ByCause = programme.Causes{Endings: programme.Endings[float64]{Worn: 0.7 * mean, Print: 0.1 * mean,
		Mishap: 0.1 * mean}, Hires: 0.1 * mean}
	for range weeks {
		l.Weekly = append(l.Weekly, perWeek)
	}
	return l
}

// need is one line of a client: what it uses up a week and what there is.
type need struct {
	garment, colour, size string
	perWeek               float64
	onHand, onOrder, owed int
}

// stored reads a proposal that the arithmetic of reorder once made for this
// shop. It is kept as a file, so that the goldens here are about words alone.
func stored(name string) *reorder.Proposal {
	data, err := os.ReadFile(filepath.Join("testdata", "proposal-"+name+".json"))
	if err != nil {
		panic(err)
	}
	var p reorder.Proposal
	if err := json.Unmarshal(data, &p); err != nil {
		panic(err)
	}
	return &p
}

// ahead is a muster of 26 weeks with somewhat more spread than chance alone.
func ahead(client string, needs []need) *demand.Muster {
	m := &demand.Muster{Format: 1, Client: client, AsOf: monday, Weeks: 26}
	week := 0.0
	for _, n := range needs {
		l := lineOf(programme.SKU{Garment: n.garment, Colour: n.colour, Size: n.size}, n.perWeek, 26)
		l.OnHand, l.OnOrder, l.Owed = n.onHand, n.onOrder, n.owed
		m.Lines = append(m.Lines, l)
		week += n.perWeek
	}
	for w := range 26 {
		x := week * (1 + 0.1*math.Sin(float64(w)/4))
		m.Weekly = append(m.Weekly, programme.Causes{Endings: programme.Endings[float64]{Worn: 0.7 * x, Print: 0.1 * x,
			Mishap: 0.1 * x}, Hires: 0.1 * x})
		m.Total.Mean += x
	}
	m.Total.PMF = poissonPMF(m.Total.Mean)
	m.Total.SD = math.Sqrt(m.Total.Mean)
	return m
}

var (
	bakeryNeeds = []need{
		{"tee", "black", "S", 0.4, 3, 0, 0}, {"tee", "black", "M", 1.1, 2, 0, 0}, {"tee", "black", "L", 0.9, 0, 4, 1},
		{"tee", "black", "2XL", 0.2, 1, 0, 0},
		{"apron", "black", "one", 0.5, 1, 0, 0}, {"vest", "yellow", "L", 0.4, 0, 0, 0},
	}
	gardenNeeds = []need{{"tee", "sage", "M", 0.7, 1, 0, 0}, {"tee", "sage", "XL", 0.6, 2, 0, 0},
		{"tee", "sage", "3XL", 0.1, 0, 0, 0}}
)

func bakeryProposal() *reorder.Proposal { return stored("bakery") }

func gardenProposal() *reorder.Proposal { return stored("garden") }

func badges() message.SheetToOrder {
	in := programme.Inch
	l := sheet.Layout{Name: "A", Copies: 4, Width: 12 * in, Height: 18 * in, Inks: 2, Fill: 0.81}
	for row := range 5 {
		for col := range 3 {
			it := sheet.Item{Artwork: "loaf", Client: "bakery", X: in/4 + programme.Length(col)*(3*in+3*in/4),
				Y: in/4 + programme.Length(row)*(3*in+in/4), W: 3*in + in/2, H: 3 * in}
			if row >= 3 {
				it.Artwork, it.Client, it.W = "fern", "garden", 3*in
			}
			l.Items = append(l.Items, it)
		}
	}
	return message.SheetToOrder{
		Order: sheet.Order{
			Kind: "plastisol", Process: programme.ScreenPrinted, Printer: "prints",
			Sheet:   programme.SheetSize{Code: "12x18", Width: 12 * in, Height: 18 * in},
			Layouts: []sheet.Layout{l}, Cost: sheet.Cost{SetUp: 3000, Print: 2480}, Fill: 0.81,
			Shares: []sheet.Share{{Client: "bakery", Cost: sheet.Cost{SetUp: 1800, Print: 1488}, Area: 0.6},
				{Client: "garden", Cost: sheet.Cost{SetUp: 1200, Print: 992}, Area: 0.4}},
			Room: []sheet.Room{{Layout: "A", Artwork: "fern", Client: "garden", Each: 1, Pieces: 4,
				From: monday.Add(70), Until: monday.Add(80)}},
			Why: []string{"One layout printed 4 times is cheaper than two layouts, each with its own set-up."},
		},
		OrderBy: monday.Add(3),
		Lines: []sheet.Line{{Artwork: "loaf", Client: "bakery", Kind: "plastisol", Asked: 32, Spoilage: 2, Print: 34,
			Printed: 36}, {Artwork: "fern", Client: "garden", Kind: "plastisol", Asked: 20, Spoilage: 2, Print: 22,
			Printed: 24}},
		Proofs: []message.Part{{Name: "proof-plastisol.pdf", Type: "application/pdf",
			Data: []byte("%PDF-1.4 a proof")}},
		Prints: []message.Part{{Name: "plastisol-A-12in-18in-x4.pdf", Type: "application/pdf",
			Data: []byte("%PDF-1.4 to print")}},
	}
}

func aRound() message.Round {
	shop := aShop()
	return message.Round{
		Shop: shop, Number: 9, AsOf: monday, Clients: 6,
		Due: []message.Due{
			{Client: garden(), Proposal: gardenProposal(), Ahead: ahead("garden", gardenNeeds), Evidence: endings(8)},
			{Client: bakery(), Proposal: bakeryProposal(), Ahead: ahead("bakery", bakeryNeeds), Evidence: endings(62),
				Arriving: []message.Arrival{{On: monday.Add(9), Pieces: 4}}},
		},
		Sheets: []message.SheetToOrder{badges()},
		Next: []message.NextDue{
			{Client: "Lantern Books", On: monday.Add(21), Pieces: 14}, {Client: "Old Quarry Café", On: monday.Add(7)},
			{Client: "Peak Cycle Couriers", On: monday.Add(21)}, {Client: "Willow Care Home"},
		},
		Changes: []message.Changing{
			{Client: "Copper Hearth Bakery", What: "Bib apron, burgundy → Bib apron, black since Mar 1, 2026: 41 burgundy are worn on; 12 burgundy lie on the shelf and go out first."},
		},
		Troubles: []message.Trouble{
			{Kind: programme.MailRefused, On: monday.Add(-4), Client: "Lantern Books",
				What: "the count form was not accepted for jo@lantern.example: 550 no such user.",
				Do:   "Mend the address in programmes/lantern.yaml."},
			{Kind: programme.ImportRefused, On: monday.Add(-3), Client: "Fernhill Garden Care",
				What: `staff.csv line 14, column start_date: read "31.02.2026", but February 2026 has 28 days. Nothing was imported.`},
			{Kind: programme.StaleRoster, Client: "Willow Care Home", What: "the roster is 13 weeks old.",
				Do: "Ask for a new one."},
		},
		Taken: []message.Taken{
			{On: monday.Add(-5), Client: "Copper Hearth Bakery",
				What: "roster--bakery.csv: 2 joined, 1 left, 31 unchanged."},
			{On: monday.Add(-4), What: "stock.csv: 14 rows new, 220 known already. Its report has a note."},
		},
		Counting: []message.Counting{
			{Client: bakery(), Rows: 25, People: 14, SendOn: monday.Add(7), ReturnBy: monday.Add(17), Saving: 4120},
			{Client: garden(), Rows: 6, Came: 2, People: 4, SendOn: monday.Add(-7), ReturnBy: monday.Add(3), Sent: true,
				Assumed: true, Holds: true, ByItself: true},
		},
		NewPrices: []message.NewPrice{{Client: bakery(), Price: programme.Price{Garment: "tee", Price: 1590,
			From: monday + 30}}},
		Learnt: []message.Learnt{{Client: "Copper Hearth Bakery", What: "Crew tee, home hot", Baseline: 36,
			Median: 31, Low: 28, High: 35, Evidence: endings(62)}},
	}
}
