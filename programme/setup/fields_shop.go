package setup

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"

	"go.yaml.in/yaml/v3"

	"github.com/kitmuster/kitmuster/programme"
)

// freshShop returns what a shop is where its file says nothing.
func freshShop() programme.Shop {
	return programme.Shop{
		TimeZone: "UTC", Units: programme.Inches, DateStyle: programme.ISODate,
		ReviewDays: 7, PressDays: 3, DeliveryDays: 1,
		Press:     programme.Press{PiecesPerHour: 50},
		Baselines: programme.DefaultBaselines(),
		Labels:    DefaultLabels(),
		Keeping:   programme.UsualKeeping(),
		Ordering:  programme.UsualOrdering, Missing: programme.UsualMissing(),
		WorthPulling: programme.UsualWorthPulling,
	}
}

// DefaultLabels returns a letter page of 2 by 5 labels of 4 by 2 in.
func DefaultLabels() programme.LabelSheet {
	return programme.LabelSheet{
		PageWidth: 17 * programme.Inch / 2, PageHeight: 11 * programme.Inch, Columns: 2, Rows: 5,
		Width: 4 * programme.Inch, Height: 2 * programme.Inch, Left: programme.Inch / 4, Top: programme.Inch / 2,
		PitchX: 4 * programme.Inch, PitchY: 2 * programme.Inch,
	}
}

func shopFields() []field[programme.Shop] {
	type S = programme.Shop
	return []field[S]{
		text("name", "name of the shop, as customers know it", func(s *S) *string { return &s.Name }).needed(),
		value("currency", "three letters, ISO 4217", func(s *S) *string { return &s.Currency }, ParseCurrency,
			func(s string) string { return s }, same("")).needed(),
		value("time_zone", "IANA name, such as Europe/Berlin", func(s *S) *string { return &s.TimeZone }, ParseZone,
			func(s string) string { return s }, same("UTC")),
		word("units", "inches, millimetres or centimetres; temperatures follow", programme.AllUnits(), programme.Inches,
			func(s *S) *programme.Units { return &s.Units }),
		word("date_style", "day-first (9 Mar 2026), month-first (Mar 9, 2026) or iso",
			[]programme.DateStyle{programme.DayFirst, programme.MonthFirst, programme.ISODate}, programme.ISODate,
			func(s *S) *programme.DateStyle { return &s.DateStyle }),
		group("owner", "who receives the weekly round",
			contactFields[programme.Contact](func(c *programme.Contact) *programme.Contact { return c }),
			func(s *S) *programme.Contact { return &s.Owner }).needed(),
		list("managers", "people of the shop who look after clients", managerFields(), programme.Manager{},
			func(s *S) *[]programme.Manager { return &s.Managers }),
		whole("review_days", "days between two rounds", 1, 92, 7, func(s *S) *int { return &s.ReviewDays }),
		whole("press_days", "working days from goods in the shop to pieces ready", 0, 60, 3,
			func(s *S) *int { return &s.PressDays }),
		whole("delivery_days", "days from ready to the client's hands", 0, 60, 1,
			func(s *S) *int { return &s.DeliveryDays }),
		closedField(),
		group("press", "your press and its hours", pressFields(), func(s *S) *programme.Press { return &s.Press }),
		amount("ordering", "what one order costs you in time and the customer's attention, whatever is in it; freight and set-ups are counted besides. The dearer an order, the rarer and larger orders are",
			programme.UsualOrdering, func(s *S) *programme.Money {
				return &s.Ordering
			}),
		group("keeping", "what goods cost that lie, as shares of their cost: the dearer, the smaller orders are",
			keepingFields(), func(s *S) *programme.Keeping { return &s.Keeping }),
		group("missing", "what a needed piece that is not there costs a week, as shares of its price: the dearer, the earlier orders come",
			missingFields(), func(s *S) *programme.Missing {
				return &s.Missing
			}),
		amount("worth_pulling", "an order is brought forward to share freight or sheets only where that saves as much",
			programme.UsualWorthPulling, func(s *S) *programme.Money { return &s.WorthPulling }),
		group("terms", "what stands on order forms beside the goods", termsFields(),
			func(s *S) *programme.Terms { return &s.Terms }),
		list("suppliers", "who sells blanks and prints transfers", supplierFields(), programme.Supplier{},
			func(s *S) *[]programme.Supplier { return &s.Suppliers }),
		list("garments", "the blanks you decorate", garmentFields(), programme.Garment{Pack: 1},
			func(s *S) *[]programme.Garment { return &s.Garments }),
		list("transfer_kinds", "how transfers are printed, priced and pressed", kindFields(), freshKind(),
			func(s *S) *[]programme.TransferKind { return &s.Kinds }),
		list("artworks", "the images; each belongs to one client", artworkFields(), programme.Artwork{Turn: true},
			func(s *S) *[]programme.Artwork { return &s.Artworks }),
		names("size_mix", "the shop's overall mix of sizes, by size family",
			func(s *S) *map[string][]programme.SizeShare { return &s.SizeMix }, readShares, writeShares),
		baselineField(),
		text("print_file_name", "rule for names of print files; {kind}, {sheet}, {width}, {height}, {copies}, {printer} and {date} are filled in", func(s *S) *string {
			return &s.PrintFileName
		}),
		text("fonts", "folder of font files (.ttf, .otf, .ttc) for names in scripts that the papers' own font lacks; without it the fonts of this machine are used", func(s *S) *string {
			return &s.Fonts
		}),
		group("labels", "label sheet for bag tags", labelFields(),
			func(s *S) *programme.LabelSheet { return &s.Labels }),
	}
}

