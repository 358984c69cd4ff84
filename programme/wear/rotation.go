package wear

import (
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// rotation follows one person's pieces of one garment and colour, or of lines of
// a kit that took each other's place or are cuts of one thing; its slices are used again for the next.
type rotation struct {
	batches []batch
	ends    []closing
	steps   []event
	takes   []stocktake // by kind
	inHand  []int       // pieces by kind, as follow comes along
	days    []programme.Date
	washes  []float64 // of a piece in rotation since the first day, at each of days
	held    []int     // pieces that share the washes before each of days
	// beyond is the number of pieces beyond the kit that are held on purpose.
	beyond  int
	book    *Book
	role    string
	use     *Use   // of the line, or of one of lines
	lines   []*Use // where lines took each other's place, oldest first
	absence Absence
	believe map[*Terms]*belief
	// lateFrom is the day after which endings may still be to be entered; 0 = none are.
	lateFrom programme.Date
	// scratch of sharing and of slots
	claims []float64
	slot   []portion
	unsure []doubtful
	rows   []float64
}

// batch is pieces of one kind issued together, which records cannot tell apart.
type batch struct {
	kind    int // of rotation.takes: garment, colour and size
	in      programme.Date
	initial float64
	assumed bool
	// ageless pieces were found at a count; nobody knows when they were handed out.
	ageless bool
	number  int
	// left is the expected number of them in service: where one of several batches must have had a piece that
	// ended, each lost a part.
	left float64
	// whole endings took a piece of it for certain, parts are those that may have; alone is
	// what could be of no other batch.
	whole, parts int
	alone        float64
	// seen is the age at which left was last weighed, called by how much the endings since
	// raised the logarithm of the odds that a doubtful piece is there.
	seen, called float64
}

// closing is the end of one piece, shared over the batches it may be of.
type closing struct {
	kind     int
	out      programme.Date
	from, to programme.Date // bounds of an ending nobody saw; both out otherwise
	reason   programme.Reason
	// replaced is a piece thrown out for a new one before anybody said that it had
	// ended, unseen one that nobody saw on the last day of its holder.
	replaced, unseen bool
	// implied by a hand-over beyond the kit
	implied bool
	// shelved: it went back to the shop's shelf
	shelved bool
	shares  []portion
}

// portion is a part of a piece, of a batch.
type portion struct {
	batch int
	part  float64
}

func (r *rotation) run(b *Book, person *programme.Person, moves []*programme.Movement, asOf programme.Date,
	h *History) {
	sku, role, until := lastIssued(moves), "", asOf
	left := false
	if person != nil {
		role = person.Role
		if !person.End.IsZero() && person.End < asOf {
			until, left = person.End, true
		}
	}
	use, ok := b.Use(role, sku.Garment, sku.Colour)
	if !ok {
		use = &Use{PerWeek: 0}
	}
	r.book, r.role, r.use, r.absence = b, role, use, use.AbsenceOf(person, asOf)
	r.lines = b.lines(role, use)
	if last := use.Worn.lastDay(); !left && !last.IsZero() && last < asOf {
		until, left = last, true // whoever holds some still wears them no more
	}
	r.follow(r.eventsOf(moves, until, left, h), h)
	if left {
		r.leave(until)
	}
	r.clock(b.client.RecordsStart, asOf)
	r.share(moves[0], asOf, h)
	r.emitEnded(moves[0], h)
	if !left {
		r.emitHeld(moves[0], asOf, h)
	}
	r.tell(h)
}

// lastIssued returns what was handed out last, which is of the cut that is worn now.
func lastIssued(moves []*programme.Movement) programme.SKU {
	for _, m := range slices.Backward(moves) {
		if m.Kind == programme.Issued {
			return m.SKU
		}
	}
	return moves[0].SKU
}

// nothingKnown is of pieces that no kit has: all ages are alike.
var nothingKnown = belief{risks: []risk{{Weibull{1, 1}, 1}}}

// tell adds up how endings came to be known.
func (r *rotation) tell(h *History) {
	for i := range r.takes {
		h.counted = h.counted || r.takes[i].counts > 0
	}
	for i := range r.ends {
		c := &r.ends[i]
		t := &r.takes[c.kind]
		switch {
		case t.counts == 0 && !t.returned || c.reason.StillGood() || t.assumed && c.to <= t.first:
		case c.from < c.to && t.returned && c.to == t.counted && h.Late.behind():
			// what a leaver did not bring back may have been still to be entered
		case c.from < c.to:
			h.found++
		case c.out <= t.counted:
			h.written++
		}
	}
}

// follow puts what happened into batches and closings; which batch a closing
// takes a piece of is shared out later, when ages are known.
func (r *rotation) follow(steps []event, h *History) {
	r.batches, r.ends = r.batches[:0], r.ends[:0]
	r.inHand = append(r.inHand[:0], make([]int, len(r.takes))...)
	for i := range steps {
		m := &steps[i]
		switch {
		case m.unseen, m.implied:
			r.end(m)
		case m.Kind == programme.Issued:
			r.issue(m)
		case m.Kind == programme.Ended:
			for range m.Pieces {
				if !r.end(m) {
					h.Unmatched++
				}
			}
		}
	}
}

func (r *rotation) issue(m *event) {
	r.inHand[m.kind] += m.Pieces
	if n := len(r.batches); n > 0 {
		if b := &r.batches[n-1]; b.in == m.Date && b.kind == m.kind && b.initial == m.Washes &&
			b.assumed == m.Assumed && b.ageless == m.found {
			b.number += m.Pieces
			return
		}
	}
	r.batches = append(r.batches, batch{kind: m.kind, in: m.Date, initial: m.Washes, assumed: m.Assumed,
		ageless: m.found, number: m.Pieces})
}

// end notes that a piece of a kind came to its end, if one is there.
func (r *rotation) end(m *event) bool {
	if r.inHand[m.kind] < 1 {
		return false
	}
	c := closing{kind: m.kind, out: m.date, from: m.date, to: m.date, reason: m.Reason, replaced: m.replaced,
		implied: m.implied, shelved: m.Kind == programme.Ended && m.Washes > 0}
	switch {
	case m.unseen:
		c.from, c.to, c.reason = m.from, m.to, programme.Unexplained
	case m.implied:
		c.reason = programme.NoReason
	}
	r.close(c)
	return true
}

// close keeps the room of the shares of an earlier closing.
func (r *rotation) close(c closing) {
	r.inHand[c.kind]--
	if n := len(r.ends); n < cap(r.ends) {
		r.ends = r.ends[:n+1]
		c.shares = r.ends[n].shares[:0]
		r.ends[n] = c
		return
	}
	r.ends = append(r.ends, c)
}

// leave ends what a leaver still holds on the last day: returned or kept, it
// wears no longer.
func (r *rotation) leave(day programme.Date) {
	for i := range r.takes {
		out := day
		for j := range r.batches {
			if r.batches[j].kind == i {
				out = max(out, r.batches[j].in)
			}
		}
		for range r.inHand[i] {
			r.close(closing{kind: i, out: out, from: out, to: out, reason: programme.LeftReason, unseen: true})
		}
	}
}
