package wear

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// daysPerYear is the mean length of a year of the Gregorian calendar.
const daysPerYear = 365.2425

// Class names pieces of one client that share what is not known about their
// lives: the same cloth with the same kinds of print, washed the same way.
type Class struct {
	// Cloth is a fabric class, or a garment whose life the catalogue states by itself.
	Cloth string `json:"cloth"`
	// Prints are decoration codes in order, joined by "+": plastisol+plastisol.
	Prints string `json:"prints,omitempty"`
}

// String names the class for people: cotton-polo with plastisol.
func (c Class) String() string {
	if c.Prints == "" {
		return c.Cloth
	}
	return c.Cloth + " with " + strings.ReplaceAll(c.Prints, "+", " and ")
}

// Terms holds the prior of a class: what is believed before its own records count.
type Terms struct {
	Class  Class
	Cloth  Source
	Prints []PrintTerms // one entry per kind of print
	// Mishap is the rate of loss and damage per piece and year.
	Mishap Gamma
	// Former weighs washes of the ways in which pieces were washed before, the oldest first.
	Former []FormerWash
}

// PrintTerms is one kind of print and how many of it a piece carries.
type PrintTerms struct {
	Source
	Number int
}

// Source is a prior with where it comes from.
type Source struct {
	Prior
	// Code is the fabric class, garment or decoration; Regime how it is washed.
	Code, Regime string
	// Factor is the life multiplier of this client's laundering and duty
	// against the catalogue's baseline; washes/Factor are baseline washes.
	Factor float64
	// Baseline is the catalogue's distribution times Factor, before the shop's experience.
	Baseline Weibull
}

// Use holds what a kit says about a garment in somebody's hands.
type Use struct {
	Class *Terms
	Each  int
	// PerWeek is washes a week of all pieces of it together.
	PerWeek float64
	// Limit is the label's greatest number of washes; 0 = none.
	Limit float64
	// Worn says when pieces are worn: as long as the kit has the line, or one that
	// took its place while these are worn on, in its months.
	Worn Worn
	line programme.KitLine
	// place is the first line of the place in the kit that several lines share.
	place programme.Former
	// unworn is the time in which none of them is worn; nil = they are worn on every day.
	unworn Absence
}

// Pace returns washes a week of each of n pieces in rotation.
func (u *Use) Pace(n int) float64 { return u.PerWeek / float64(max(n, 1)) }

// Book answers what one client's programme says about wear. It is built once
// per client and does not change.
type Book struct {
	shop      *programme.Shop
	client    *programme.Client
	terms     map[Class]*Terms
	uses      map[useKey]*Use
	order     []Class
	regime    programme.Regime
	former    []*Book // of the same client under each of its earlier ways of washing
	shopKnows *Experience
	season    *Season // nil when all months wear alike
}

type useKey struct{ role, garment, colour string }

// NewBook reads the programme of a client against the shop's catalogue. The
// shop's experience, when not nil, replaces the catalogue as prior. An error
// names what the programme refers to and the catalogue does not have.
func NewBook(shop *programme.Shop, client *programme.Client, shopKnows *Experience) (*Book, error) {
	b, err := newBook(shop, client)
	if err != nil {
		return nil, err
	}
	b.shopKnows = shopKnows
	if client.Work.WearByMonth != [12]float64{} {
		s := NewSeason(client.Work.WearByMonth)
		b.season = &s
	}
	for _, f := range client.Laundering.Before {
		then := *client
		then.Laundering = client.Laundering.Former(f)
		former, err := newBook(shop, &then)
		if err != nil {
			return nil, err
		}
		b.former = append(b.former, former)
	}
	for _, role := range client.Roles {
		for _, cuts := range role.Cuts() {
			for _, lines := range cuts {
				if err := b.addUses(role.Code, lines, cuts); err != nil {
					return nil, fmt.Errorf("client %s, role %s: %w", client.Code, role.Code, err)
				}
			}
		}
	}
	return b, nil
}

// newBook returns a book that knows of the laundering and of no kit yet.
func newBook(shop *programme.Shop, client *programme.Client) (*Book, error) {
	regime := client.Laundering.Regime
	i := slices.IndexFunc(shop.Baselines.Regimes, func(r programme.Regime) bool { return r.Code == regime })
	if i < 0 {
		return nil, fmt.Errorf("client %s: laundering regime %q is not in the shop's catalogue", client.Code, regime)
	}
	return &Book{shop: shop, client: client, terms: map[Class]*Terms{}, uses: map[useKey]*Use{},
		regime: shop.Baselines.Regimes[i]}, nil
}

// addUses takes up lines of a kit that took each other's place, most by themselves, of
// which the kit may have other cuts.
func (b *Book) addUses(role string, lines programme.Succession, cuts programme.Cuts) error {
	unworn := Absence(lines.Unworn(firstDay, lastDay))
	for _, line := range lines {
		u, err := b.use(line)
		if err != nil {
			return err
		}
		u.line, u.unworn, u.Worn = line, unworn, Worn(lines)
		if len(lines) > 1 || len(cuts) > 1 {
			u.place = cuts[0][0].Former()
		}
		b.uses[useKey{role, line.Garment, line.Colour}] = u
		if any := (useKey{"", line.Garment, line.Colour}); b.uses[any] == nil {
			b.uses[any] = u
		}
	}
	return nil
}

