package ledger

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Order is one row of a shop's past orders: pieces that went to a client on a
// day, with a name or without.
type Order struct {
	Line    int
	Date    programme.Date
	StaffID string // empty = nobody knows who got them
	SKU     programme.SKU
	Pieces  int
	Ref     string
}

// maxOrdered is more than one order row of one size brings.
const maxOrdered = 100000

// ReadOrders reads past orders: date, garment, colour, size, pieces and, where
// they are known, staff_id and ref.
func ReadOrders(file string, data []byte, opt Options) ([]Order, *table.Table, error) {
	cols := columns()
	cols[colMovement].Required, cols[colStaff].Required = false, false
	t, err := table.Open(file, data, table.Options{Columns: cols, Headings: opt.Headings, Stated: opt.Stated, Dates: opt.Dates, Sheet: opt.Sheet, Latest: opt.Latest})
	if err != nil {
		return nil, nil, err
	}
	if t.Has(colMovement) {
		return nil, nil, table.Errors{{File: file, Want: "this file has a column movement, so it is a ledger and not a list of orders; import it without --orders"}}
	}
	r := newReader(t, &opt)
	var list []Order
	if err := t.Read(func(row *table.Row) { list = r.order(row, list) }, r.wrong); err != nil {
		return nil, nil, err
	}
	list = r.settleOrders(list)
	if len(r.errs) > 0 {
		r.errs.Sort()
		return list, t, r.errs
	}
	return list, t, nil
}

func (r *reader) order(row *table.Row, list []Order) []Order {
	before := len(r.errs)
	o := Order{Line: row.Line, Date: programme.Date(row.Date(colDate)), SKU: r.sku(row), Ref: r.word(row.Text(colRef))}
	if o.Date == 0 {
		r.wrong(row.Wrong(colDate, "the date is missing; write it as year-month-day, such as 2026-03-09"))
	}
	if row.Text(colStaff) != "" {
		o.StaffID = r.person(row)
	}
	n, want := Pieces(row.Text(colPieces), 1, maxOrdered)
	if want != "" {
		r.wrong(row.Wrong(colPieces, want))
	}
	o.Pieces = n
	if len(r.errs) > before {
		return list
	}
	return append(list, o)
}

func (r *reader) settleOrders(list []Order) []Order {
	kept := list[:0]
	for _, o := range list {
		date, want := r.t.Dates.Date(int(o.Date))
		if want != "" {
			r.wrong(r.t.Wrong(o.Line, colDate, r.t.Dates.Text(int(o.Date)), want))
			continue
		}
		o.Date = date
		kept = append(kept, o)
	}
	return kept
}

// Unplaced are pieces of an order that nobody in the roster of that day could
// have been given.
type Unplaced struct {
	Order  Order
	Pieces int
}

// Spread turns past orders into a ledger that is marked as assumed. Pieces
// without a name go, one by one, to whoever of that day's roster has a kit with
// that garment and colour, wears that size and holds the fewest; the lower
// staff number takes the first of equals. Who holds as many as the kit says
// already is taken to have worn out the oldest: that piece ends on the day,
// for a reason that nobody wrote down.
//
// Movements come in order of days, each with a ref made of its order, so that
// the same orders imported again are known. What cannot be placed is returned,
// not invented.
func Spread(orders []Order, people []programme.Person, client *programme.Client, catalogue []programme.Garment) ([]programme.Movement, []Unplaced) {
	s := &spreader{people: slices.Clone(people), client: client, families: map[string]string{}, held: map[holding]int{}, serial: map[string]int{}}
	slices.SortFunc(s.people, func(a, b programme.Person) int { return cmp.Compare(a.StaffID, b.StaffID) })
	for i := range catalogue {
		s.families[catalogue[i].Code] = catalogue[i].SizeFamily
	}
	sorted := slices.Clone(orders)
	slices.SortStableFunc(sorted, func(a, b Order) int {
		return cmp.Or(cmp.Compare(a.Date, b.Date), cmp.Compare(a.SKU.String(), b.SKU.String()), cmp.Compare(a.Ref, b.Ref))
	})
	for i := range sorted {
		s.spread(&sorted[i])
	}
	return s.ledger, s.unplaced
}

type holding struct {
	staff string
	sku   programme.SKU
}

type spreader struct {
	people   []programme.Person
	client   *programme.Client
	families map[string]string
	held     map[holding]int
	serial   map[string]int
	ledger   []programme.Movement
	unplaced []Unplaced
}

func (s *spreader) spread(o *Order) {
	wearers := s.wearers(o)
	if len(wearers) == 0 {
		s.unplaced = append(s.unplaced, Unplaced{Order: *o, Pieces: o.Pieces})
		return
	}
	for range o.Pieces {
		p := wearers[0]
		for _, w := range wearers[1:] {
			if s.held[holding{w.StaffID, o.SKU}] < s.held[holding{p.StaffID, o.SKU}] {
				p = w
			}
		}
		s.give(o, p)
	}
}

// wearers are who could have been given the pieces, by staff number.
func (s *spreader) wearers(o *Order) []*programme.Person {
	var list []*programme.Person
	for i := range s.people {
		p := &s.people[i]
		if o.StaffID != "" {
			if p.StaffID == o.StaffID {
				return []*programme.Person{p}
			}
			continue
		}
		if p.ActiveOn(o.Date) && s.each(p, o.SKU) > 0 && p.Sizes[s.families[o.SKU.Garment]] == o.SKU.Size {
			list = append(list, p)
		}
	}
	return list
}

// each is how many pieces the person's kit has of a garment and colour.
func (s *spreader) each(p *programme.Person, sku programme.SKU) int {
	role, ok := s.client.Role(p.Role)
	if !ok {
		return 0
	}
	for i := range role.Kit {
		if k := &role.Kit[i]; k.Garment == sku.Garment && k.Colour == sku.Colour {
			return k.Each
		}
	}
	return 0
}

func (s *spreader) give(o *Order, p *programme.Person) {
	base := fmt.Sprintf("order %s %s %s", o.Date, o.SKU, o.Ref)
	s.serial[base]++
	ref := fmt.Sprintf("%s #%d", base, s.serial[base])
	at := holding{p.StaffID, o.SKU}
	m := programme.Movement{Date: o.Date, Kind: programme.Issued, StaffID: p.StaffID, SKU: o.SKU, Pieces: 1, Ref: ref, Assumed: true}
	if each := s.each(p, o.SKU); each > 0 && s.held[at] >= each {
		end := m
		end.Kind, end.Ref = programme.Ended, ref+" replaced"
		s.ledger = append(s.ledger, end)
		s.held[at]--
	}
	s.ledger = append(s.ledger, m)
	s.held[at]++
}
