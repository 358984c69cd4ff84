package ledger

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
)

// Unplaced are pieces of an order that nobody in the roster could have been given.
type Unplaced struct {
	Order  programme.Movement
	Pieces int
}

// Assumption is the stock of pieces that past orders suggest.
type Assumption struct {
	// Movements hand out what people are assumed to hold still, by day.
	Movements []programme.Movement
	Unplaced  []Unplaced
	// UsedUp are pieces that nobody is assumed to hold any more: later orders have
	// filled the kits of their wearers, or the wearer has left.
	UsedUp int
	// Known are pieces of orders that were imported before.
	Known int
}

// Assume turns past orders, as ReadOrders reads them, into the stock that people are assumed to hold on a
// day. Orders say when pieces were bought and not when any ended, so no ending
// is invented: from the newest order back, pieces go one by one to whoever was
// there on that day, has a kit with that garment and colour, wears that size and
// is short of it most, up to the kit; then to people who started since and are
// short, from their first day. What ledger says is held already counts as held.
//
// Each movement has a ref made of its order, so that the same orders imported
// again are known; of a garment, colour and size no order is taken that is not
// newer than the newest known.
func Assume(orders []programme.Movement, people []programme.Person, client *programme.Client,
	catalogue []programme.Garment, ledger []programme.Movement, asOf programme.Date) Assumption {
	s := &spreader{people: slices.Clone(people), client: client, shop: &programme.Shop{Garments: catalogue}, asOf: asOf,
		garments: map[string]*programme.Garment{}, held: map[holding]int{}, serial: map[string]int{}}
	slices.SortFunc(s.people, func(a, b programme.Person) int { return cmp.Compare(a.StaffID, b.StaffID) })
	for i := range catalogue {
		s.garments[catalogue[i].Code] = &catalogue[i]
	}
	known := s.recall(ledger)
	sorted := slices.Clone(orders)
	slices.SortStableFunc(sorted, func(a, b programme.Movement) int {
		return cmp.Or(cmp.Compare(b.Date, a.Date), cmp.Compare(a.SKU.String(), b.SKU.String()),
			cmp.Compare(a.Ref, b.Ref))
	})
	for i := range sorted {
		if o := &sorted[i]; o.Date <= known[o.SKU] {
			s.out.Known += o.Pieces
		} else {
			s.spread(o)
		}
	}
	slices.SortStableFunc(s.out.Movements, func(a, b programme.Movement) int { return cmp.Compare(a.Date, b.Date) })
	return s.out
}

type holding struct {
	staff string
	sku   programme.SKU
}

type spreader struct {
	people   []programme.Person
	client   *programme.Client
	shop     *programme.Shop // of the catalogue alone
	asOf     programme.Date
	garments map[string]*programme.Garment
	held     map[holding]int
	serial   map[string]int
	out      Assumption
}

// orderPrefix begins the ref of an assumed piece; the day of its order follows.
const orderPrefix = "order "

// recall counts what is held by the ledger and returns the day of the newest
// order that was imported before, by garment, colour and size.
func (s *spreader) recall(ledger []programme.Movement) map[programme.SKU]programme.Date {
	newest := map[programme.SKU]programme.Date{}
	for i := range ledger {
		m := &ledger[i]
		at := holding{m.StaffID, m.SKU}
		switch m.Kind {
		case programme.Issued:
			s.held[at] += m.Pieces
		case programme.Ended:
			s.held[at] = max(0, s.held[at]-m.Pieces)
		case programme.Counted:
			s.held[at] = m.Pieces
		}
		if day, rest := strings.CutPrefix(m.Ref, orderPrefix); rest && m.Assumed {
			word, _, _ := strings.Cut(day, " ")
			if on, err := programme.ParseDate(word); err == nil {
				newest[m.SKU] = max(newest[m.SKU], on)
			}
		}
	}
	return newest
}

func (s *spreader) spread(o *programme.Movement) {
	there, since := s.wearers(o)
	if len(there)+len(since) == 0 {
		s.out.Unplaced = append(s.out.Unplaced, Unplaced{Order: *o, Pieces: o.Pieces})
		return
	}
	for range o.Pieces {
		p := s.shortest(there, o)
		if p == nil {
			p = s.shortest(since, o)
		}
		if p == nil {
			s.out.UsedUp++
			continue
		}
		s.give(o, p)
	}
}

// shortest returns who of the wearers is short of most pieces of the kit, the lower
// staff number of equals; nil when nobody is. Who has none of it in the kit, and
// is named by the order, takes what it says.
func (s *spreader) shortest(wearers []*programme.Person, o *programme.Movement) *programme.Person {
	var best *programme.Person
	most := 0
	for _, p := range wearers {
		each := s.each(p, o.SKU)
		if each == 0 && o.StaffID != "" {
			return p
		}
		if short := each - s.held[holding{p.StaffID, o.SKU}]; short > most {
			best, most = p, short
		}
	}
	return best
}

// wearers returns who could have been given the pieces, by staff number: those who
// were there on the day, and those who have started since.
func (s *spreader) wearers(o *programme.Movement) (there, since []*programme.Person) {
	for i := range s.people {
		p := &s.people[i]
		switch {
		case o.StaffID != "" && p.StaffID != o.StaffID:
		case o.StaffID != "":
			return []*programme.Person{p}, nil
		case s.each(p, o.SKU) == 0 || !s.fits(p, o.SKU):
		case p.ActiveOn(o.Date):
			there = append(there, p)
		case p.Start > o.Date && p.ActiveOn(s.asOf):
			since = append(since, p)
		}
	}
	return there, since
}

// fits reports whether a person wears the size; what has one size fits everybody.
func (s *spreader) fits(p *programme.Person, sku programme.SKU) bool {
	g := s.garments[sku.Garment]
	return g != nil && (len(g.Sizes) == 1 || p.Sizes[g.SizeFamily] == sku.Size)
}

// each returns how many pieces the person's kit has of a garment and colour.
func (s *spreader) each(p *programme.Person, sku programme.SKU) int {
	role, ok := s.client.Role(p.Role)
	if !ok {
		return 0
	}
	if l, ok := role.For(s.shop, p).Line(sku.Garment, sku.Colour); ok {
		return l.Each
	}
	return 0
}

// give lets a person hold one piece of an order; of leavers nothing is written.
func (s *spreader) give(o *programme.Movement, p *programme.Person) {
	s.held[holding{p.StaffID, o.SKU}]++
	if !p.ActiveOn(max(s.asOf, p.Start)) {
		s.out.UsedUp++
		return
	}
	base := fmt.Sprintf(orderPrefix+"%s %s %s", o.Date, o.SKU, o.Ref)
	s.serial[base]++
	s.out.Movements = append(s.out.Movements, programme.Movement{
		Date: max(o.Date, p.Start), Kind: programme.Issued, StaffID: p.StaffID, SKU: o.SKU, Pieces: 1,
		Ref: fmt.Sprintf("%s #%d", base, s.serial[base]), Assumed: true,
	})
}
