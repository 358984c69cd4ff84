package reorder

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
)

// Last is the newest order that the client said yes to, and what has happened
// since the day of the records that it was made from.
type Last struct {
	Number int64
	AsOf   programme.Date
	// CoverUntil is the day until which what they said yes to is meant to last (Proposal.Lasts).
	CoverUntil programme.Date
	// Expected is the number of pieces that were expected to end until CoverUntil, over all lines; ByLine holds the
	// same by line, for the lines that were ordered.
	Expected float64
	ByLine   map[programme.SKU]float64
	// Struck holds the pieces that the client took off what was offered: a no to them, which holds for as long as
	// what was left is meant to last.
	Struck map[programme.SKU]int
	// Known are the staff numbers of those whom the order had pieces for.
	Known map[string]bool
	// Joined are the staff numbers of people who started since and were not known. Ended counts the pieces whose
	// end was written down or found missing since, those given back still good apart.
	Joined []string
	Ended  map[programme.SKU]int
}

// LastOf returns a proposal that was said yes to, with nothing happened since. Where what was agreed lasts less long
// than what was suggested, so much less is expected to end meanwhile, in proportion to the days.
func LastOf(p *Proposal) *Last {
	l := &Last{
		Number: p.Number, AsOf: p.AsOf, CoverUntil: p.Lasts(), Expected: p.Ending,
		ByLine: map[programme.SKU]float64{}, Struck: map[programme.SKU]int{}, Known: map[string]bool{},
		Ended: map[programme.SKU]int{},
	}
	sum := 0.0
	for i := range p.Lines {
		x := &p.Lines[i]
		l.ByLine[x.SKU] = x.Endings.Sum()
		sum += l.ByLine[x.SKU]
		if x.Changed && x.Order < x.Offered {
			l.Struck[x.SKU] = x.Offered - x.Order
		}
	}
	l.Expected = max(l.Expected, sum)
	if l.CoverUntil < p.CoverUntil {
		part := float64(l.CoverUntil.Sub(p.AsOf)) / float64(p.CoverUntil.Sub(p.AsOf))
		l.Expected *= part
		for k := range l.ByLine {
			l.ByLine[k] *= part
		}
	}
	for i := range p.Named {
		l.Known[p.Named[i].StaffID] = true
	}
	return l
}

// Occurrence is an event that has made an order necessary before the last one was used up.
type Occurrence struct {
	Kind OccurrenceKind `json:"kind"`
	// Staff who started; else Pieces.
	Staff  []string `json:"staff,omitempty"`
	Pieces int      `json:"pieces,omitempty"`
	// SKU is the line that it is about; none = all together.
	SKU *programme.SKU `json:"sku,omitempty"`
	// Expected is the number of pieces that had been expected instead.
	Expected float64 `json:"expected,omitempty"`
	// Number of the last order and its day.
	Number int64          `json:"number"`
	On     programme.Date `json:"on"`
}

// OccurrenceKind names a kind of occurrence.
type OccurrenceKind string

// Kinds of occurrences.
const (
	PeopleJoined OccurrenceKind = "joined" // people started
	MoreEnded    OccurrenceKind = "ended"  // more pieces came to an end than expected
	KitsShort    OccurrenceKind = "short"  // pieces are missing today that nothing will serve
)

// restrain takes back that a client is due where the programme's smallest order
// is not reached, or where the last order was meant to last and nothing has
// happened since. Neither holds when somebody is short of a piece.
func (c *situation) restrain(d *Decision) {
	short, struck := c.uncovered()
	d.Events = c.since(short)
	switch {
	case c.inLastCover(c.in.AsOf) && len(d.Events) == 0:
		d.Due = false
		d.Reasons = append(d.Reasons, Reason{Kind: JustOrdered, Pieces: float64(struck)})
		for d.NextDue = c.nextRound(); c.inLastCover(d.NextDue); {
			d.NextDue = d.NextDue.Add(c.in.review())
		}
	case short == 0 && c.tooSmall():
		d.Due = false
		d.Reasons = append(d.Reasons, Reason{Kind: OrderTooSmall, Pieces: float64(c.wantedPieces())})
		d.NextDue = c.nextRound()
	}
}

func (c *situation) nextRound() programme.Date { return c.in.nextRound() }

