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
	// Sooner are those of Pieces that the programme before has too, on a later day.
	Sooner int
	People int
	// Price is what the customer pays for them, and Cost what the blanks cost; Priced
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
	for _, d := range byDay(after.Dues()) {
		k := claimOf(after, d.Short)
		more := take(owed[k], d.Pieces, d.On)
		if more <= 0 {
			continue
		}
		sooner := more - take(owed[k], more, never)
		s := d.Short
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
	return out
}

const never programme.Date = math.MaxInt32

func byDay(list []demand.Due) []demand.Due {
	slices.SortStableFunc(list, func(a, b demand.Due) int { return cmp.Compare(a.On, b.On) })
	return list
}

// take uses up pieces that are due by a day and returns how many more it takes.
func take(owed []demand.Due, pieces int, by programme.Date) (more int) {
	for i := range owed {
		if owed[i].On <= by {
			n := min(pieces, owed[i].Pieces)
			owed[i].Pieces -= n
			pieces -= n
		}
	}
	return pieces
}

func (r *Raise) add(in *demand.Input, s demand.Short, sooner, people int) {
	r.Pieces += s.Pieces
	r.Sooner += sooner
	r.People = people
	price, ok := in.Client.PriceOf(s.Garment, s.Size, in.AsOf)
	r.Priced = r.Priced && ok
	cost, _ := in.Shop.BlankCost(s.SKU)
	r.Price += price * programme.Money(s.Pieces)
	r.Cost += cost * programme.Money(s.Pieces)
}

// claim is what somebody is owed of one place of the kit, in whichever cut.
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
	return fmt.Sprintf("%d %s for %s, due %s: %s", r.Pieces, name(shop, r.Garment, r.Colour), programme.NumberOf(r.People, "person"), when, r.Money(shop))
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
