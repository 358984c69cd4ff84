package wear

import (
	"github.com/kitmuster/kitmuster/programme"
)

// settlingDays is the number of days after a hand-over for which the ending that it makes good may still be written
// down with a later day.
const settlingDays = 14

// handedOver reads pieces handed out beyond the kit as endings, on that day and
// of unknown cause, of pieces held before: shops keep delivery notes, not notes
// of what they throw out. What was there beyond the kit already stays; an
// ending that is written down on the day or soon after is the one meant. It is
// no ending where old pieces are kept, before records begin, or for what is
// only assumed from past orders.
func (r *rotation) handedOver(moves, later []*programme.Movement, h *History) {
	d := r.handOver(moves)
	before, each := r.known(), r.useOn(moves[0].Date).Each
	if before == 0 || r.use.Class == nil { // a first kit, however large
		r.beyond = max(0, d.issued+d.kept-each)
		return
	}
	if d.kept > 0 {
		r.beyond = max(r.beyond, before+d.kept-each)
	}
	if d.issued == 0 {
		return
	}
	// Pieces beyond the kit for which an ending was awaited that never came.
	awaited := max(0, before-each-r.beyond)
	gone := min(d.issued+awaited, before+d.issued+d.kept-d.ended-each-r.beyond) - soonEnded(moves[0].Date, later)
	for range min(gone, before) {
		t := r.thrownOut(moves[0].Date, d.kind)
		if t == nil {
			break
		}
		t.end(moves[0].Date, 1)
		h.Implied++
		if d.proposed > 0 {
			h.Received++
		}
		r.steps = append(r.steps, event{Movement: moves[0], date: moves[0].Date, implied: true,
			replaced: d.proposed > 0, kind: t.kind})
		d.proposed--
	}
}

// handOver holds what a day brought: pieces that may stand for endings, of pieces
// handed out beside the old ones, and of endings written down.
type handOver struct {
	issued, kept, ended, proposed int
	kind                          int
}

func (r *rotation) handOver(moves []*programme.Movement) (d handOver) {
	for _, m := range moves {
		switch {
		case m.Kind == programme.Ended:
			d.ended += m.Pieces
		case m.Kind == programme.Issued && r.replaces(m):
			d.issued += m.Pieces
			if m.Proposal != 0 {
				d.proposed += m.Pieces
			}
			d.kind = r.take(m.SKU).kind
		case m.Kind == programme.Issued:
			d.kept += m.Pieces
		}
	}
	return d
}

// replaces reports whether a hand-over may stand for an ending.
func (r *rotation) replaces(m *programme.Movement) bool {
	c := r.book.client
	return !m.Assumed && !m.OldKept && !c.OldPiecesKept && m.Date > c.RecordsStart
}

func soonEnded(day programme.Date, later []*programme.Movement) int {
	n := 0
	for _, m := range later {
		if m.Date > day.Add(settlingDays) {
			break
		}
		if m.Kind == programme.Ended && m.Reason != programme.LeftReason {
			n += m.Pieces
		}
	}
	return n
}

// thrownOut returns the kind of which a piece goes when one of kind is handed over:
// of another kind first, since whoever takes a new size has outgrown the old, and a
// garment or colour in whose place another came is worn until it ends.
func (r *rotation) thrownOut(day programme.Date, kind int) *stocktake {
	var same *stocktake
	for i := range r.takes {
		t := &r.takes[i]
		t.turn(day)
		switch {
		case t.morning-t.out <= 0:
		case t.kind != kind:
			return t
		default:
			same = t
		}
	}
	return same
}

// takeBack undoes endings read from hand-overs since the last count when the
// count finds the pieces; it returns how many.
func (r *rotation) takeBack(t *stocktake, surplus int, h *History) int {
	n := 0
	for i := len(r.steps) - 1; i >= 0 && n < surplus; i-- {
		s := &r.steps[i]
		if s.implied && s.kind == t.kind && s.date > t.counted {
			if s.replaced {
				h.Received--
			}
			r.steps = append(r.steps[:i], r.steps[i+1:]...)
			t.known, h.Implied, n = t.known+1, h.Implied-1, n+1
		}
	}
	return n
}