func contactFields[T any](at func(*T) *programme.Contact) []field[T] {
	return []field[T]{
		text("name", "", func(c *T) *string { return &at(c).Name }).needed(),
		email("email", "", func(c *T) *string { return &at(c).Email }).needed(),
	}
}

func managerFields() []field[programme.Manager] {
	type M = programme.Manager
	return append([]field[M]{code("code", "short name used in programmes",
		func(m *M) *string { return &m.Code }).needed()},
		contactFields(func(m *M) *programme.Contact { return &m.Contact })...)
}

func pressFields() []field[programme.Press] {
	type P = programme.Press
	return []field[P]{
		number("pieces_per_hour", "single-place pieces", 1, 1000, 50, func(p *P) *float64 { return &p.PiecesPerHour }),
		money("cost_per_hour", "wages and running cost", func(p *P) *programme.Money { return &p.CostPerHour }),
	}
}

func missingFields() []field[programme.Missing] {
	type M = programme.Missing
	usual := programme.UsualMissing()
	return []field[M]{
		number("worn", "somebody goes on in a worn-out piece", 0, 10, usual.Worn,
			func(m *M) *float64 { return &m.Worn }),
		number("kit", "somebody is short of the kit today", 0, 10, usual.Kit, func(m *M) *float64 { return &m.Kit }),
		number("starter", "somebody new has no kit", 0, 10, usual.Starter, func(m *M) *float64 { return &m.Starter }),
	}
}

func keepingFields() []field[programme.Keeping] {
	type K = programme.Keeping
	usual := programme.UsualKeeping()
	return []field[K]{
		number("cost_per_year", "capital, room and insurance", 0, 2, usual.CostPerYear,
			func(k *K) *float64 { return &k.CostPerYear }),
		number("loss_per_year",
			"chance that decorated goods can no longer be used: the client leaves, the logo or the sizes change",
			0, 1, usual.LossPerYear, func(k *K) *float64 {
				return &k.LossPerYear
			}),
	}
}

func termsFields() []field[programme.Terms] {
	type T = programme.Terms
	type X = programme.Tax
	taxes := []field[X]{
		code("code", "short name, used by garments", func(x *X) *string { return &x.Code }).needed(),
		text("name", "as customers know it", func(x *X) *string { return &x.Name }).needed(),
		number("percent", "", 0, 100, 0, func(x *X) *float64 { return &x.Percent }).needed(),
	}
	return []field[T]{
		text("address", "of the shop, as its papers must name it", func(t *T) *string { return &t.Address }),
		text("registration", "such as a company or tax number", func(t *T) *string { return &t.Registration }),
		text("payment", "when and how it is to be paid", func(t *T) *string { return &t.Payment }),
		money("delivery", "charged once an order", func(t *T) *programme.Money { return &t.Delivery }),
		yesNo("tax_included", "prices are with tax; else it is added", func(t *T) *bool { return &t.TaxIncluded }),
		rows("taxes", "taxes on sales; the first is that of garments which name none", taxes, programme.Tax{},
			func(t *T) *[]programme.Tax { return &t.Taxes }),
	}
}

