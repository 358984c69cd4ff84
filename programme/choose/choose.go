package choose

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Question is which garment and kind of transfer should do one line of a kit.
type Question struct {
	Shop   *programme.Shop
	Client *programme.Client
	// Role and Line are the present answer.
	Role string
	Line programme.KitLine
	// Wearers hold the line; it sets how many prints are ordered together. At least 1.
	Wearers int
	// Garments and Kinds are codes to compare; empty = every comparable one of the catalogue.
	Garments []string
	Kinds    []string
	// Experience is what the shop's clients have taught; Learnt what this one has. Either may be nil.
	Experience *wear.Experience
	Learnt     map[wear.Class]*wear.Learnt

	taught *taught
}

// Life is how long pieces last, as mean and as what one, five and nine in ten do not outlive.
type Life struct {
	Mean float64 `json:"mean"`
	P10  float64 `json:"p10"`
	P50  float64 `json:"p50"`
	P90  float64 `json:"p90"`
}

func (l Life) times(f float64) Life { return Life{l.Mean * f, l.P10 * f, l.P50 * f, l.P90 * f} }

// Endings are the chances of what ends a piece whose holder stays; they sum to 1.
type Endings struct {
	Cloth  float64 `json:"cloth"`
	Print  float64 `json:"print"`
	Mishap float64 `json:"mishap"`
	Label  float64 `json:"label"`
}

// Option is one garment with one kind of transfer.
type Option struct {
	Garment string `json:"garment"`
	Name    string `json:"name"`
	// Kind is the transfer kind of all prints; empty when the line has none.
	Kind    string          `json:"kind"`
	Present bool            `json:"present"`
	Cost    programme.Money `json:"cost_decorated"`  // to the shop: blank, prints, pressing, spoilage
	Price   programme.Money `json:"price_decorated"` // to the client; the cost when no price is known
	Washes  Life            `json:"life_washes"`
	Months  Life            `json:"life_months"`
	EndedBy Endings         `json:"ended_by"`
	// PiecesAYear is what one wearer's place needs a year, wear and leavers together.
	PiecesAYear float64 `json:"pieces_per_wearer_and_year"`
	// CostAMonth is what the client pays a wearer and month; ShopCostAMonth what it costs the shop.
	CostAMonth     programme.Money `json:"cost_per_wearer_and_month"`
	ShopCostAMonth programme.Money `json:"shop_cost_per_wearer_and_month"`
	Notes          []string        `json:"notes,omitempty"`

	monthly float64 // CostAMonth before rounding
}

// Answer holds the options, cheapest to wear first, and what follows from them.
type Answer struct {
	Client string `json:"client"`
	Role   string `json:"role"`
	// Line names the present garment and colour.
	Garment string `json:"garment"`
	Colour  string `json:"colour"`
	Wearers int    `json:"wearers"`
	Priced  bool   `json:"priced"` // false: no price is known, so prices are the shop's costs
	// Endings is how many endings of the present pieces the figures rest on beside the baselines.
	Endings int      `json:"endings"`
	Options []Option `json:"options"`
	// Laundry is the same contest under every way of washing.
	Laundry []UnderLaundry `json:"laundry,omitempty"`
	Verdict []string       `json:"verdict"`
}

// Compare answers a question. The error names what the programme refers to and
// the catalogue lacks, or says that nothing is there to compare.
func Compare(q Question) (*Answer, error) {
	present, err := q.present()
	if err != nil {
		return nil, err
	}
	a := &Answer{Client: q.Client.Code, Role: q.Role, Garment: q.Line.Garment, Colour: q.Line.Colour, Wearers: q.Wearers}
	markup, priced := q.markup(present)
	a.Priced, a.Endings = priced, q.endings()
	options, err := q.options(present, q.Client.Laundering, markup)
	if err != nil {
		return nil, err
	}
	a.Options = options
	if err := a.conclude(&q, present, markup); err != nil {
		return nil, err
	}
	return a, nil
}

// Options are the candidates of a question alone, cheapest to wear first and at
// least one; errors are those of Compare.
func Options(q Question) ([]Option, error) {
	present, err := q.present()
	if err != nil {
		return nil, err
	}
	markup, _ := q.markup(present)
	options, err := q.options(present, q.Client.Laundering, markup)
	if err == nil && len(options) == 0 {
		err = noCandidate(present)
	}
	return options, err
}

func noCandidate(present *programme.Garment) error {
	return fmt.Errorf("no candidate for %s takes its prints: check the sheets of the transfer kinds", present.Code)
}

