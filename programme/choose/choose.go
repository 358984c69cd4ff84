package choose

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Question asks which garment and kind of transfer should do one line of a kit.
type Question struct {
	Shop   *programme.Shop
	Client *programme.Client
	// AsOf is the day whose selling prices hold; no date = those without a first day.
	AsOf programme.Date
	// Role and Line are the present answer.
	Role string
	Line programme.KitLine
	// Wearers hold the line; it sets how many prints are ordered together. At least 1.
	Wearers int
	// Garments and Kinds are codes to compare; empty = every comparable one of the catalogue.
	Garments []string
	Kinds    []string
	// Experience holds what the records of the shop's clients teach, Learnt what this one's do. Either may be nil.
	Experience *wear.Experience
	Learnt     map[wear.Class]*wear.Learnt

	taught *taught
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
	// Endings is the number of endings of the present pieces that the figures rest on beside the baselines.
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
	a := &Answer{Client: q.Client.Code, Role: q.Role, Garment: q.Line.Garment, Colour: q.Line.Colour,
		Wearers: q.Wearers}
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

// Options returns the candidates of a question alone, cheapest to wear first and at
// least one; errors are the errors of Compare.
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
	slices.SortStableFunc(all, func(a, b Option) int { return cmp.Compare(a.monthly, b.monthly) })
	return all, nil
}

// markup returns what the client pays over cost for the present line, carried to candidates.
func (q *Question) markup(present *programme.Garment) (float64, bool) {
	price, ok := q.Client.PriceOf(present.Code, "", q.AsOf)
	if !ok {
		return 1, false
	}
	o, err := q.option(present, q.kinds(present)[0], q.Client.Laundering, 1)
	if err != nil || o == nil || o.Cost <= 0 {
		return 1, false
	}
	return price.Float() / o.Cost.Float(), true
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
	return q.Learnt[use.Class.Class].Evidence.Replaced()
}
