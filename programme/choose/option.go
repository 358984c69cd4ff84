package choose

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// Life is the life of pieces, as mean and as what one, five and nine in ten do not outlive.
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
	// PiecesAYear is the number of pieces that one wearer's place needs a year, wear and leavers together.
	PiecesAYear float64 `json:"pieces_per_wearer_and_year"`
	// CostAMonth is the client's cost per wearer and month; ShopCostAMonth what it costs the shop.
	CostAMonth     programme.Money `json:"cost_per_wearer_and_month"`
	ShopCostAMonth programme.Money `json:"shop_cost_per_wearer_and_month"`
	Notes          []string        `json:"notes,omitempty"`

	monthly float64 // CostAMonth before rounding
}

// option works one candidate out; nil when its artwork fits no sheet of the kind.
func (q *Question) option(g *programme.Garment, kinds []string, wash programme.Laundering,
	markup float64) (*Option, error) {
	shop, client, line := q.suppose(g, kinds, wash)
	b, err := believe(q, shop, client, q.Role, line)
	if err != nil {
		return nil, err
	}
	leaving := client.Leavers.PerYear
	if leaving == 0 && !client.Leavers.Nobody {
		leaving = shop.Baselines.LeaversPerYear
	}
	if client.ReissueLifeLeft > 0 {
		leaving = 0 // a leaver's pieces go out again
	}
	out := b.outcome(leaving)
	o := &Option{Garment: g.Code, Name: g.Name, Kind: kindName(kinds), Present: g.Code == q.Line.Garment &&
		q.isNow(kinds)}
	o.Washes = Life{out.mean, out.quantiles[0], out.quantiles[1], out.quantiles[2]}
	o.Months = o.Washes.times(1 / (b.pace * weeksPerMonth))
	o.EndedBy = Endings{out.cloth, out.print, out.mishap, out.label}
	o.PiecesAYear = out.perYear * float64(line.Each)
	cost, ok := q.cost(shop, g, line, o.PiecesAYear)
	if !ok {
		return nil, nil
	}
	price := cost * markup
	if p, ok := client.PriceOf(g.Code, "", q.AsOf); ok {
		price = p.Float()
	}
	o.Cost, o.Price = toMoney(cost), toMoney(price)
	o.monthly = price * o.PiecesAYear / monthsPerYear
	o.CostAMonth, o.ShopCostAMonth = toMoney(o.monthly), toMoney(cost*o.PiecesAYear/monthsPerYear)
	o.Notes = q.notes(g, line)
	return o, nil
}

func toMoney(v float64) programme.Money { return programme.Money(math.Round(v * 100)) }

// cost returns what one decorated piece costs the shop: the blank, its prints, the pressing
// of each place, and the pieces that go wrong.
func (q *Question) cost(shop *programme.Shop, g *programme.Garment, line *programme.KitLine,
	perYear float64) (float64, bool) {
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

// stockMonths is the time for which screen-printed logos are bought ahead: 3 to 6 months is
// common practice, no source, since they are cheap and keep long.
const stockMonths = 6

// orderWeeks is the time that an order usually lasts where the programme sets no limit
// (common practice, no source: about four orders a year).
const orderWeeks = 13

// orderedTogether returns the number of one print in an order: an order's need of
// digital prints, half a year's of screen-printed ones.
func (q *Question) orderedTogether(k *programme.TransferKind, perYear float64) int {
	weeks := orderWeeks
	if q.Client.CoverWeeks > 0 {
		weeks = min(weeks, q.Client.CoverWeeks)
	}
	years := float64(weeks) / weeksPerYear
	if k.Process == programme.ScreenPrinted {
		years = max(years, min(stockMonths/float64(monthsPerYear), float64(k.ShelfDays)/365))
	}
	return max(1, int(math.Round(perYear*float64(q.Wearers)*years)))
}

func (q *Question) notes(g *programme.Garment, line *programme.KitLine) []string {
	var notes []string
	if !slices.Contains(g.Colours, line.Colour) {
		notes = append(notes, fmt.Sprintf("not sold in %s (but in %s)", line.Colour, strings.Join(g.Colours, ", ")))
	}
	if g.Protective != programme.NotProtective {
		notes = append(notes, "protective clothing: its label and your client's safety officer decide, not its price")
	}
	return notes
}
