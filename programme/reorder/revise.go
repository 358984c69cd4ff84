package reorder

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme"
)

// A round looks anew at clients that have not answered. What they have in hand
// stands unless they would notice a difference: a form that changes every week
// by a piece is read by nobody (common practice, no source for the figures).
const (
	noticedPieces = 2    // of one size, or a fifth of them
	noticedShare  = 0.2  // of one size
	noticedTotal  = 0.1  // of all pieces together
	noticedPrice  = 0.05 // of the price
)

// A form that differs by nothing but its days stands for firstPatience days, and for mostPatience at
// most (common practice, no source).
const (
	firstPatience = 7
	mostPatience  = 28
)

// Difference is one thing that a customer would notice.
type Difference struct {
	Kind DifferenceKind
	programme.SKU
	Was, Is         int             // pieces
	WasDay, IsDay   programme.Date  // arrival
	WasCost, IsCost programme.Money // price
}

// DifferenceKind names what differs.
type DifferenceKind string

// Kinds of differences.
const (
	OtherPieces  DifferenceKind = "pieces"
	OtherTotal   DifferenceKind = "total"
	OtherArrival DifferenceKind = "arrival"
	OtherPrice   DifferenceKind = "price"
)

// Noticeable lists what a customer who holds the old form would notice in the
// new one; none means that the old form still stands. A form whose last day for
// a yes is over does not keep its promise any more, so its day differs; for that alone a
// customer who does not answer is sent another form only once the old one has stood for its patience.
func Noticeable(old, now *Proposal) []Difference {
	var out []Difference
	was, is := old.bySKU(), now.bySKU()
	for _, k := range skusOf(old, now) {
		if apart(was[k], is[k], noticedPieces, noticedShare) {
			out = append(out, Difference{Kind: OtherPieces, SKU: k, Was: was[k], Is: is[k]})
		}
	}
	if a, b := old.Pieces(), now.Pieces(); len(out) == 0 && apart(a, b, noticedPieces, noticedTotal) {
		out = append(out, Difference{Kind: OtherTotal, Was: a, Is: b})
	}
	if len(out) == 0 && pricier(old.Price, now.Price) {
		out = append(out, Difference{Kind: OtherPrice, WasCost: old.Price, IsCost: now.Price})
	}
	moved := now.AsOf > old.OrderBy && now.Arrives != old.Arrives
	if moved && (len(out) > 0 || now.AsOf >= old.AsOf.Add(old.patience())) {
		out = append(out, Difference{Kind: OtherArrival, WasDay: old.Arrives, IsDay: now.Arrives})
	}
	return out
}

// patience returns the number of days for which the form stands though its day for a yes is over: as many as
// the answer had been missing when the form went out and firstPatience more, mostPatience at most. With rounds
// every week the first stands one week, the next two, all others four.
func (p *Proposal) patience() int {
	return min(p.AsOf.Sub(p.Since())+firstPatience, mostPatience)
}

// apart reports whether two numbers of pieces differ by at least so many or,
// where one of them is small, by more than the share of the greater.
func apart(a, b, pieces int, share float64) bool {
	d := max(a-b, b-a)
	if d == 0 {
		return false
	}
	return (a == 0) != (b == 0) || d >= pieces && float64(d) > share*float64(max(a, b))
}

func pricier(a, b programme.Money) bool {
	d := max(a-b, b-a)
	return float64(d) > noticedPrice*float64(max(a, b))
}

// skusOf lists the lines of both in the order of the new one, dropped ones last.
func skusOf(old, now *Proposal) []programme.SKU {
	var out []programme.SKU
	seen := map[programme.SKU]bool{}
	for _, p := range []*Proposal{now, old} {
		for i := range p.Lines {
			if k := p.Lines[i].SKU; !seen[k] {
				seen[k] = true
				out = append(out, k)
			}
		}
	}
	return out
}

// Continue makes a proposal that a round has written the next form of an older
// one: same number, next revision, asked since then. A not now was an answer: from its day on
// the customer is asked anew.
func (p *Proposal) Continue(old *Proposal) {
	p.Number, p.Revision, p.Asked = old.Number, old.Form()+1, old.Since()
	if old.State == PutOff {
		p.Asked = p.AsOf
	}
}

// Keep takes over the numbers that the customer asked for in the older form,
// line by line where the need is still about what was offered then. Where it is
// not, the new number stands, and is a difference to tell.
func (p *Proposal) Keep(shop *programme.Shop, client *programme.Client, old *Proposal) error {
	var list []LineChange
	for i := range old.Lines {
		l := &old.Lines[i]
		is := 0
		mine := p.Line(l.SKU)
		if mine != nil {
			is = mine.Order
		}
		known := mine != nil || len(client.KitLines(l.Garment)) > 0
		if l.Changed && is != l.Order && known && !apart(is, l.Offered, noticedPieces, noticedShare) {
			list = append(list, LineChange{l.SKU, l.Order})
		}
	}
	_, err := p.Change(shop, client, list)
	return err
}

// List returns the pieces of the proposal as its list names them: for people and,
// without a staff number, for the pool.
func (p *Proposal) List() []Listed {
	var out []Listed
	for _, n := range p.Named {
		out = append(out, Listed{n.SKU, n.StaffID, n.Pieces})
	}
	for _, n := range p.Pool {
		if pieces := n.ForStarters + n.Spare; pieces > 0 {
			out = append(out, Listed{n.SKU, "", pieces})
		}
	}
	return out
}

// Stands reports whether a no or a not now still holds against what a round
// would propose on that day. A not now holds until its day. A no holds until the
// day named; without one, for coverDays, unless what is missing
// has grown by what a customer would notice.
func Stands(past, now *Proposal, asOf programme.Date, coverDays int) bool {
	switch past.State {
	case PutOff:
		return asOf < past.Until
	case Declined:
		if !past.Until.IsZero() {
			return asOf < past.Until
		}
		return asOf < past.Answered.Add(coverDays) && !grown(past, now)
	case Drafted, Sent, Accepted, Ordered, PartReceived, Received, Lapsed:
	}
	return false
}

// grown reports whether the new proposal asks for noticeably more than the one
// that was refused: of one size, or in all, or for people who are short today.
func grown(past, now *Proposal) bool {
	was, is := past.bySKU(), now.bySKU()
	for i := range past.Lines { // a no is to what was offered, whatever was changed on the way
		if l := &past.Lines[i]; l.Changed {
			was[l.SKU] = max(was[l.SKU], l.Offered)
		}
	}
	for k, n := range is {
		if n > was[k] && apart(n, was[k], 2*noticedPieces, 2*noticedShare) {
			return true
		}
	}
	return now.short() > past.short()
}

// short returns how many pieces people are short of today.
func (p *Proposal) short() (n int) {
	for i := range p.Named {
		n += owed(&p.Named[i]) * p.Named[i].Pieces
	}
	return n
}

// Words says a difference in a sentence for people; date writes a day, money an
// amount, name a garment, colour and size.
func (d Difference) Words(date func(programme.Date) string, money func(programme.Money) string,
	name func(programme.SKU) string) string {
	switch d.Kind {
	case OtherPieces:
		return fmt.Sprintf("%s: %d instead of %d", name(d.SKU), d.Is, d.Was)
	case OtherTotal:
		return fmt.Sprintf("%d pieces instead of %d", d.Is, d.Was)
	case OtherArrival:
		return fmt.Sprintf("in hands on %s instead of %s", date(d.IsDay), date(d.WasDay))
	case OtherPrice:
		return fmt.Sprintf("price %s instead of %s", money(d.IsCost), money(d.WasCost))
	}
	return string(d.Kind)
}
