package kitchange

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

// Ended is a garment and colour of a client's kits that its supplier has
// discontinued, in some sizes or in all.
type Ended struct {
	Garment, Colour string
	Sizes           []string
	All             bool
	// Held and People are of those sizes alone, as are the others.
	Held, People int
	// There are finished pieces of the client and blanks, on the shelf and on their way.
	There int
	// AYear is the expected need of a year, in pieces.
	AYear float64
	// Instead is the line of the kits that takes its place from a day on; none = nothing yet.
	Instead programme.Former
	From    programme.Date
	// Others can be had in its place: garments and colours in the same sizes.
	Others []programme.Former
}

// LastOrder is the number of pieces that a year's need lacks beside what is there. A year is what a shop
// can oversee, and what suppliers' last pieces are usually gone in (common practice,
// no source).
func (e *Ended) LastOrder() int { return max(0, int(math.Ceil(e.AYear-float64(e.There)))) }

// EndedOf lists what the client's kits have of discontinued items, in the order of
// the kits; ahead is the client's muster, from which a year's need is reckoned.
func EndedOf(in *demand.Input, ahead *demand.Muster, stock []programme.StockLine) []Ended {
	var out []Ended
	seen := map[programme.Former]bool{}
	for i := range in.Client.Roles {
		role := &in.Client.Roles[i]
		for _, lines := range role.Successions() {
			for j := range lines {
				l := &lines[j]
				g, ok := in.Shop.Garment(l.Garment)
				if !ok || seen[l.Former()] || !l.Until.IsZero() && l.Until < in.AsOf {
					continue
				}
				e := Ended{Garment: l.Garment, Colour: l.Colour}
				for _, z := range g.Sizes {
					if in.Shop.Item(programme.SKU{Garment: l.Garment, Colour: l.Colour,
						Size: z.Code}).Supply == programme.Discontinued {
						e.Sizes = append(e.Sizes, z.Code)
					}
				}
				if len(e.Sizes) == 0 {
					continue
				}
				seen[l.Former()] = true
				e.All = len(e.Sizes) == len(g.Sizes)
				if next, ok := role.Following(l.Former()); ok {
					e.Instead, e.From = next.Former(), next.From
				}
				e.measure(in, ahead, stock)
				if e.Held+e.There > 0 || e.AYear >= 0.5 {
					out = append(out, e)
				}
			}
		}
	}
	return out
}

func (e *Ended) has(k programme.SKU) bool {
	return k.Garment == e.Garment && k.Colour == e.Colour && slices.Contains(e.Sizes, k.Size)
}

func (e *Ended) measure(in *demand.Input, ahead *demand.Muster, stock []programme.StockLine) {
	who := map[string]bool{}
	for i := range in.History.InService {
		if p := &in.History.InService[i]; e.has(p.SKU) {
			e.Held++
			who[p.StaffID] = true
		}
	}
	e.People = len(who)
	for goods, p := range programme.Positions(stock, 0) {
		mine := goods.Kind == programme.Finished && goods.Client == in.Client.Code || goods.Kind == programme.Blank
		if mine && e.has(goods.SKU()) {
			e.There += p.Together()
		}
	}
	for i := range ahead.Lines {
		if l := &ahead.Lines[i]; e.has(l.SKU) {
			e.AYear += float64(l.Owed) + l.Mean*52/float64(max(1, ahead.Weeks))
		}
	}
	e.Others = e.others(in.Shop)
}

// others are the same garment in other colours, and garments of the same cloth and
// sizes in the same colour, that suppliers still have in all the sizes; the first few.
func (e *Ended) others(shop *programme.Shop) (out []programme.Former) {
	const most = 3
	own, _ := shop.Garment(e.Garment)
	for i := range shop.Garments {
		g := &shop.Garments[i]
		if g.Code != own.Code && (g.FabricClass != own.FabricClass || g.SizeFamily != own.SizeFamily ||
			g.Protective != own.Protective) {
			continue
		}
		for _, colour := range g.Colours {
			same := g.Code == own.Code
			if same == (colour == e.Colour) || !e.inSupply(shop, g, colour) {
				continue
			}
			if out = append(out, programme.Former{Garment: g.Code, Colour: colour}); len(out) == most {
				return out
			}
		}
	}
	return out
}

func (e *Ended) inSupply(shop *programme.Shop, g *programme.Garment, colour string) bool {
	return !slices.ContainsFunc(e.Sizes, func(size string) bool {
		_, made := g.Size(size)
		return !made || shop.Item(programme.SKU{Garment: g.Code, Colour: colour,
			Size: size}).Supply == programme.Discontinued
	})
}

// Words says in a sentence what has run out, and Do what may be done about it.
func (e *Ended) Words(shop *programme.Shop) string {
	sizes := ""
	if !e.All {
		sizes = " in " + strings.Join(e.Sizes, ", ")
	}
	return fmt.Sprintf("%s%s is discontinued by its supplier. %s hold %d of it, %d lie on the shelf or are on their way, and about %.0f will be needed in a year.",
		name(shop, e.Garment, e.Colour), sizes, programme.NumberOf(e.People, "person"), e.Held, e.There, e.AYear)
}

// Do says what may be done: nothing more where the kit names what takes its place.
func (e *Ended) Do(shop *programme.Shop) string {
	if e.Instead != (programme.Former{}) {
		return fmt.Sprintf("%s takes its place from %s; nothing of it is ordered after that.",
			name(shop, e.Instead.Garment, e.Instead.Colour), shop.DateStyle.Date(e.From))
	}
	var ways []string
	if n := e.LastOrder(); n > 0 {
		ways = append(ways, fmt.Sprintf("Order the last %d while there are any", n))
	} else {
		ways = append(ways, "What is there lasts about a year")
	}
	instead := fmt.Sprintf("name what takes its place in the kit (instead_of: %s/%s, change: run-out; see 'kitmuster help changes')", e.Garment, e.Colour)
	if len(e.Others) > 0 {
		var names []string
		for _, o := range e.Others {
			names = append(names, name(shop, o.Garment, o.Colour))
		}
		instead += "; to be had are " + strings.Join(names, "; ")
	}
	return ways[0] + ", or " + instead + "."
}