func supplierFields() []field[programme.Supplier] {
	type S = programme.Supplier
	return []field[S]{
		code("code", "short name used below", func(s *S) *string { return &s.Code }).needed(),
		text("name", "", func(s *S) *string { return &s.Name }),
		email("email", "", func(s *S) *string { return &s.Email }),
		whole("lead_days", "calendar days from order to goods in the shop", 0, 365, 0,
			func(s *S) *int { return &s.LeadDays }),
		money("free_freight_from", "order value from which freight is free",
			func(s *S) *programme.Money { return &s.FreeFreightFrom }),
		money("freight", "freight of one order below that", func(s *S) *programme.Money { return &s.Freight }),
		money("minimum_order", "smallest order they take", func(s *S) *programme.Money { return &s.MinimumOrder }),
		text("account", "your account number with them, for orders", func(s *S) *string { return &s.Account }),
		text("substitutes", "what they may send for what is out of stock, in your words; left out = nothing without asking", func(s *S) *string {
			return &s.Substitutes
		}),
	}
}

func garmentFields() []field[programme.Garment] {
	type G = programme.Garment
	protective := []programme.Protective{programme.HighVisibility, programme.FlameResistant, programme.OtherPPE}
	return []field[G]{
		code("code", "short name used in programmes and lists", func(g *G) *string { return &g.Code }).needed(),
		text("name", "as people call it", func(g *G) *string { return &g.Name }),
		text("style", "the supplier's style number, by which a price list is read; see kitmuster catalogue import --help", func(g *G) *string {
			return &g.Style
		}),
		code("tax", "code of its tax on sales; left out = the first", func(g *G) *string { return &g.Tax }),
		code("fabric_class", "sets its wear life; see baselines",
			func(g *G) *string { return &g.FabricClass }).needed(),
		code("size_family", "top, bottom, head, ...: which size of a person it takes",
			func(g *G) *string { return &g.SizeFamily }).needed(),
		code("supplier", "code of the supplier", func(g *G) *string { return &g.Supplier }).needed(),
		texts("colours", "", parseText, func(g *G) *[]string { return &g.Colours }).needed(),
		rows("sizes", "from small to large, with the cost of a blank", sizeFields(), programme.GarmentSize{},
			func(g *G) *[]programme.GarmentSize { return &g.Sizes }).needed(),
		whole("pack", "pieces of one colour and size sold together", 1, 1000, 1, func(g *G) *int { return &g.Pack }),
		whole("minimum", "fewest pieces of the garment in one order", 0, 10000, 0,
			func(g *G) *int { return &g.Minimum }),
		rows("breaks", "cheaper from so many pieces on", breakFields(), programme.CostBreak{},
			func(g *G) *[]programme.CostBreak { return &g.Breaks }),
		number("wears_per_wash", "worn so often between two washes; 0 = as usual for the fabric class", 0, 100, 0,
			func(g *G) *float64 { return &g.WearsPerWash }),
		labelLimit(),
		word("protective", "protective clothing is never ordered without a person's yes", protective,
			programme.NotProtective, func(g *G) *programme.Protective { return &g.Protective }),
		number("median_washes", "half such pieces last longer; 0 = as the fabric class", 0, 10000, 0,
			func(g *G) *float64 { return &g.Median }),
		number("shape", "how alike lives are (Weibull shape); 0 = as the fabric class", 0, 20, 0,
			func(g *G) *float64 { return &g.Shape }),
		rows("placements", "where prints go on this garment: one measure each, from one seam", placementFields(),
			programme.Placement{}, func(g *G) *[]programme.Placement { return &g.Placements }),
	}
}

