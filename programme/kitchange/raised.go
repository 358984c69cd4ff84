package kitchange

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

// Raise is pieces of one garment and colour that people are owed by another
// programme and were not by the one before.
type Raise struct {
	Garment, Colour string
	// On is the day on which they are due; no date = as soon as the programme is applied.
	On     programme.Date
	Pieces int
	// Instead are pieces that are owed anyway and become dearer ones of another garment,
	// colour or cut; a Raise has either these or Pieces. Price and Cost are what is added.
	Instead int
	// Sooner counts the pieces among them that the programme before has too, on a later day.
	Sooner int
	People int
	// Price is the customer's price of them all, and Cost the cost of the blanks; Priced
	// says that every piece has a price.
	Price, Cost programme.Money
	Priced      bool
}

// Raised compares what people are owed, now and on days that are known, by one
// programme and by the next; both stand for the same records. What is due sooner than
// before is more until then. A line that took the place of another counts as that one.
func Raised(before, after *demand.Input) []Raise {
	owed := map[claim][]demand.Due{}
	for _, d := range before.Dues() {
		k := claimOf(after, d.Short)
		owed[k] = append(owed[k], d)
	}
	at := map[string]int{}
	var out []Raise
	people := map[string]map[string]bool{}
	var dearer []instead
	for _, d := range byDay(after.Dues()) {
		k := claimOf(after, d.Short)
		w := worth{in: after}
		more := w.take(owed[k], d.Pieces, d.On)
		sooner := more
		if more > 0 {
			sooner -= w.take(owed[k], more, never)
		}
		s := d.Short
		if price, cost := w.dearer(s); price > 0 || price == 0 && cost > 0 {
			dearer = append(dearer, instead{s, w.pieces, price, cost})
		}
		if more <= 0 {
			continue
		}
		s.Pieces = more
		key := fmt.Sprintf("%s/%s/%d", s.Garment, s.Colour, s.Begins)
		i, seen := at[key]
		if !seen {
			i = len(out)
			at[key], people[key] = i, map[string]bool{}
			out = append(out, Raise{Garment: s.Garment, Colour: s.Colour, On: s.Begins, Priced: true})
		}
		people[key][s.StaffID] = true
		out[i].add(after, s, sooner, len(people[key]))
	}
	slices.SortStableFunc(out, func(a, b Raise) int { return cmp.Compare(a.On, b.On) })
	return append(out, joined(after, dearer)...)
}

// instead is pieces that somebody is owed in place of cheaper ones.
type instead struct {
	demand.Short
	pieces      int
	price, cost programme.Money
}

// joined adds up what becomes dearer by garment and colour.
func joined(in *demand.Input, list []instead) (out []Raise) {
	who := map[programme.Former]map[string]bool{}
	for _, x := range list {
		of := programme.Former{Garment: x.Garment, Colour: x.Colour}
		i := slices.IndexFunc(out, func(r Raise) bool { return r.Garment == of.Garment && r.Colour == of.Colour })
		if i < 0 {
			i = len(out)
			out = append(out, Raise{Garment: x.Garment, Colour: x.Colour, Priced: true})
			who[of] = map[string]bool{}
		}
		who[of][x.StaffID] = true
		r := &out[i]
		_, priced := in.Client.PriceOf(x.Garment, x.Size, in.AsOf)
		r.Instead, r.People, r.Priced = r.Instead+x.pieces, len(who[of]), r.Priced && priced
		r.Price, r.Cost = r.Price+x.price, r.Cost+x.cost
	}
	return out
}

const never programme.Date = math.MaxInt32

func byDay(list []demand.Due) []demand.Due {
	slices.SortStableFunc(list, func(a, b demand.Due) int { return cmp.Compare(a.On, b.On) })
	return list
}

// worth adds up pieces that were owed before, and what they come to by today's prices.
type worth struct {
	in          *demand.Input
	pieces      int
	price, cost programme.Money
}