// uncovered returns how many pieces people are short of today that nothing on the
// shelf or on its way serves; inside the cover of the last order those apart that the
// client struck off it.
func (c *situation) uncovered() (short, struck int) {
	inCover := c.inLastCover(c.in.AsOf)
	for i := range c.ordinary {
		n, off := max(0, -c.ordinary[i].position()), 0
		if inCover {
			off = min(n, c.in.Last.Struck[c.ordinary[i].sku()])
		}
		short, struck = short+n-off, struck+off
	}
	return short, struck
}

// inLastCover reports whether an order of that day would arrive before the last one
// was meant to be used up.
func (c *situation) inLastCover(day programme.Date) bool {
	l := c.in.Last
	return l != nil && day.Add(7*(c.horizon.Trigger-max(1, c.in.review()/7))) < l.CoverUntil
}

// since names what has happened in the cover of the last order.
func (c *situation) since(short int) []Occurrence {
	if !c.inLastCover(c.in.AsOf) {
		return nil
	}
	l := c.in.Last
	at := func(h Occurrence) Occurrence {
		h.Number, h.On = l.Number, l.AsOf
		return h
	}
	var out []Occurrence
	if len(l.Joined) > 0 {
		out = append(out, at(Occurrence{Kind: PeopleJoined, Staff: l.Joined}))
	}
	if short > 0 {
		out = append(out, at(Occurrence{Kind: KitsShort, Pieces: short}))
	}
	return append(out, c.moreEnded(at)...)
}

// moreEnded names the endings beyond what was expected, together or else of the
// line that has most of them.
func (c *situation) moreEnded(at func(Occurrence) Occurrence) []Occurrence {
	l := c.in.Last
	part := l.passed(c.in.AsOf)
	all := 0
	for _, n := range l.Ended {
		all += n
	}
	if expected := l.Expected * part; beyond(all, expected) {
		return []Occurrence{at(Occurrence{Kind: MoreEnded, Pieces: all, Expected: expected})}
	}
	var out []Occurrence
	most := 0.0
	for i := range c.ordinary {
		k := c.ordinary[i].sku()
		whole, ordered := l.ByLine[k]
		n, expected := l.Ended[k], whole*part
		if excess := float64(n) - expected; ordered && beyond(n, expected) && excess > most {
			most = excess
			out = []Occurrence{at(Occurrence{Kind: MoreEnded, Pieces: n, Expected: expected, SKU: &k})}
		}
	}
	return out
}

// beyond reports whether so many endings are an event: two standard deviations of
// a Poisson number more than expected, and two pieces at least.
func beyond(ended int, expected float64) bool {
	return float64(ended)-expected >= 2*math.Max(1, math.Sqrt(expected))
}

// Happened reads from the records what has happened from the order up to and including asOf: who started, and how
// many pieces came to an end. Pieces given back as good as they were, by leavers and for another size, are none: the
// order expected no such endings, and a size that is missing then is short by itself.
func (l *Last) Happened(people []programme.Person, movements []programme.Movement, asOf programme.Date) {
	for i := range people {
		if p := &people[i]; p.Start > l.AsOf && p.ActiveOn(asOf) && !l.Known[p.StaffID] {
			l.Joined = append(l.Joined, p.StaffID)
		}
	}
	for i := range movements {
		m := &movements[i]
		if m.Date > l.AsOf && m.Date <= asOf && m.Kind == programme.Ended && !m.Reason.StillGood() {
			l.Ended[m.SKU] += m.Pieces
		}
	}
}

// passed returns the part of the order's time that has passed by the day.
func (l *Last) passed(day programme.Date) float64 {
	whole := l.CoverUntil.Sub(l.AsOf)
	if whole <= 0 {
		return 0
	}
	return min(1, float64(day.Sub(l.AsOf))/float64(whole))
}

func (c *situation) tooSmall() bool {
	least := c.in.Client.SmallestOrder
	if least.Pieces > 0 && c.wantedPieces() < least.Pieces {
		return true
	}
	return least.Price > 0 && c.wantedPrice() < least.Price
}

func (c *situation) wantedPieces() (n int) {
	for i, level := range c.planned().levels {
		n += level - c.ordinary[i].position()
	}
	return n
}

func (c *situation) wantedPrice() (sum programme.Money) {
	for i, level := range c.planned().levels {
		sum += c.priceOf(&c.ordinary[i]) * programme.Money(level-c.ordinary[i].position())
	}
	return sum
}
