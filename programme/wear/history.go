package wear

import (
	"cmp"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// History is every piece the ledger knows of, with its age in washes.
type History struct {
	// InService are pieces in active hands on the date asked for, washes up to it.
	InService []programme.Piece
	// Ended are all others: ended with a reason, missing at a count, returned
	// or kept by a leaver.
	Ended []programme.Piece
	// Unmatched counts endings of pieces nobody was known to hold, and Surplus
	// pieces counted beyond those issued: movements the ledger lacks.
	Unmatched, Surplus int
	roles              map[string]string
}

// Trace turns movements up to and including asOf into pieces. n(t), the pieces
// of a garment and colour in one person's rotation, is what the ledger says on
// each day; a week of rotation gives each of them PerWeek/n washes. Endings
// take the oldest piece. Pieces missing at a count are the oldest ones, ended
// between the last sign of life (issue or count) and the count; rotation
// takes them out half-way between.
func (b *Book) Trace(staff []programme.Person, ledger []programme.Movement, asOf programme.Date) History {
	people := make(map[string]*programme.Person, len(staff))
	for i := range staff {
		people[staff[i].StaffID] = &staff[i]
	}
	moves := make([]*programme.Movement, 0, len(ledger))
	for i := range ledger {
		if ledger[i].Date <= asOf {
			moves = append(moves, &ledger[i])
		}
	}
	slices.SortStableFunc(moves, byHolding)
	h := History{roles: make(map[string]string, len(staff))}
	for i := range staff {
		h.roles[staff[i].StaffID] = staff[i].Role
	}
	var r rotation
	for len(moves) > 0 {
		n := 1
		for n < len(moves) && sameHolding(moves[n], moves[0]) {
			n++
		}
		r.run(b, people[moves[0].StaffID], moves[:n], asOf, &h)
		moves = moves[n:]
	}
	return h
}

// byHolding sorts by person, garment and colour, then by day: what came in
// before what went out, and counts last.
func byHolding(a, b *programme.Movement) int {
	return cmp.Or(cmp.Compare(a.StaffID, b.StaffID), cmp.Compare(a.SKU.Garment, b.SKU.Garment),
		cmp.Compare(a.SKU.Colour, b.SKU.Colour), cmp.Compare(a.Date, b.Date), cmp.Compare(rank(a.Kind), rank(b.Kind)))
}

func rank(k programme.MovementKind) int {
	switch k {
	case programme.Issued:
		return 0
	case programme.Ended:
		return 1
	default:
		return 2
	}
}

func sameHolding(a, b *programme.Movement) bool {
	return a.StaffID == b.StaffID && a.SKU.Garment == b.SKU.Garment && a.SKU.Colour == b.SKU.Colour
}

// rotation follows one person's pieces of one garment and colour; its slices
// are used again for the next.
type rotation struct {
	pieces []held
	open   []int
	days   []programme.Date
	washes []float64 // of a piece in rotation since the first day, at each of days
}

type held struct {
	size           string
	in, out, last  programme.Date // last = last sign of life
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
		p := r.piece(b, &r.pieces[i], moves[0], asOf)
		if r.pieces[i].ended {
			h.Ended = append(h.Ended, p)
		} else {
			h.InService = append(h.InService, p)
		}
	}
}

func (r *rotation) follow(moves []*programme.Movement, h *History) {
	r.pieces, r.open = r.pieces[:0], r.open[:0]
	for _, m := range moves {
		switch m.Kind {
		case programme.Issued:
			for range m.Pieces {
				r.open = append(r.open, len(r.pieces))
				r.pieces = append(r.pieces, held{size: m.SKU.Size, in: m.Date, last: m.Date, initial: m.Washes, assumed: m.Assumed})
			}
		case programme.Ended:
			for range m.Pieces {
				if !r.end(m) {
					h.Unmatched++
				}
			}
		case programme.Counted:
			h.Surplus += r.count(m)
		}
	}
}