// labelLimit is left out of a written file when there is none, save for
// protective garments: there a person must have looked at the label.
func labelLimit() field[programme.Garment] {
	f := number("label_washes", "greatest number of washes on the garment's own label; 0 = the label states none", 0,
		1000, 0, func(g *programme.Garment) *float64 { return &g.LabelWashes })
	quiet := f.write
	f.write = func(g *programme.Garment, all bool) *yaml.Node {
		return quiet(g, all || g.Protective != programme.NotProtective)
	}
	return f
}

func sizeFields() []field[programme.GarmentSize] {
	type S = programme.GarmentSize
	return []field[S]{
		text("code", "", func(s *S) *string { return &s.Code }).needed(),
		money("cost", "", func(s *S) *programme.Money { return &s.Cost }),
	}
}

func breakFields() []field[programme.CostBreak] {
	type B = programme.CostBreak
	return []field[B]{
		whole("from", "pieces", 1, 1000000, 0, func(b *B) *int { return &b.From }),
		number("percent_off", "", 0, 100, 0, func(b *B) *float64 { return &b.Percent }),
	}
}

func placementFields() []field[programme.Placement] {
	type P = programme.Placement
	return []field[P]{
		code("place", "left-chest, full-back, cap-front, ...", func(p *P) *string { return &p.Place }).needed(),
		text("words", "in words for the press", func(p *P) *string { return &p.Words }),
		text("from", "the seam from which drop is measured: the shoulder seam at the neck, the collar seam, the visor seam", func(p *P) *string {
			return &p.From
		}),
		length("drop", "from that seam down to the top of the art (on caps up to its lower edge)", 0,
			func(p *P) *programme.Length { return &p.Drop }),
	}
}

func freshKind() programme.TransferKind {
	return programme.TransferKind{
		Cut: programme.Scissors, Gutter: programme.Inch / 4, Margin: programme.Inch / 4, ShelfDays: 365, Spoilage: 0.02,
		LongestCut: 1200 * programme.Millimetre,
	}
}

func kindFields() []field[programme.TransferKind] {
	type K = programme.TransferKind
	fresh := freshKind()
	return []field[K]{
		code("code", "short name used by artworks", func(k *K) *string { return &k.Code }).needed(),
		text("name", "", func(k *K) *string { return &k.Name }),
		code("decoration", "sets its life; see baselines", func(k *K) *string { return &k.Decoration }).needed(),
		word("process",
			"screen-printed (few layouts in many identical copies) or digital (every image as often as it is needed)",
			[]programme.Process{programme.ScreenPrinted, programme.Digital}, "", func(k *K) *programme.Process {
				return &k.Process
			}).needed(),
		code("printer", "code of the supplier who prints", func(k *K) *string { return &k.Printer }).needed(),
		rows("sheets", "sizes on offer", sheetFields(), programme.SheetSize{},
			func(k *K) *[]programme.SheetSize { return &k.Sheets }).needed(),
		length("gutter", "between two images", fresh.Gutter, func(k *K) *programme.Length { return &k.Gutter }),
		length("margin", "free at every edge", fresh.Margin, func(k *K) *programme.Length { return &k.Margin }),
		word("cut", "scissors (anywhere) or trimmer (straight, edge to edge)",
			[]programme.CutStyle{programme.Scissors, programme.Trimmer}, programme.Scissors,
			func(k *K) *programme.CutStyle { return &k.Cut }),
		length("longest_cut", "of the trimmer; a roll is cut across first, into pieces no longer than this",
			fresh.LongestCut, func(k *K) *programme.Length { return &k.LongestCut }),
		rows("prices", "from so many on, each at that price", priceFields(), programme.PriceBreak{From: 1},
			func(k *K) *[]programme.PriceBreak { return &k.Prices }).needed(),
		pricedBy(func(k *K) *programme.PriceUnit { return &k.PricedBy }),
		money("set_up", "for each layout", func(k *K) *programme.Money { return &k.SetUp }),
		money("set_up_per_ink", "for each ink colour of a layout",
			func(k *K) *programme.Money { return &k.SetUpPerInk }),
		yesNo("breaks_per_order", "yes: all sheets of an order count towards a price break; no: each layout by itself",
			func(k *K) *bool { return &k.BreaksPerOrder }),
		number("over_worth", "what a useful over is worth, as a share of its printed cost", 0, 1, 0,
			func(k *K) *float64 { return &k.OverWorth }),
		number("overs_months", "overs beyond so many months of need are worth nothing", 0, 120, 0,
			func(k *K) *float64 { return &k.MaxOversMonths }),
		money("minimum_order", "smallest order the printer takes",
			func(k *K) *programme.Money { return &k.MinimumOrder }),
		whole("shelf_days", "how long a printed transfer keeps", 1, 3650, fresh.ShelfDays,
			func(k *K) *int { return &k.ShelfDays }),
		number("spoilage", "share of presses that go wrong", 0, 0.5, fresh.Spoilage,
			func(k *K) *float64 { return &k.Spoilage }),
		list("offers", "other printers of the same kind; the cheapest for an order gets it", offerFields(),
			programme.PrintOffer{}, func(k *K) *[]programme.PrintOffer { return &k.Offers }),
		yesNo("mirrored", "yes: the printer wants print files reversed left to right",
			func(k *K) *bool { return &k.Mirrored }),
		yesNo("print_png", "yes: the printer wants print files as PNG of 300 dots an inch on a clear ground, not as PDF", func(k *K) *bool {
			return &k.PrintPNG
		}),
		yesNo("fit_for_industrial", "the maker states that it stands industrial laundry",
			func(k *K) *bool { return &k.FitForIndustrial }),
		group("settings", "of the press; the supplier's own sheet always wins", settingFields(),
			func(k *K) *programme.PressSettings { return &k.Settings }),
	}
}