// take uses up pieces that are due by a day and returns how many more it takes.
func (w *worth) take(owed []demand.Due, pieces int, by programme.Date) (more int) {
	for i := range owed {
		if n := min(pieces, owed[i].Pieces); n > 0 && owed[i].On <= by {
			owed[i].Pieces -= n
			pieces -= n
			price, cost := worthOf(w.in, owed[i].Short)
			w.pieces, w.price, w.cost = w.pieces+n, w.price+price*programme.Money(n), w.cost+cost*programme.Money(n)
		}
	}
	return pieces
}

// dearer is by how much as many pieces of another kind come to more than those taken.
func (w *worth) dearer(s demand.Short) (price, cost programme.Money) {
	price, cost = worthOf(w.in, s)
	n := programme.Money(w.pieces)
	return max(0, price*n-w.price), max(0, cost*n-w.cost)
}

// worthOf returns the price of a piece and the cost of its blank.
func worthOf(in *demand.Input, s demand.Short) (price, cost programme.Money) {
	price, _ = in.Client.PriceOf(s.Garment, s.Size, in.AsOf)
	cost, _ = in.Shop.BlankCost(s.SKU)
	return price, cost
}

func (r *Raise) add(in *demand.Input, s demand.Short, sooner, people int) {
	r.Pieces += s.Pieces
	r.Sooner += sooner
	r.People = people
	_, ok := in.Client.PriceOf(s.Garment, s.Size, in.AsOf)
	r.Priced = r.Priced && ok
	price, cost := worthOf(in, s)
	r.Price += price * programme.Money(s.Pieces)
	r.Cost += cost * programme.Money(s.Pieces)
}

// claim holds the pieces that a person is owed of one place of the kit, in whichever cut.
type claim struct {
	staffID string
	of      programme.Former
}

// claimOf finds the place by the kits of the programme that is to be.
func claimOf(in *demand.Input, s demand.Short) claim {
	c := claim{s.StaffID, programme.Former{Garment: s.Garment, Colour: s.Colour}}
	role, ok := in.Client.Role(programme.Roster(in.Staff).Role(s.StaffID))
	if !ok {
		return c
	}
	for _, cuts := range role.Cuts() {
		if cuts.Has(s.Garment, s.Colour) {
			c.of = cuts[0][0].Former()
		}
	}
	return c
}

// Sum adds raises up.
func Sum(list []Raise) (all Raise) {
	all.Priced = true
	for _, r := range list {
		all.Pieces += r.Pieces
		all.Sooner += r.Sooner
		all.Price += r.Price
		all.Cost += r.Cost
		all.Priced = all.Priced && r.Priced
	}
	return all
}

// Words says what the raise comes to: 101 tee, black for 26 people, $1,469.50.
func (r *Raise) Words(shop *programme.Shop) string {
	if r.Instead > 0 {
		return fmt.Sprintf("%d %s for %s in place of cheaper ones: %s more", r.Instead, name(shop, r.Garment, r.Colour),
			programme.NumberOf(r.People, "person"), r.Money(shop))
	}
	when := "at once"
	if !r.On.IsZero() {
		when = "on " + shop.DateStyle.Date(r.On)
	}
	switch {
	case r.Sooner == r.Pieces:
		when += ", until now later"
	case r.Sooner > 0:
		when += fmt.Sprintf(", %d of them until now later", r.Sooner)
	}
	return fmt.Sprintf("%d %s for %s, due %s: %s", r.Pieces, name(shop, r.Garment, r.Colour),
		programme.NumberOf(r.People, "person"), when, r.Money(shop))
}

// Money says what the pieces come to, by the customer's prices where there are all of
// them, else what the blanks cost.
func (r *Raise) Money(shop *programme.Shop) string {
	if r.Priced {
		return r.Price.In(shop.Currency)
	}
	return "blanks for " + r.Cost.In(shop.Currency)
}

// name is a garment in a colour as people call it: Apron, burgundy.
func name(shop *programme.Shop, garment, colour string) string {
	what := shop.GarmentName(garment)
	if colour != "" {
		what += ", " + colour
	}
	return what
}