func (q *Question) present() (*programme.Garment, error) {
	if q.Wearers < 1 {
		return nil, fmt.Errorf("choose: %d wearers; give at least 1", q.Wearers)
	}
	g, ok := q.Shop.Garment(q.Line.Garment)
	if !ok {
		return nil, fmt.Errorf("garment %q is not in the shop's catalogue", q.Line.Garment)
	}
	q.taught = teach(q.Learnt)
	return g, nil
}

func (q *Question) options(present *programme.Garment, wash programme.Laundering, markup float64) ([]Option, error) {
	var all []Option
	for _, g := range q.garments(present) {
		for _, kinds := range q.kinds(g) {
			o, err := q.option(g, kinds, wash, markup)
			if err != nil {
				return nil, err
			}
			if o != nil {
				all = append(all, *o)
			}
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].monthly < all[j].monthly })
	return all, nil
}

// garments are the candidates: asked for, or those of the same size family and
// protection that are washed about as often (a fleece is no rival of a tee).
func (q *Question) garments(present *programme.Garment) []*programme.Garment {
	var out []*programme.Garment
	for i := range q.Shop.Garments {
		g := &q.Shop.Garments[i]
		same := g.SizeFamily == present.SizeFamily && g.Protective == present.Protective && q.perWash(g) == q.perWash(present)
		if g.Code == present.Code || contains(q.Garments, g.Code) || len(q.Garments) == 0 && same {
			out = append(out, g)
		}
	}
	return out
}