func sheetFields() []field[programme.SheetSize] {
	type S = programme.SheetSize
	return []field[S]{
		code("code", "", func(s *S) *string { return &s.Code }).needed(),
		length("width", "", 0, func(s *S) *programme.Length { return &s.Width }).needed(),
		length("height", "of a sheet; of a roll the longest piece", 0,
			func(s *S) *programme.Length { return &s.Height }).needed(),
		yesNo("roll", "yes: may be cut at any length", func(s *S) *bool { return &s.Roll }),
		rows("prices", "of this size; without them those of the kind hold", priceFields(),
			programme.PriceBreak{From: 1}, func(s *S) *[]programme.PriceBreak { return &s.Prices }),
		length("step", "the length of a roll is rounded up to a whole number of these", 0,
			func(s *S) *programme.Length { return &s.Step }),
		rows("lengths", "that the roll is sold in, each at its price", lengthFields(), programme.LengthPrice{},
			func(s *S) *[]programme.LengthPrice { return &s.Lengths }),
	}
}

func lengthFields() []field[programme.LengthPrice] {
	type L = programme.LengthPrice
	return []field[L]{
		length("length", "", 0, func(l *L) *programme.Length { return &l.Length }).needed(),
		money("price", "", func(l *L) *programme.Money { return &l.Price }),
	}
}

func pricedBy[T any](at func(*T) *programme.PriceUnit) field[T] {
	units := []programme.PriceUnit{programme.PerSheet, programme.PerMetre, programme.PerFoot, programme.PerSquareMetre,
		programme.PerSquareFoot}
	return word("priced_by", "what a price is for: sheet, metre, foot, square-metre or square-foot; without it a copy of a sheet, a metre of roll",
		units, programme.BySize, at)
}

func offerFields() []field[programme.PrintOffer] {
	type O = programme.PrintOffer
	return []field[O]{
		code("printer", "code of the supplier", func(o *O) *string { return &o.Printer }).needed(),
		rows("sheets", "sizes on offer", sheetFields(), programme.SheetSize{},
			func(o *O) *[]programme.SheetSize { return &o.Sheets }).needed(),
		rows("prices", "", priceFields(), programme.PriceBreak{From: 1},
			func(o *O) *[]programme.PriceBreak { return &o.Prices }).needed(),
		pricedBy(func(o *O) *programme.PriceUnit { return &o.PricedBy }),
		money("set_up", "for each layout", func(o *O) *programme.Money { return &o.SetUp }),
		money("set_up_per_ink", "for each ink colour of a layout",
			func(o *O) *programme.Money { return &o.SetUpPerInk }),
		yesNo("breaks_per_order", "yes: all sheets of an order count towards a price break",
			func(o *O) *bool { return &o.BreaksPerOrder }),
		money("minimum_order", "smallest order the printer takes",
			func(o *O) *programme.Money { return &o.MinimumOrder }),
	}
}

