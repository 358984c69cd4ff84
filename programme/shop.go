package programme

import "time"

// Shop is the content of shop.yaml: who the shop is, what it buys and from whom,
// what it presses with. Lists are in the file's order; codes are unique.
type Shop struct {
	Name      string
	Currency  string // ISO 4217 code
	TimeZone  string // IANA name
	Units     Units
	DateStyle DateStyle
	Owner     Contact
	Managers  []Manager
	// ReviewDays is the time between two rounds, in days.
	ReviewDays int
	// PressDays is the shop's own time from goods in hand to pieces ready.
	PressDays int
	// DeliveryDays is the time from ready to pieces in the client's hands.
	DeliveryDays int
	Press        Press
	Suppliers    []Supplier
	Garments     []Garment
	Kinds        []TransferKind
	Artworks     []Artwork
	// SizeMix is the shop's overall mix per size family, as weights; empty
	// families take the built-in table (see DefaultSizeMix).
	SizeMix map[string][]SizeShare
	// Baselines are the wear figures in force: the shipped ones, with those that
	// shop.yaml overwrites.
	Baselines Baselines
	Labels    LabelSheet
	// Closed are days without work besides weekends: public holidays, the
	// shop's own holidays. They hold for suppliers, printers and carriers too.
	Closed ClosedDays
	// Keeping is the cost of goods that lie; UsualKeeping where the file is silent.
	Keeping Keeping
	// Terms are those on which the shop sells.
	Terms Terms
	// PrintFileName is the rule for names of print files; empty: the usual one.
	PrintFileName string
	// Fonts is a folder of font files for papers with names in scripts that
	// their own font lacks; empty: the fonts of the machine.
	Fonts string
	// Items holds what suppliers' price lists say; they go before Garments.
	Items map[SKU]Item
	// Ordering is the cost of one order, whatever is in it, besides freight and
	// the set-up of sheets, which stand with suppliers and transfer kinds.
	Ordering Money
	Missing  Missing
	// WorthPulling is the least saving for which a client's order is brought forward.
	WorthPulling Money

	index *artworkIndex
}

// Keeping is the yearly cost of having goods lie, as shares of what they cost.
type Keeping struct {
	// CostPerYear is for capital, room and insurance.
	CostPerYear float64
	// LossPerYear is the chance in a year that decorated goods can no longer be
	// used: the client leaves, the logo or the sizes change.
	LossPerYear float64
}

// UsualKeeping returns 20 % and 10 % a year (common practice, no source).
func UsualKeeping() Keeping { return Keeping{CostPerYear: 0.20, LossPerYear: 0.10} }

// PerYear returns the yearly cost of keeping and of losing goods together, as a share of their cost.
func (k Keeping) PerYear() float64 { return k.CostPerYear + k.LossPerYear }

// DateStyle is the order in which a shop writes dates for people.
type DateStyle string

// Date styles: 9 Mar 2026, Mar 9, 2026, and 2026-03-09.
const (
	DayFirst   DateStyle = "day-first"
	MonthFirst DateStyle = "month-first"
	ISODate    DateStyle = "iso"
)

// Date writes d for people: with the month as a word, so that no reader can
// take the day for the month; no date is an empty text.
func (s DateStyle) Date(d Date) string {
	if d.IsZero() {
		return ""
	}
	switch s {
	case DayFirst:
		return d.Time().Format("2 Jan 2006")
	case MonthFirst:
		return d.Time().Format("Jan 2, 2006")
	default:
		return d.String()
	}
}

// Moment writes a day and the time of day for people, in the zone that t has.
func (s DateStyle) Moment(t time.Time) string { return s.Date(DateOf(t)) + t.Format(" 15:04") }

// Contact is a person and a mail address.
type Contact struct {
	Name  string
	Email string
}

// Manager looks after some clients for the shop.
type Manager struct {
	Code string
	Contact
}

// Press is the shop's pressing rate and what an hour of it costs.
type Press struct {
	PiecesPerHour float64
	CostPerHour   Money
}

// Supplier sells blanks or prints transfers.
type Supplier struct {
	Code     string
	Name     string
	Email    string
	LeadDays int // calendar days from order to goods in the shop
	// FreeFreightFrom is the order value from which Freight is waived; 0 = never.
	FreeFreightFrom Money
	Freight         Money
	MinimumOrder    Money
	// Account is the shop's number with the supplier.
	Account string
	// Substitutes says what may be sent in place of what is out of stock, in the
	// shop's words; empty: nothing without a word before.
	Substitutes string
}

