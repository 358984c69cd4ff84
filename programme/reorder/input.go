package reorder

import (
	"cmp"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

// Input is all that a proposal to one client is decided from.
type Input struct {
	Shop   *programme.Shop
	Client *programme.Client
	AsOf   programme.Date
	// NextRound is the date of the next round; no date = AsOf and the shop's review time.
	NextRound programme.Date
	// Lines in any order, one for each garment, colour and size.
	Lines []Stocked
	// Outlooks are the pieces in service over the quantity horizon, for naming.
	Outlooks []demand.Outlook
	// Date fills in the dates of Outlooks, which takes time; nil = they are there.
	Date func()
	// Owed names who is short of which pieces today. Owed pieces of a line that
	// nobody here is named for go to the pool.
	Owed []Owed
	// Coming names the kits of people whose first day is known and still to come.
	Coming []Owed
	// Total is the demand for all lines together over the quantity horizon; without
	// it lines are taken as independent.
	Total demand.Distribution
	// Leaving is the expected separations per head and year.
	Leaving float64
	// People is the number of people on the roster today.
	People int
	// Last is the newest order that the client said yes to; nil = none.
	Last *Last
	// Alongside holds the purchases of the round's other proposals, which count towards minimums, price breaks and
	// free freight.
	Alongside Alongside
}

// Stocked is one garment, colour and size with its demand and its stock.
type Stocked struct {
	// Trigger is the demand over review and lead time. Without a distribution
	// it is derived from Quantity (see Spread.At).
	Trigger demand.Line
	// Quantity is the demand over the longer horizon (Horizon.Quantity).
	Quantity demand.Line
	// OnHand are finished pieces of this client on the shelf; OnOrder those on
	// their way, expected within the trigger horizon, and OnOrderLater those
	// expected after it; Owed pieces are missing from somebody's kit today.
	OnHand, OnOrder, OnOrderLater, Owed int
	// Blanks on the shelf or on their way that no other proposal has taken.
	Blanks int
	// RunsOut lines are used up and never bought; see RunOut.
	RunsOut bool
	// Presses is the number of transfers that go on one piece; 0 = as the client's kits say.
	Presses int
	// TransferCost is the expected cost of the transfers of one piece.
	TransferCost programme.Money
}

// Owed is pieces that one person is short of today.
type Owed struct {
	StaffID string
	programme.SKU
	Pieces int
	// Begins is the first day of the season, or of the change of kit, for which they are
	// needed; none for what is missing today, or for people who have yet to come.
	Begins programme.Date
}

// Alongside is bought from the same suppliers in the same round for others.
type Alongside struct {
	Garments  map[string]int             // pieces by garment
	Suppliers map[string]programme.Money // value by supplier
}

// Stock joins the lines of two musters, over the trigger and over the quantity
// horizon, with the stock figures that they carry: what is on order for a day
// within the longer horizon only comes later. Without a trigger muster the
// short horizon is derived from the long one (see Spread.At).
func Stock(trigger, quantity []demand.Line) []Stocked {
	near := make(map[programme.SKU]demand.Line, len(trigger))
	for _, l := range trigger {
		near[l.SKU] = l
	}
	out := make([]Stocked, 0, len(quantity))
	for _, l := range quantity {
		s := Stocked{Trigger: near[l.SKU], Quantity: l, OnHand: l.OnHand, OnOrder: l.OnOrder, Owed: l.Owed}
		if len(s.Trigger.PMF) > 0 {
			s.OnOrder = min(s.Trigger.OnOrder, l.OnOrder)
			s.OnOrderLater = l.OnOrder - s.OnOrder
		}
		out = append(out, s)
	}
	return out
}

// sku returns what the line is about.
func (s *Stocked) sku() programme.SKU { return s.Quantity.SKU }

// position returns the stock position of the line, the only one that quantities and
// the time of the next order are reckoned from: what is on the shelf and on
// order, whenever it comes, less what is owed.
func (s *Stocked) position() int { return s.OnHand + s.OnOrder + s.OnOrderLater - s.Owed }

// nearPosition returns the part of it that is there within the trigger horizon; it
// tells how short the client will run meanwhile.
func (s *Stocked) nearPosition() int { return s.OnHand + s.OnOrder - s.Owed }

// horizon returns both horizons of the input, the trigger's from the real date
// of the next round.
func (in *Input) horizon() Horizon {
	h := Horizons(in.Shop, in.Client, in.AsOf)
	if !in.NextRound.IsZero() {
		review := in.NextRound.Sub(in.AsOf)
		h.Trigger = weeks(review + LeadOfClient(in.Shop, in.Client).DaysFrom(in.AsOf, review))
		h.Quantity = max(h.Quantity, h.Trigger)
	}
	return h
}

func (in *Input) nextRound() programme.Date {
	if in.NextRound.IsZero() {
		return in.AsOf.Add(in.Shop.ReviewDays)
	}
	return in.NextRound
}

// review returns the days between two rounds, at least one.
func (in *Input) review() int { return max(1, in.nextRound().Sub(in.AsOf)) }

// sorted returns the lines in the order in which people read them: garments as
// in the shop's catalogue, colours by name, sizes from small to large.
func (in *Input) sorted() []Stocked {
	rank := sizeRanks(in.Shop)
	out := append([]Stocked(nil), in.Lines...)
	slices.SortStableFunc(out, func(x, y Stocked) int {
		a, b := x.sku(), y.sku()
		ra, rb := rank[a.Garment], rank[b.Garment]
		return cmp.Or(cmp.Compare(ra.garment, rb.garment), strings.Compare(a.Garment, b.Garment),
			strings.Compare(a.Colour, b.Colour),
			cmp.Compare(ra.size[a.Size], rb.size[b.Size]), strings.Compare(a.Size, b.Size))
	})
	return out
}

type garmentRank struct {
	garment int
	size    map[string]int
}

func sizeRanks(shop *programme.Shop) map[string]garmentRank {
	out := make(map[string]garmentRank, len(shop.Garments))
	for i, g := range shop.Garments {
		sizes := make(map[string]int, len(g.Sizes))
		for j, s := range g.Sizes {
			sizes[s.Code] = j + 1
		}
		out[g.Code] = garmentRank{garment: i, size: sizes}
	}
	return out
}

// protective reports whether the shop sells the garment as protective clothing.
func (in *Input) protective(garment string) bool {
	g, ok := in.Shop.Garment(garment)
	return ok && g.Protective != programme.NotProtective
}