func priceFields() []field[programme.PriceBreak] {
	type P = programme.PriceBreak
	return []field[P]{
		number("from", "sheets, metres, feet or areas: what the price is for", 0, 1e6, 1,
			func(p *P) *float64 { return &p.From }),
		money("price", "", func(p *P) *programme.Money { return &p.Price }),
	}
}

func settingFields() []field[programme.PressSettings] {
	type P = programme.PressSettings
	return []field[P]{
		temperature("temperature", "", func(p *P) *programme.Temperature { return &p.Temperature }),
		number("dwell_seconds", "", 0, 600, 0, func(p *P) *float64 { return &p.DwellSeconds }),
		text("pressure", "", func(p *P) *string { return &p.Pressure }),
		text("peel", "hot, warm or cold", func(p *P) *string { return &p.Peel }),
		number("pre_press_seconds", "drives out moisture", 0, 600, 0, func(p *P) *float64 { return &p.PrePressTime }),
		number("re_press_seconds", "", 0, 600, 0, func(p *P) *float64 { return &p.RePressTime }),
		yesNo("cover_sheet", "", func(p *P) *bool { return &p.CoverSheet }),
		temperature("polyester_limit", "above it polyester dye may migrate",
			func(p *P) *programme.Temperature { return &p.MaxPolyesterC }),
		text("notes", "", func(p *P) *string { return &p.Notes }),
	}
}

func artworkFields() []field[programme.Artwork] {
	type A = programme.Artwork
	return []field[A]{
		code("code", "", func(a *A) *string { return &a.Code }).needed(),
		code("client", "code of the client it belongs to", func(a *A) *string { return &a.Client }).needed(),
		text("name", "", func(a *A) *string { return &a.Name }),
		code("kind", "code of the transfer kind", func(a *A) *string { return &a.Kind }).needed(),
		length("width", "", 0, func(a *A) *programme.Length { return &a.Width }).needed(),
		length("height", "", 0, func(a *A) *programme.Length { return &a.Height }).needed(),
		yesUnless("turn", "quarter turns allowed on the sheet", true, func(a *A) *bool { return &a.Turn }),
		whole("inks", "ink colours of a screen print", 0, 24, 0, func(a *A) *int { return &a.Inks }),
		text("ink_set", "the inks in words, such as white+red; artworks of one set may share a layout",
			func(a *A) *string { return &a.InkSet }),
		text("file", "picture beside shop.yaml, for proofs: SVG (text as outlines, flat colours), PNG or JPEG",
			func(a *A) *string { return &a.File }),
		artworkSizes(),
		rows("versions", "in place of file: forms of the image over time, oldest first; the last that the client approved is printed",
			artworkVersionFields(), programme.ArtworkVersion{}, func(a *A) *[]programme.ArtworkVersion {
				return &a.Versions
			}),
		word("text", "in place of a picture the wearer's own name in letters: first-name, last-name, full-name, or print-name (the roster's print_name, which goes before the others too). Height is that of a capital letter, width the widest a name may be",
			[]programme.TextRule{programme.FirstName, programme.LastName, programme.FullName, programme.PrintName},
			programme.NoText, func(a *A) *programme.TextRule {
				return &a.Text
			}),
		value("letter_colour", "of names, as #rrggbb", func(a *A) *string { return &a.LetterColour }, parseColour,
			asIs, same("")),
		length("least_letters", "capitals of a long name are made no smaller than that; left out = 5mm", 0,
			func(a *A) *programme.Length { return &a.LeastLetters }),
		yesNo("use_up_former", "yes: transfers of a former version are used up first; no: they do not count any more",
			func(a *A) *bool { return &a.UseUpFormer }),
		yesNo("coarse_allowed", "yes: print the picture even below 150 dpi at its size",
			func(a *A) *bool { return &a.CoarseAllowed }),
	}
}