// Garment is a blank the shop buys and decorates.
type Garment struct {
	Code        string
	Name        string
	Style       string // the supplier's own style number
	FabricClass string // a code of Baselines.Fabrics
	SizeFamily  string // top, bottom, head, ...; "one" for one size
	Supplier    string
	Colours     []string
	Sizes       []GarmentSize // from small to large
	// Pack is the number of pieces of one colour and size that are bought
	// together; 1 when pieces are sold singly.
	Pack int
	// Minimum is the fewest pieces of the garment (all colours and sizes) in one order.
	Minimum int
	// Breaks lower the cost by pieces of this garment in one order.
	Breaks []CostBreak
	// WearsPerWash is the number of wears of a piece between two washes.
	WearsPerWash float64
	// LabelWashes is the greatest number of washes on the garment's own label; 0 = none.
	LabelWashes float64
	Protective  Protective
	// Median and Shape override the fabric class when above 0 (washes, Weibull shape).
	Median, Shape float64
	// Placements says where each print place of this garment lies.
	Placements []Placement
	// Tax is the code of its tax on sales; empty = the first of the shop.
	Tax string
}

// GarmentSize is one size of a garment with what a blank of it costs.
type GarmentSize struct {
	Code string
	Cost Money
}

// CostBreak lowers the cost of each piece by Percent from From pieces up.
type CostBreak struct {
	From    int
	Percent float64 // reduction of the piece cost, 0 to 100
}

// Protective says whether a garment protects its wearer; such garments are
// held for a person's yes and never ordered by themselves.
type Protective string

// Classes of protective clothing; none for ordinary clothing.
const (
	NotProtective  Protective = ""
	HighVisibility Protective = "high-visibility"
	FlameResistant Protective = "flame-resistant"
	OtherPPE       Protective = "other-protective"
)

// Placement is a print place on a garment, in words and measures for the press.
type Placement struct {
	Place string // left-chest, full-back, cap-front, ...
	Words string // "clear of the placket by 1 in"
	// From names the seam from which Drop is measured: "the shoulder seam at the
	// neck". Empty: Words name it.
	From string
	Drop Length // from that seam down to the top of the art; on caps up to its lower edge
}

// TransferKind is a way of printing transfers: settings of the press, prices
// of the sheet, rated life.
type TransferKind struct {
	Code       string
	Name       string
	Decoration string // a code of Baselines.Decorations: plastisol, direct-to-film, ...
	Process    Process
	Printer    string // supplier code
	Sheets     []SheetSize
	Gutter     Length // between two images
	Margin     Length // at every edge
	Cut        CutStyle
	// Prices are per unit of PricedBy; a sheet size may have its own.
	Prices   []PriceBreak
	PricedBy PriceUnit
	// Offers are other printers of the same kind, each with terms of its own.
	Offers []PrintOffer
	// LongestCut is the longest cut of the trimmer; cuts across a roll come first.
	LongestCut Length
	// Mirrored says that print files are wanted reversed left to right.
	Mirrored bool
	// PrintPNG says that print files are wanted as dots on a clear ground, not as PDF.
	PrintPNG bool
	// SetUp per layout, SetUpPerInk per layout and ink colour (screen-printed).
	SetUp, SetUpPerInk Money
	// BreaksPerOrder counts all sheets of an order towards the break; otherwise per layout.
	BreaksPerOrder bool
	// OverWorth is the worth of a useful over, as a share of its printed cost, 0 to 1.
	OverWorth float64
	// MaxOversMonths is the number of overs of one artwork that are still useful, in months of need; 0 = none.
	MaxOversMonths float64
	MinimumOrder   Money
	ShelfDays      int     // shelf life; past it a transfer is not counted
	Spoilage       float64 // share of presses that go wrong, 0 to 1
	// FitForIndustrial is the maker's statement that it stands industrial laundry.
	FitForIndustrial bool
	// Low-bleed, for polyester.
	Settings PressSettings
}

// Process is the way in which a transfer is made.
type Process string

// The two processes; they differ in how sheets are priced.
const (
	ScreenPrinted Process = "screen-printed"
	Digital       Process = "digital"
)

// CutStyle is the way in which sheets are cut apart.
type CutStyle string

// Scissors cut anywhere; a trimmer cuts straight from edge to edge.
const (
	Scissors CutStyle = "scissors"
	Trimmer  CutStyle = "trimmer"
)

// SheetSize is a fixed sheet, or a roll when MaxHeight is a length that may be cut anywhere.
type SheetSize struct {
	Code   string
	Width  Length
	Height Length // of a sheet; for a roll the greatest length of one piece
	Roll   bool
	// Prices are the prices of this size; empty: the kind's prices.
	Prices []PriceBreak `json:",omitempty"`
	// Step is the unit to which the length of a piece of roll is rounded up; 0: it is paid as it is.
	Step Length `json:",omitempty"`
	// Lengths are those a roll is sold in, each at its price; empty: any length.
	Lengths []LengthPrice `json:",omitempty"`
}

// LengthPrice is a length of roll sold at a set price.
type LengthPrice struct {
	Length Length
	Price  Money
}

// PriceUnit is the unit that a price is for.
type PriceUnit string