// Use returns what the kit of a role says about a garment and colour. A piece
// that is not in its holder's kit (a former role's) is taken as in the first
// kit that has it; ok is false when no kit has it.
func (b *Book) Use(role, garment, colour string) (u *Use, ok bool) {
	if u, ok = b.uses[useKey{role, garment, colour}]; !ok {
		u, ok = b.uses[useKey{"", garment, colour}]
	}
	return u, ok
}

// uses tells what the kit says of one piece after the other of a history. Neighbours
// mostly are one person's of one garment, so it seldom has to look.
type uses struct {
	book  *Book
	roles map[string]string
	last  *programme.Piece
	use   *Use
	ok    bool
}

func (b *Book) usesIn(h *History) *uses { return &uses{book: b, roles: h.roles} }

// of is Book.Use of a piece.
func (u *uses) of(p *programme.Piece) (*Use, bool) {
	if u.last == nil || u.last.StaffID != p.StaffID || u.last.SKU.Garment != p.SKU.Garment ||
		u.last.SKU.Colour != p.SKU.Colour {
		u.use, u.ok = u.book.Use(u.roles[p.StaffID], p.SKU.Garment, p.SKU.Colour)
	}
	u.last = p
	return u.use, u.ok
}

// Classes returns the life classes of the client, in the order of its kits.
func (b *Book) Classes() []*Terms {
	out := make([]*Terms, len(b.order))
	for i, c := range b.order {
		out[i] = b.terms[c]
	}
	return out
}

func (b *Book) use(line programme.KitLine) (*Use, error) {
	g, ok := b.shop.Garment(line.Garment)
	if !ok {
		return nil, fmt.Errorf("garment %q is not in the shop's catalogue", line.Garment)
	}
	fabric, ok := b.shop.Baselines.Fabric(g.FabricClass)
	if !ok {
		return nil, fmt.Errorf("garment %s: fabric class %q is not in the shop's catalogue", g.Code, g.FabricClass)
	}
	terms, err := b.classOf(g, fabric, line.Decorations)
	if err != nil {
		return nil, err
	}
	perWash := g.WearsPerWash
	if perWash <= 0 {
		perWash = max(fabric.WearsPerWash, 1)
	}
	return &Use{Class: terms, Each: line.Each, PerWeek: line.WearsAWeek / perWash, Limit: g.LabelWashes}, nil
}

func (b *Book) classOf(g *programme.Garment, fabric *programme.FabricBaseline,
	decorations []programme.Decoration) (*Terms, error) {
	t := &Terms{Cloth: b.clothSource(g, fabric), Mishap: b.mishapPrior()}
	counts := map[string]int{}
	kinds := map[string]*programme.TransferKind{}
	for _, d := range decorations {
		art, ok := b.shop.Artwork(d.Artwork)
		if !ok {
			return nil, fmt.Errorf("garment %s: artwork %q is not in the shop's catalogue", g.Code, d.Artwork)
		}
		kind, ok := b.shop.Kind(art.Kind)
		if !ok {
			return nil, fmt.Errorf("artwork %s: transfer kind %q is not in the shop's catalogue", art.Code, art.Kind)
		}
		code := printCode(kind)
		counts[code]++
		kinds[code] = kind
	}
	var names []string
	for _, code := range slices.Sorted(maps.Keys(counts)) {
		s, lasts, err := b.printSource(code, kinds[code])
		if err != nil {
			return nil, err
		}
		if lasts {
			continue
		}
		t.Prints = append(t.Prints, PrintTerms{s, counts[code]})
		for range counts[code] {
			names = append(names, code)
		}
	}
	t.Class = Class{t.Cloth.Code, strings.Join(names, "+")}
	if known := b.terms[t.Class]; known != nil {
		return known, nil
	}
	for i, former := range b.former {
		then, err := former.classOf(g, fabric, decorations)
		if err != nil {
			return nil, err
		}
		t.Former = append(t.Former, FormerWash{b.client.Laundering.Before[i].Until, t.worth(then)})
	}
	b.terms[t.Class] = t
	b.order = append(b.order, t.Class)
	return t, nil
}

// printCode names a kind of print: those fit for industrial laundry live by distributions of their own.
func printCode(kind *programme.TransferKind) string {
	if kind.FitForIndustrial {
		return kind.Decoration + " (industrial)"
	}
	return kind.Decoration
}

// UsualPace returns washes a week of one piece of a class, over the kit lines that
// hold it; 0 where none does.
func (b *Book) UsualPace(t *Terms) float64 {
	sum, n := 0.0, 0
	for i := range b.client.Roles {
		for _, k := range b.client.Roles[i].Kit {
			if u, ok := b.Use(b.client.Roles[i].Code, k.Garment, k.Colour); ok && u.Class == t {
				sum += u.Pace(u.Each)
				n++
			}
		}
	}
	if n == 0 {
		return 0
	}
	return sum / float64(n)
}

// PrintCode returns the Code of the Source of an artwork's print; "" when the
// catalogue does not have it.
func (b *Book) PrintCode(artwork string) string {
	art, ok := b.shop.Artwork(artwork)
	if !ok {
		return ""
	}
	kind, ok := b.shop.Kind(art.Kind)
	if !ok {
		return ""
	}
	return printCode(kind)
}