// end closes the oldest piece of that size; pieces are held in order of issue.
func (r *rotation) end(m *programme.Movement) bool {
	for i, at := range r.open {
		p := &r.pieces[at]
		if p.size == m.SKU.Size {
			p.out, p.from, p.to, p.reason, p.ended = m.Date, m.Date, m.Date, m.Reason, true
			r.open = slices.Delete(r.open, i, i+1)
			return true
		}
	}
	return false
}

// count closes what is missing and renews the sign of life of the rest; it
// returns how many more pieces were counted than were known.
func (r *rotation) count(m *programme.Movement) (surplus int) {
	known := 0
	for _, at := range r.open {
		if r.pieces[at].size == m.SKU.Size {
			known++
		}
	}
	missing := known - m.Pieces
	rest := r.open[:0]
	for _, at := range r.open {
		p := &r.pieces[at]
		if p.size == m.SKU.Size && missing > 0 && p.last < m.Date {
			missing--
			p.from, p.to, p.ended, p.reason = p.last, m.Date, true, programme.Unexplained
			p.out = p.last + (m.Date-p.last+1)/2
			continue
		}
		if p.size == m.SKU.Size {
			p.last = m.Date
		}
		rest = append(rest, at)
	}
	r.open = rest
	return max(0, -missing)
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

// clock integrates PerWeek/n(t) over the days on which n changes. Before the
// records begin only the pieces that lasted until then are known, so n is at
// least the kit's number: their companions of those days went unrecorded.
func (r *rotation) clock(use *Use, recordsStart, asOf programme.Date) {
	r.days = append(r.days[:0], asOf)
	if !recordsStart.IsZero() && recordsStart < asOf {
		r.days = append(r.days, recordsStart)
	}
	for i := range r.pieces {
		p := &r.pieces[i]
		r.days = append(r.days, p.in)
		if p.ended {
			r.days = append(r.days, p.out, p.from, p.to)
		}
	}
	slices.Sort(r.days)
	r.days = slices.Compact(r.days)
	r.washes = append(r.washes[:0], 0)
	total := 0.0
	for i := 1; i < len(r.days); i++ {
		n := 0
		for j := range r.pieces {
			p := &r.pieces[j]
			if p.in <= r.days[i-1] && (!p.ended || p.out >= r.days[i]) {
				n++
			}
		}
		if r.days[i] <= recordsStart {
			n = max(n, use.Each)
		}
		total += use.Pace(n) * float64(r.days[i]-r.days[i-1]) / 7
		r.washes = append(r.washes, total)
	}
}

func (r *rotation) at(d programme.Date) float64 {
	i, ok := slices.BinarySearch(r.days, d)
	if ok {
		return r.washes[i]
	}
	if i == 0 || i == len(r.days) {
		return r.washes[min(i, len(r.days)-1)]
	}
	share := float64(d-r.days[i-1]) / float64(r.days[i]-r.days[i-1])
	return r.washes[i-1] + share*(r.washes[i]-r.washes[i-1])
}

func (r *rotation) piece(b *Book, p *held, m *programme.Movement, asOf programme.Date) programme.Piece {
	out := programme.Piece{
		StaffID: m.StaffID, SKU: programme.SKU{Garment: m.SKU.Garment, Colour: m.SKU.Colour, Size: p.size},
		Issued: p.in, EntryWashes: p.initial, Reason: p.reason, Assumed: p.assumed,
	}
	zero := r.at(p.in) - p.initial
	end := asOf
	if p.ended {
		out.Ended, end = p.out, p.out
		out.FromWashes, out.ToWashes = r.at(p.from)-zero, r.at(p.to)-zero
	}
	out.Washes = r.at(end) - zero
	if !p.ended {
		out.FromWashes, out.ToWashes = out.Washes, out.Washes
	}
	if s := b.client.RecordsStart; s > p.in {
		out.EntryWashes = min(out.FromWashes, r.at(s)-zero)
	}
	return out
}
