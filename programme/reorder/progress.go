package reorder

import (
	"cmp"
	"fmt"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Progress counts how far the pieces of a line have come. At every moment
//
//	Order = Pressed + Outstanding + GivenUp
//
// and what is outstanding is on back-order for a day, or expected with the rest.
type Progress struct {
	// Pressed pieces are finished and handed over, to people or to the shelf.
	Pressed int `json:"pressed,omitempty"`
	// Came says when the pressed pieces came, a day at a time.
	Came []BackOrder `json:"came,omitempty"`
	// GivenUp pieces will not come any more.
	GivenUp int `json:"given_up,omitempty"`
	// BackOrders are outstanding pieces that come later than promised, by day.
	BackOrders []BackOrder `json:"back_orders,omitempty"`
	// Spoilt counts the blanks that were lost at the press so far, and Wrong those
	// that came wrong and went back; neither is part of the sum above.
	Spoilt int `json:"spoilt,omitempty"`
	Wrong  int `json:"wrong,omitempty"`
	// ToRemake are outstanding pieces whose blank and transfers must be ordered again.
	ToRemake int `json:"to_remake,omitempty"`
	// Settled lines have given back the blanks that they left over.
	Settled bool `json:"settled,omitempty"`
}

// BackOrder is pieces that are to come, or came, on a day.
type BackOrder struct {
	Pieces int            `json:"pieces"`
	On     programme.Date `json:"on"`
}

// Outstanding returns how many pieces of the line are still to come.
func (l *Line) Outstanding() int { return l.Order - l.Pressed - l.GivenUp }

// Outstanding returns how many pieces of the proposal are still to come.
func (p *Proposal) Outstanding() (n int) {
	for i := range p.Lines {
		n += p.Lines[i].Outstanding()
	}
	return n
}

// Coming is pieces of one line that are to come on a day.
type Coming struct {
	programme.SKU
	BackOrder
}

// Coming lists the outstanding pieces with their days: back-orders on theirs,
// the others on the day of the promise.
func (p *Proposal) Coming() []Coming {
	var out []Coming
	for i := range p.Lines {
		l := &p.Lines[i]
		left := l.Outstanding()
		for _, b := range l.BackOrders {
			out = append(out, Coming{l.SKU, b})
			left -= b.Pieces
		}
		if left > 0 {
			out = append(out, Coming{l.SKU, BackOrder{left, p.Arrives}})
		}
	}
	return out
}

// Delivery says what happened to the outstanding pieces of one line. Came pieces
// are finished and handed over. Back pieces come on BackOn. Wrong ones were not
// what was ordered and went back; Spoilt ones were lost at the press and must be
// made again. Both stay outstanding. GivenUp ones never come.
type Delivery struct {
	programme.SKU
	Came, Back, Wrong, Spoilt, GivenUp int
	BackOn                             programme.Date
}

// NoteCame remembers on which day the pieces of deliveries came.
func (p *Proposal) NoteCame(list []Delivery, on programme.Date) {
	for i := range list {
		l := p.Line(list[i].SKU)
		if l == nil || list[i].Came == 0 {
			continue
		}
		if n := len(l.Came); n > 0 && l.Came[n-1].On == on {
			l.Came[n-1].Pieces += list[i].Came
			continue
		}
		l.Came = append(l.Came, BackOrder{list[i].Came, on})
	}
}

// AllBy returns the delivery of everything that can have come by a day: pieces that are on
// back-order until later are left out, unless nothing else is outstanding. Without a day it
// is all that is outstanding.
func (p *Proposal) AllBy(day programme.Date) []Delivery {
	var due, all []Delivery
	for i := range p.Lines {
		l := &p.Lines[i]
		n := l.Outstanding()
		if n > 0 {
			all = append(all, Delivery{SKU: l.SKU, Came: n})
		}
		if !day.IsZero() {
			n -= PiecesLater(l.BackOrders, day)
		}
		if n > 0 {
			due = append(due, Delivery{SKU: l.SKU, Came: n})
		}
	}
	if len(due) > 0 {
		return due
	}
	return all
}

// Line returns the line of a garment, colour and size; nil when there is none.
func (p *Proposal) Line(k programme.SKU) *Line {
	for i := range p.Lines {
		if p.Lines[i].SKU == k {
			return &p.Lines[i]
		}
	}
	return nil
}

// Handed is pieces of one line that came, for one person or, with no staff
// number, for the pool. Index is the place in Named; -1 for the pool.
type Handed struct {
	programme.SKU
	StaffID string
	Index   int
	Pieces  int
}

// Deliver books deliveries, each line at most once, and returns whose pieces came: people of the greatest need
// first, the pool last. On an error, which says which number does not fit, nothing is changed.
func (p *Proposal) Deliver(list []Delivery) ([]Handed, error) {
	seen := map[programme.SKU]bool{}
	for i := range list {
		if seen[list[i].SKU] {
			return nil, fmt.Errorf("%s is named twice", list[i].SKU)
		}
		seen[list[i].SKU] = true
		if err := p.fits(&list[i]); err != nil {
			return nil, err
		}
	}
	var out []Handed
	for i := range list {
		d := &list[i]
		l := p.Line(d.SKU)
		l.Pressed += d.Came
		l.GivenUp += d.GivenUp
		l.Spoilt += d.Spoilt
		l.Wrong += d.Wrong
		l.ToRemake = min(l.ToRemake+d.Spoilt, l.Outstanding())
		l.backOrder(d)
		out = append(out, p.hand(d.SKU, d.Came)...)
	}
	return out, nil
}

func (p *Proposal) fits(d *Delivery) error {
	l := p.Line(d.SKU)
	if l == nil {
		return fmt.Errorf("%s is no line of proposal %d", d.SKU, p.Number)
	}
	for _, n := range []int{d.Came, d.Back, d.Wrong, d.Spoilt, d.GivenUp} {
		if n < 0 {
			return fmt.Errorf("%s: %d pieces; numbers of pieces are not below zero", d.SKU, n)
		}
	}
	if sum := d.Came + d.Back + d.Wrong + d.Spoilt + d.GivenUp; sum > l.Outstanding() {
		return fmt.Errorf("%s: %d pieces, but only %d of %d ordered are still to come", d.SKU, sum, l.Outstanding(), l.Order)
	}
	if d.Back > 0 && d.BackOn.IsZero() {
		return fmt.Errorf("%s: say on which day the %d on back-order come", d.SKU, d.Back)
	}
	return nil
}

func (l *Line) backOrder(d *Delivery) {
	l.BackOrders = BackOrdersWith(l.BackOrders, BackOrder{d.Back, d.BackOn}, l.Outstanding())
}

// BackOrdersWith adds a back-order, of no pieces where there is no new one, and takes off
// what came or was given up, so that no more remain than are outstanding: the earliest day
// first. Pieces without a day go before them: they were expected now.
func BackOrdersWith(list []BackOrder, added BackOrder, outstanding int) []BackOrder {
	list = append(slices.Clone(list), added) // none are dropped below
	slices.SortStableFunc(list, func(a, b BackOrder) int { return cmp.Compare(a.On, b.On) })
	over := -outstanding
	for _, b := range list {
		over += b.Pieces
	}
	var left []BackOrder
	for _, b := range list {
		off := min(b.Pieces, max(0, over))
		over -= off
		if b.Pieces -= off; b.Pieces == 0 {
			continue
		}
		if n := len(left); n > 0 && left[n-1].On == b.On {
			left[n-1].Pieces += b.Pieces
			continue
		}
		left = append(left, b)
	}
	return left
}

// PiecesLater counts the pieces on back-order until later than a day.
func PiecesLater(list []BackOrder, day programme.Date) (n int) {
	for _, b := range list {
		if b.On > day {
			n += b.Pieces
		}
	}
	return n
}

// BackOrder notes that outstanding pieces of a line come on a day and not with
// the others; as many as are outstanding.
func (p *Proposal) BackOrder(k programme.SKU, pieces int, on programme.Date) {
	if l := p.Line(k); l != nil {
		l.backOrder(&Delivery{Back: min(pieces, l.Outstanding()), BackOn: on})
	}
}

// hand gives pieces that came to those who still wait for some, in the order of
// need, then to the pool.
func (p *Proposal) hand(k programme.SKU, pieces int) []Handed {
	var out []Handed
	for _, i := range p.byNeed(k) {
		n := &p.Named[i]
		if take := min(pieces, n.Pieces-n.Got); take > 0 {
			n.Got += take
			pieces -= take
			out = append(out, Handed{SKU: k, StaffID: n.StaffID, Index: i, Pieces: take})
		}
	}
	if pieces > 0 {
		p.poolOf(k).Got += pieces
		out = append(out, Handed{SKU: k, Index: -1, Pieces: pieces})
	}
	return out
}

// byNeed lists the places in Named of one line, the greatest need first: who is
// short today, then whose pieces are likeliest to end, then whose end soonest.
func (p *Proposal) byNeed(k programme.SKU) []int {
	var at []int
	for i := range p.Named {
		if p.Named[i].SKU == k {
			at = append(at, i)
		}
	}
	slices.SortStableFunc(at, func(i, j int) int {
		a, b := &p.Named[i], &p.Named[j]
		if short := cmp.Compare(owed(b), owed(a)); short != 0 {
			return short
		}
		return cmp.Or(cmp.Compare(b.PEnd, a.PEnd), cmp.Compare(a.By, b.By), cmp.Compare(a.StaffID, b.StaffID))
	})
	return at
}

func owed(n *Named) int {
	if n.Why == programme.CauseOwed {
		return 1
	}
	return 0
}

// poolOf returns the pool of a line, making an empty one where there is none.
func (p *Proposal) poolOf(k programme.SKU) *Pool {
	for i := range p.Pool {
		if p.Pool[i].SKU == k {
			return &p.Pool[i]
		}
	}
	p.Pool = append(p.Pool, Pool{SKU: k})
	return &p.Pool[len(p.Pool)-1]
}

// Again records that pieces must be printed once more. Of outstanding pieces
// nothing but that is noted; came says that they had come already and are taken
// back from the pool.
func (p *Proposal) Again(k programme.SKU, pieces int, came bool) error {
	l := p.Line(k)
	switch {
	case l == nil:
		return fmt.Errorf("%s is no line of proposal %d", k, p.Number)
	case pieces < 1:
		return fmt.Errorf("%s: %d pieces to make again; give 1 or more", k, pieces)
	case came:
		pool := p.poolOf(k)
		if pool.Got < pieces {
			return fmt.Errorf("%s: %d of the pieces that came lie on the client's shelf; those handed to people are ended one by one and are needed anew by that", k, pool.Got)
		}
		pool.Got -= pieces
		l.Pressed -= pieces
		l.Spoilt += pieces
	case l.ToRemake+pieces > l.Outstanding():
		return fmt.Errorf("%s: %d to make again, but %d are still to come and %d of them are noted already", k, pieces,
			l.Outstanding(), l.ToRemake)
	}
	l.ToRemake += pieces
	return nil
}