func (q *Question) perWash(g *programme.Garment) float64 {
	if g.WearsPerWash > 0 {
		return g.WearsPerWash
	}
	for _, f := range q.Shop.Baselines.Fabrics {
		if f.Code == g.FabricClass {
			return max(f.WearsPerWash, 1)
		}
	}
	return 1
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// kinds lists, for each option of a garment, the kind of every print: as it is
// now, and all prints by one kind.
func (q *Question) kinds(g *programme.Garment) [][]string {
	now := make([]string, len(q.Line.Decorations))
	for i, d := range q.Line.Decorations {
		if a, ok := q.Shop.Artwork(d.Artwork); ok {
			now[i] = a.Kind
		}
	}
	all := [][]string{now}
	for i := range q.Shop.Kinds {
		k := &q.Shop.Kinds[i]
		if len(now) == 0 || uniform(now, k.Code) || len(q.Kinds) > 0 && !contains(q.Kinds, k.Code) || q.refuses(g, k) {
			continue
		}
		row := make([]string, len(now))
		for j := range row {
			row[j] = k.Code
		}
		all = append(all, row)
	}
	return all
}

func uniform(kinds []string, code string) bool {
	for _, k := range kinds {
		if k != code {
			return false
		}
	}
	return true
}

// refuses reports whether a kind does not take on the garment's fibre.
func (q *Question) refuses(g *programme.Garment, k *programme.TransferKind) bool {
	for _, d := range q.Shop.Baselines.Decorations {
		if d.Code == k.Decoration && d.PolyesterOnly {
			return q.fibre(g) != programme.Polyester
		}
	}
	return false
}

func (q *Question) fibre(g *programme.Garment) programme.Fibre {
	for _, f := range q.Shop.Baselines.Fabrics {
		if f.Code == g.FabricClass {
			return f.Fibre
		}
	}
	return ""
}

// option works one candidate out; nil when its artwork fits no sheet of the kind.
func (q *Question) option(g *programme.Garment, kinds []string, wash programme.Laundering, markup float64) (*Option, error) {
	shop, client, line := q.suppose(g, kinds, wash)
	b, err := believe(q, shop, client, q.Role, line)
	if err != nil {
		return nil, err
	}
	leaving := client.Leavers.PerYear
	if leaving == 0 {
		leaving = shop.Baselines.LeaversPerYear
	}
	if client.ReissueLifeLeft > 0 {
		leaving = 0 // a leaver's pieces go out again
	}
	out := b.outcome(leaving)
	o := &Option{Garment: g.Code, Name: g.Name, Kind: kindName(kinds), Present: g.Code == q.Line.Garment && q.isNow(kinds)}
	o.Washes = Life{out.mean, out.quantiles[0], out.quantiles[1], out.quantiles[2]}
	o.Months = o.Washes.times(1 / (b.pace * weeksPerMonth))
	o.EndedBy = Endings{out.cloth, out.print, out.mishap, out.label}
	o.PiecesAYear = out.perYear * float64(line.Each)
	cost, ok := q.cost(shop, g, line, o.PiecesAYear)
	if !ok {
		return nil, nil
	}
	price := cost * markup
	if p, ok := client.PriceOf(g.Code, ""); ok {
		price = p.Float()
	}
	o.Cost, o.Price = toMoney(cost), toMoney(price)
	o.monthly = price * o.PiecesAYear / monthsPerYear
	o.CostAMonth, o.ShopCostAMonth = toMoney(o.monthly), toMoney(cost*o.PiecesAYear/monthsPerYear)
	o.Notes = q.notes(g, line)
	return o, nil
}

func toMoney(v float64) programme.Money { return programme.Money(math.Round(v * 100)) }

// suppose returns the shop and client as they would be with one candidate.
func (q *Question) suppose(g *programme.Garment, kinds []string, wash programme.Laundering) (*programme.Shop, *programme.Client, *programme.KitLine) {
	shop, client, line := *q.Shop, *q.Client, q.Line
	shop.Artworks = append([]programme.Artwork(nil), q.Shop.Artworks...)
	line.Garment = g.Code
	// One artwork may stand at two places, so each print gets a copy of its own.
	line.Decorations = make([]programme.Decoration, len(q.Line.Decorations))
	for i, d := range q.Line.Decorations {
		if a, ok := q.Shop.Artwork(d.Artwork); ok {
			own := *a
			own.Kind, own.Code = kinds[i], fmt.Sprintf("%s %d", a.Code, i)
			shop.Artworks = append(shop.Artworks, own)
			d.Artwork = own.Code
		}
		line.Decorations[i] = d
	}
	client.Laundering = wash
	client.Roles = []programme.Role{{Code: q.Role, Kit: []programme.KitLine{line}}}
	return &shop, &client, &line
}

// cost is one decorated piece to the shop: the blank, its prints, the pressing
// of each place, and the pieces that go wrong.
func (q *Question) cost(shop *programme.Shop, g *programme.Garment, line *programme.KitLine, perYear float64) (float64, bool) {
	blank := blankCost(shop, g)
	total, spoilt := blank, 0.0
	for _, d := range line.Decorations {
		a, _ := shop.Artwork(d.Artwork)
		k, ok := shop.Kind(a.Kind)
		if !ok {
			return 0, false
		}
		print, ok := printCost(k, a, q.orderedTogether(k, perYear))
		if !ok {
			return 0, false
		}
		total += print + shop.Press.CostPerHour.Float()/max(shop.Press.PiecesPerHour, 1)
		spoilt += k.Spoilage
	}
	return total * (1 + spoilt), true
}

// stockMonths is how far ahead screen-printed logos are kept: 3 to 6 months is
// common practice, no source, since they are cheap and keep long.
const stockMonths = 6

// orderedTogether is the number of one print in an order: a cover's need of
// digital prints, half a year's of screen-printed ones.
func (q *Question) orderedTogether(k *programme.TransferKind, perYear float64) int {
	years := float64(q.Client.CoverWeeks) / weeksPerYear
	if k.Process == programme.ScreenPrinted {
		years = max(years, min(stockMonths/float64(monthsPerYear), float64(k.ShelfDays)/365))
	}
	return max(1, int(math.Round(perYear*float64(q.Wearers)*years)))
}

// markup is what the client pays over cost for the present line, carried to candidates.
func (q *Question) markup(present *programme.Garment) (float64, bool) {
	price, ok := q.Client.PriceOf(present.Code, "")
	if !ok {
		return 1, false
	}
	o, err := q.option(present, q.kinds(present)[0], q.Client.Laundering, 1)
	if err != nil || o == nil || o.Cost <= 0 {
		return 1, false
	}
	return price.Float() / o.Cost.Float(), true
}

func (q *Question) isNow(kinds []string) bool {
	for i, d := range q.Line.Decorations {
		if a, ok := q.Shop.Artwork(d.Artwork); !ok || a.Kind != kinds[i] {
			return false
		}
	}
	return true
}

func kindName(kinds []string) string {
	var names []string
	for _, k := range kinds {
		if !contains(names, k) {
			names = append(names, k)
		}
	}
	return strings.Join(names, " and ")
}

func (q *Question) notes(g *programme.Garment, line *programme.KitLine) []string {
	var notes []string
	if !contains(g.Colours, line.Colour) {
		notes = append(notes, fmt.Sprintf("not sold in %s (but in %s)", line.Colour, strings.Join(g.Colours, ", ")))
	}
	if g.Protective != programme.NotProtective {
		notes = append(notes, "protective clothing: its label and your client's safety officer decide, not its price")
	}
	return notes
}

// endings counts what the client's own records say about the present line.
func (q *Question) endings() int {
	book, err := wear.NewBook(q.Shop, q.Client, nil)
	if err != nil {
		return 0
	}
	use, ok := book.Use(q.Role, q.Line.Garment, q.Line.Colour)
	if !ok || q.Learnt[use.Class.Class] == nil {
		return 0
	}
	return q.Learnt[use.Class.Class].Evidence.Endings()
}
