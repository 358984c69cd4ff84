package wear

import (
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// rotation follows one person's pieces of one garment and colour; its slices
// are used again for the next.
type rotation struct {
	pieces []held
	open   []int
	steps  []happening
	takes  []stocktake // by size
	days   []programme.Date
	washes []float64 // of a piece in rotation since the first day, at each of days
}

type held struct {
	size           string
	in, out        programme.Date
	from, to       programme.Date // bounds of an ending nobody saw
	initial        float64
	reason         programme.Reason
	ended, assumed bool
}

func (r *rotation) run(b *Book, person *programme.Person, moves []*programme.Movement, asOf programme.Date, h *History) {
	sku, role, until := moves[0].SKU, "", asOf
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
	r.follow(moves, h)
	if left {
		r.leave(until)
	}
	r.clock(use, b.client.RecordsStart, asOf)
	for i := range r.pieces {
		p := r.piece(b, use, &r.pieces[i], moves[0], asOf)
		if r.pieces[i].ended {
			h.Ended = append(h.Ended, p)
		} else {
			h.InService = append(h.InService, p)
		}
	}
	r.tell(h)
}

// tell adds up how endings came to be known.
func (r *rotation) tell(h *History) {
	for i := range r.takes {
		h.counted = h.counted || r.takes[i].counts > 0
	}
	for i := range r.pieces {
		p := &r.pieces[i]
		t := r.take(p.size)
		switch {
		case !p.ended || t.counts == 0 || p.reason == programme.LeftReason || p.reason == programme.SizeChange:
		case p.from < p.to:
			h.found++
		case p.out <= t.counted:
			h.written++
		}
	}
}

// happening is a movement as the rotation follows it: what the ledger says, or an
// ending nobody saw, with the bounds between which it lies.
type happening struct {
	*programme.Movement
	date     programme.Date
	unseen   bool
	from, to programme.Date
}

func (r *rotation) follow(moves []*programme.Movement, h *History) {
	r.pieces, r.open = r.pieces[:0], r.open[:0]
	for _, m := range r.withUnseen(moves, h) {
		switch {
		case m.unseen:
			r.end(&m)
		case m.Kind == programme.Issued:
			for range m.Pieces {
				r.open = append(r.open, len(r.pieces))
				r.pieces = append(r.pieces, held{size: m.SKU.Size, in: m.Date, initial: m.Washes, assumed: m.Assumed})
			}
		case m.Kind == programme.Ended:
			for range m.Pieces {
				if !r.end(&m) {
					h.Unmatched++
				}
			}
		}
	}
}

// end closes the oldest piece of that size; pieces are held in order of issue.
func (r *rotation) end(m *happening) bool {
	for i, at := range r.open {
		p := &r.pieces[at]
		if p.size == m.SKU.Size {
			p.out, p.from, p.to, p.reason, p.ended = m.date, m.date, m.date, m.Reason, true
			if m.unseen {
				p.from, p.to, p.reason = max(p.in, m.from), m.to, programme.Unexplained
			}
			r.open = slices.Delete(r.open, i, i+1)
			return true
		}
	}
	return false
}

// leave ends what a leaver still holds on the last day: returned or kept, it
// wears no longer and says only that it lasted until then.
func (r *rotation) leave(day programme.Date) {
	for _, at := range r.open {
		p := &r.pieces[at]
		p.out = max(day, p.in)
		p.from, p.to, p.ended, p.reason = p.out, p.out, true, programme.LeftReason
	}
	r.open = r.open[:0]
}

func (r *rotation) piece(b *Book, use *Use, p *held, m *programme.Movement, asOf programme.Date) programme.Piece {
	out := programme.Piece{
		StaffID: m.StaffID, SKU: programme.SKU{Garment: m.SKU.Garment, Colour: m.SKU.Colour, Size: p.size},
		Issued: p.in, EntryWashes: p.initial, Reason: p.reason, Assumed: p.assumed, Reissued: p.initial > 0 && p.in > b.client.RecordsStart,
	}
	zero := r.at(p.in) - p.initial
	end := asOf
	if p.ended {
		out.Ended, end = p.out, p.out
		out.FromWashes = r.at(p.from) - zero
		out.ToWashes = out.FromWashes + r.kept(use, p)
	}
	out.Washes = r.at(end) - zero
	if !p.ended {
		seen := max(p.in, b.client.RecordsStart, r.take(p.size).counted)
		out.UnseenDays = max(0, float64(asOf-seen))
		out.FromWashes, out.ToWashes = r.at(min(seen, asOf))-zero, out.Washes
	}
	if s := b.client.RecordsStart; s > p.in {
		out.EntryWashes = min(out.FromWashes, r.at(s)-zero)
	}
	return out
}