var colourForm = regexp.MustCompile(`^#[0-9a-fA-F]{6}$`)

func parseColour(s string) (string, error) {
	if !colourForm.MatchString(s) {
		return "", fmt.Errorf("read %q; write a colour as # and six digits or letters from a to f, in quotes, such as \"#ffffff\" for white", short(s))
	}
	return strings.ToLower(s), nil
}

func artworkVersionFields() []field[programme.ArtworkVersion] {
	type V = programme.ArtworkVersion
	return []field[V]{
		text("version", "its number or name", func(v *V) *string { return &v.Version }).needed(),
		text("file", "its picture beside shop.yaml", func(v *V) *string { return &v.File }).needed(),
		value("approved", "day on which the client approved it; left out = not yet",
			func(v *V) *programme.Date { return &v.Approved }, parseKitDay, programme.Date.String,
			same(programme.Date(0))),
	}
}

func labelFields() []field[programme.LabelSheet] {
	type L = programme.LabelSheet
	d := DefaultLabels()
	return []field[L]{
		length("page_width", "", d.PageWidth, func(l *L) *programme.Length { return &l.PageWidth }),
		length("page_height", "", d.PageHeight, func(l *L) *programme.Length { return &l.PageHeight }),
		whole("columns", "", 1, 20, d.Columns, func(l *L) *int { return &l.Columns }),
		whole("rows", "", 1, 50, d.Rows, func(l *L) *int { return &l.Rows }),
		length("width", "of one label", d.Width, func(l *L) *programme.Length { return &l.Width }),
		length("height", "", d.Height, func(l *L) *programme.Length { return &l.Height }),
		length("left", "edge of the page to the first label", d.Left, func(l *L) *programme.Length { return &l.Left }),
		length("top", "", d.Top, func(l *L) *programme.Length { return &l.Top }),
		length("pitch_x", "from one label to the next", d.PitchX, func(l *L) *programme.Length { return &l.PitchX }),
		length("pitch_y", "", d.PitchY, func(l *L) *programme.Length { return &l.PitchY }),
	}
}

// ParseCurrency reads a currency of ISO 4217 by its three capital letters.
func ParseCurrency(s string) (string, error) {
	if len(s) != 3 || strings.ToUpper(s) != s ||
		strings.IndexFunc(s, func(r rune) bool { return r < 'A' || r > 'Z' }) >= 0 {
		return "", fmt.Errorf("read %q; write three capital letters, such as USD or EUR", short(s))
	}
	return s, nil
}

// ParseZone reads an IANA time zone that this program knows.
func ParseZone(s string) (string, error) {
	if _, err := time.LoadLocation(s); err != nil || s == "" || s == "Local" {
		return "", fmt.Errorf("read %q; write an IANA time zone, such as America/New_York or Europe/Berlin", short(s))
	}
	return s, nil
}

func readShares(r *reader, n *yaml.Node, path string) ([]programme.SizeShare, bool) {
	if n.Kind != yaml.MappingNode {
		r.wrong(n, path, "read %s; write sizes with their shares, such as {S: 15, M: 30}", describe(n))
		return nil, false
	}
	var out []programme.SizeShare
	for i := 0; i+1 < len(n.Content); i += 2 {
		v, err := parseNumber(n.Content[i+1].Value, 0, math.MaxFloat64)
		if err != nil {
			r.wrong(n.Content[i+1], join(path, n.Content[i].Value), "%s", err)
			return nil, false
		}
		out = append(out, programme.SizeShare{Size: n.Content[i].Value, Share: v})
	}
	return out, true
}

func writeShares(list []programme.SizeShare) *yaml.Node {
	n := &yaml.Node{Kind: yaml.MappingNode, Style: yaml.FlowStyle}
	for _, s := range list {
		n.Content = append(n.Content, scalar(s.Size), scalar(strconv.FormatFloat(s.Share, 'g', -1, 64)))
	}
	return n
}
