package wear

import (
	"cmp"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// event is a movement as the rotation follows it: what the ledger says, or an
// ending nobody wrote down: one that a count found, with the bounds between which
// it lies, or one that a hand-over beyond the kit implies.
type event struct {
	*programme.Movement
	date     programme.Date
	unseen   bool
	from, to programme.Date
	// implied is the ending of a piece of kind; replaced ones had not ended for all anybody knows.
	implied, replaced bool
	kind              int
	// found pieces came to light at a count.
	found bool
}

// stocktake holds what the ledger says of one person's pieces of one kind between counts.
type stocktake struct {
	kind    int // its place in rotation.takes
	sku     programme.SKU
	belief  *belief
	known   int // pieces that should be there
	day     programme.Date
	morning int            // of them, before the issues of day
	out     int            // ended on day
	counted programme.Date // the last count, or the first issue
	counts  int
	first   programme.Date // the first count
	// assumed says that some of them are only assumed to be there, from past orders.
	assumed bool
	// returned says that a leaver's pieces came back, which tells as a count does.
	returned bool
	stayed   []stayed
}

// stayed is the number of pieces that were there on a day before others came, or that
// lasted through a day on which others ended.
type stayed struct {
	day    programme.Date
	pieces int
}

func (t *stocktake) turn(day programme.Date) {
	if t.known == 0 && len(t.stayed) == 0 {
		t.counted = day // nothing was there to be seen before
	}
	if t.day != day {
		t.day, t.morning, t.out = day, t.known, 0
	}
}

func (t *stocktake) end(day programme.Date, pieces int) {
	t.known = max(0, t.known-pieces)
	t.out += pieces
	t.stayed = append(t.stayed, stayed{day, max(0, t.morning-t.out)})
}

// earliest returns the day after which the n-th unseen ending since the last count
// must lie: with fewer than n pieces there before others came, or lasting through a day,
// it had not come yet.
func (t *stocktake) earliest(n int) programme.Date {
	day := t.counted
	for _, s := range t.stayed {
		if s.pieces < n {
			day = max(day, s.day)
		}
	}
	return day
}

// count returns how many pieces are missing, and how many more were counted
// than were known. Pieces issued on the day of the count may have been handed
// out after it: they are taken as counted only if the older ones do not make
// up the number.
func (t *stocktake) count(pieces int) (missing, surplus int) {
	missing = max(0, min(t.known, t.morning-t.out)-pieces)
	surplus = max(0, pieces-t.known)
	t.known -= missing
	return missing, surplus
}

// take returns the stocktake of a kind of piece, a new one where it is the first.
func (r *rotation) take(k programme.SKU) *stocktake {
	i := slices.IndexFunc(r.takes, func(t stocktake) bool { return t.sku == k })
	if i < 0 {
		i = len(r.takes)
		r.takes = append(r.takes, stocktake{kind: i, sku: k, belief: r.beliefOf(k)})
	}
	return &r.takes[i]
}

func (r *rotation) beliefOf(k programme.SKU) *belief {
	if use, ok := r.book.Use(r.role, k.Garment, k.Colour); ok {
		return r.believe[use.Class]
	}
	return &nothingKnown
}

func (r *rotation) known() int {
	n := 0
	for i := range r.takes {
		n += r.takes[i].known
	}
	return n
}

// eventsOf adds to the movements what nobody wrote down: an ending for each
// piece missing at a count, or when a leaver's pieces came back, spread evenly
// over the time in which it may lie; and an ending for each piece handed out
// beyond the kit.
func (r *rotation) eventsOf(moves []*programme.Movement, until programme.Date, left bool, h *History) []event {
	r.steps, r.takes, r.beyond = r.steps[:0], r.takes[:0], 0
	for from := 0; from < len(moves); {
		to := from + 1
		for to < len(moves) && moves[to].Date == moves[from].Date {
			to++
		}
		r.day(moves[from:to], moves[to:], h)
		from = to
	}
	if left && h.returns[moves[0].StaffID] {
		r.missedAtLeaving(moves[0], until)
	}
	slices.SortStableFunc(r.steps, func(a, b event) int { return cmp.Compare(a.date, b.date) })
	return r.steps
}

// day takes up the movements of one day, issues first and counts last.
func (r *rotation) day(moves, later []*programme.Movement, h *History) {
	for _, m := range moves {
		t := r.take(m.SKU)
		if t.day.IsZero() && t.counted.IsZero() {
			t.counted, t.day = m.Date, m.Date
		}
		t.turn(m.Date)
	}
	counted := moves[len(moves)-1].Kind == programme.Counted
	if !counted {
		r.handedOver(moves, later, h)
	}
	for i, m := range moves {
		t := r.take(m.SKU)
		switch m.Kind {
		case programme.Issued:
			t.stayed = append(t.stayed, stayed{m.Date, t.morning})
			t.known += m.Pieces
			t.assumed = t.assumed || m.Assumed
		case programme.Ended:
			t.end(m.Date, m.Pieces)
		case programme.Counted:
			if !countedAgain(moves[i+1:], m.SKU) {
				r.count(t, m, h)
			}
			continue
		}
		r.steps = append(r.steps, event{Movement: m, date: m.Date, kind: t.kind})
	}
	if counted { // what is there beyond the kit is there
		r.beyond = max(0, r.known()-r.useOn(moves[0].Date).Each)
	}
}

// countedAgain reports whether a garment is counted in the movements that are left of a day: who sends
// a second number for the same day corrects the first.
func countedAgain(left []*programme.Movement, sku programme.SKU) bool {
	return slices.ContainsFunc(left,
		func(m *programme.Movement) bool { return m.Kind == programme.Counted && m.SKU == sku })
}

func (r *rotation) count(t *stocktake, m *programme.Movement, h *History) {
	missing, surplus := t.count(m.Pieces)
	if surplus -= r.takeBack(t, surplus, h); surplus > 0 {
		h.Surplus += surplus
		r.takeIn(t, m, surplus)
	}
	r.miss(t, m, missing)
	if t.counts == 0 {
		t.first = m.Date
	}
	t.counted, t.counts, t.stayed = m.Date, t.counts+1, t.stayed[:0]
}

// takeIn adds pieces that a count found and no hand-over tells of: they are
// there, half-way through the median life of such pieces for all anybody knows,
// and teach nothing.
func (r *rotation) takeIn(t *stocktake, m *programme.Movement, pieces int) {
	in := *m
	in.Kind, in.Pieces, in.Assumed = programme.Issued, pieces, true
	if t.belief != &nothingKnown {
		whole := lifetime{risks: t.belief.risks}
		in.Washes = whole.medianLife() / 2
	}
	t.known += pieces
	r.steps = append(r.steps, event{Movement: &in, date: m.Date, found: true, kind: t.kind})
}

// miss adds unseen endings that a count, or the return of a leaver's pieces, shows.
func (r *rotation) miss(t *stocktake, m *programme.Movement, missing int) {
	for j := range missing {
		from := t.earliest(j + 1)
		share := (float64(j) + 0.5) / float64(missing)
		on := from + programme.Date(math.Ceil(share*float64(m.Date-from)))
		r.steps = append(r.steps, event{Movement: m, date: on, unseen: true, from: from, to: m.Date, kind: t.kind})
	}
}

// missedAtLeaving takes the return of some of a leaver's pieces as a count:
// what did not come back had ended before.
func (r *rotation) missedAtLeaving(m *programme.Movement, day programme.Date) {
	for i := range r.takes {
		t := &r.takes[i]
		if t.known == 0 {
			continue
		}
		none := &programme.Movement{Date: day, Kind: programme.Counted, StaffID: m.StaffID, SKU: m.SKU}
		none.SKU = t.sku
		if t.counted >= day {
			continue
		}
		t.turn(day + 1)
		missing, _ := t.count(0)
		r.miss(t, none, missing)
		t.counted, t.returned = day, true
	}
}