// Units of price. BySize is per copy of a sheet and per metre of roll.
const (
	BySize         PriceUnit = ""
	PerSheet       PriceUnit = "sheet"
	PerMetre       PriceUnit = "metre"
	PerFoot        PriceUnit = "foot"
	PerSquareMetre PriceUnit = "square-metre"
	PerSquareFoot  PriceUnit = "square-foot"
)

// PrintOffer holds another printer's prices for the same kind of transfer.
type PrintOffer struct {
	Printer            string
	Sheets             []SheetSize
	Prices             []PriceBreak
	PricedBy           PriceUnit
	SetUp, SetUpPerInk Money
	BreaksPerOrder     bool
	MinimumOrder       Money
}

// Ways returns the kind as each of its printers makes it, its own printer first.
func (k *TransferKind) Ways() []TransferKind {
	ways := []TransferKind{*k}
	for _, o := range k.Offers {
		w := *k
		w.Printer, w.Sheets, w.Prices, w.PricedBy = o.Printer, o.Sheets, o.Prices, o.PricedBy
		w.SetUp, w.SetUpPerInk, w.BreaksPerOrder, w.MinimumOrder = o.SetUp, o.SetUpPerInk, o.BreaksPerOrder,
			o.MinimumOrder
		ways = append(ways, w)
	}
	return ways
}

// UnitOf returns what the prices of a sheet size are for.
func (k *TransferKind) UnitOf(size *SheetSize) PriceUnit {
	switch {
	case k.PricedBy != BySize:
		return k.PricedBy
	case size.Roll:
		return PerMetre
	default:
		return PerSheet
	}
}

// PricesOf returns the price list of a sheet size.
func (k *TransferKind) PricesOf(size *SheetSize) []PriceBreak {
	if len(size.Prices) > 0 {
		return size.Prices
	}
	return k.Prices
}

// PriceBreak is the price of a unit from From units on (see PriceUnit).
type PriceBreak struct {
	From  float64
	Price Money
}

// PressSettings holds what the operator sets; the supplier's sheet always wins.
type PressSettings struct {
	Temperature   Temperature
	DwellSeconds  float64
	Pressure      string // light, medium, firm, ...
	Peel          string // hot, warm, cold
	PrePressTime  float64
	RePressTime   float64
	Notes         string
	CoverSheet    bool
	MaxPolyesterC Temperature // above it polyester dye may migrate; 0 = the usual 138 °C
}

// dyeMigratesFrom is the temperature from which polyester dye may move into a
// print (garment-printing trade magazines: about 280 °F).
const dyeMigratesFrom Temperature = 138

// PolyesterLimit returns the temperature above which the dye of polyester may move into
// the print, and show only days later.
func (p *PressSettings) PolyesterLimit() Temperature {
	if p.MaxPolyesterC > 0 {
		return p.MaxPolyesterC
	}
	return dyeMigratesFrom
}

// TooHot reports whether the settings are hotter than cloth of a fibre should be pressed.
func (p *PressSettings) TooHot(f Fibre) bool {
	return f != Cotton && p.Temperature > p.PolyesterLimit()
}

// LabelSheet is the label stock for bag tags, measured, so any maker's sheet fits.
type LabelSheet struct {
	PageWidth, PageHeight Length
	Columns, Rows         int
	Width, Height         Length
	Left, Top             Length // of the first label
	PitchX, PitchY        Length // from one label to the next
}

// SizeShare is one size's share; shares of a family need not sum to 1.
type SizeShare struct {
	Size  string
	Share float64
}

// Garment returns the garment with that code.
func (s *Shop) Garment(code string) (*Garment, bool) {
	return find(s.Garments, func(g *Garment) bool { return g.Code == code })
}

// Supplier returns the supplier with that code.
func (s *Shop) Supplier(code string) (*Supplier, bool) {
	return find(s.Suppliers, func(x *Supplier) bool { return x.Code == code })
}

// Kind returns the transfer kind with that code.
func (s *Shop) Kind(code string) (*TransferKind, bool) {
	return find(s.Kinds, func(k *TransferKind) bool { return k.Code == code })
}

// Manager returns the client manager with that code.
func (s *Shop) Manager(code string) (*Manager, bool) {
	return find(s.Managers, func(m *Manager) bool { return m.Code == code })
}

func find[T any](list []T, is func(*T) bool) (*T, bool) {
	for i := range list {
		if is(&list[i]) {
			return &list[i], true
		}
	}
	return nil, false
}

// SizeOf returns the size of the garment that a person takes: the only one, or that of its
// family; empty where it is not known.
func (g *Garment) SizeOf(p *Person) string {
	if len(g.Sizes) == 1 {
		return g.Sizes[0].Code
	}
	return p.Sizes[g.SizeFamily]
}

// Size returns the garment's size with that code.
func (g *Garment) Size(code string) (*GarmentSize, bool) {
	return find(g.Sizes, func(s *GarmentSize) bool { return s.Code == code })
}
