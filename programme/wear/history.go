package wear

import (
	"cmp"
	"math"
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
	// Hidden is the share of endings that nobody writes down until a count shows
	// them, as counts so far tell; 0 where nobody counts.
	Hidden float64
	roles  map[string]string
	// endings up to a holder's last count: written down, and found by a count
	written, found int
	counted        bool
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
	h.hide(b.client.CountEveryWeeks > 0)
	return h
}

// Before the first counts it is believed, as from ten endings, that one in ten
// is not written down (common practice, no source).
const writtenBefore, foundBefore = 9, 1

// hide works out how many endings stay hidden until a count, where counts are
// held or expected.
func (h *History) hide(expected bool) {
	if h.counted || expected {
		h.Hidden = float64(foundBefore+h.found) / float64(writtenBefore+foundBefore+h.written+h.found)
	}
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

func (r *rotation) take(size string) *stocktake {
	return &r.takes[slices.IndexFunc(r.takes, func(t stocktake) bool { return t.size == size })]
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

// withUnseen adds an ending for each piece missing at a count, spread evenly
// over the time in which it may lie, so that seen and unseen endings take the
// oldest pieces in a fair order.
func (r *rotation) withUnseen(moves []*programme.Movement, h *History) []happening {
	out := r.steps[:0]
	r.takes = r.takes[:0]
	for _, m := range moves {
		i := slices.IndexFunc(r.takes, func(t stocktake) bool { return t.size == m.SKU.Size })
		if i < 0 {
			i = len(r.takes)
			r.takes = append(r.takes, stocktake{size: m.SKU.Size, counted: m.Date, day: m.Date})
		}
		t := &r.takes[i]
		t.turn(m.Date)
		switch m.Kind {
		case programme.Issued:
			t.known += m.Pieces
		case programme.Ended:
			t.end(m)
		case programme.Counted:
			missing, surplus := t.count(m)
			h.Surplus += surplus
			for j := range missing {
				from := t.earliest(j + 1)
				share := (float64(j) + 0.5) / float64(missing)
				out = append(out, happening{m, from + programme.Date(math.Ceil(share*float64(m.Date-from))), true, from, m.Date})
			}
			t.counted, t.counts, t.stayed = m.Date, t.counts+1, t.stayed[:0]
			continue
		}
		out = append(out, happening{Movement: m, date: m.Date})
	}
	slices.SortStableFunc(out, func(a, b happening) int { return cmp.Compare(a.date, b.date) })
	r.steps = out
	return out
}

// stocktake is what the ledger says of one person's pieces of one size between counts.
type stocktake struct {
	size    string
	known   int // pieces that should be there
	day     programme.Date
	morning int            // of them, before the issues of day
	out     int            // ended on day
	counted programme.Date // the last count, or the first issue
	counts  int
	stayed  []stayed
}

// stayed is how many pieces lasted through a day on which others ended.
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

func (t *stocktake) end(m *programme.Movement) {
	t.known = max(0, t.known-m.Pieces)
	t.out += m.Pieces
	t.stayed = append(t.stayed, stayed{m.Date, max(0, t.morning-t.out)})
}

// earliest is the day after which the n-th unseen ending since the last count
// must lie: with fewer than n pieces lasting through a day, it had not come yet.
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
func (t *stocktake) count(m *programme.Movement) (missing, surplus int) {
	missing = max(0, min(t.known, t.morning-t.out)-m.Pieces)
	surplus = max(0, m.Pieces-t.known)
	t.known -= missing
	return missing, surplus
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
		n := r.inRotation(i)
		if r.days[i] <= recordsStart {
			n = max(n, use.Each)
		}
		total += use.Pace(n) * float64(r.days[i]-r.days[i-1]) / 7
		r.washes = append(r.washes, total)
	}
}

// inRotation is how many pieces share the washes before days[i].
func (r *rotation) inRotation(i int) int {
	n := 0
	for j := range r.pieces {
		p := &r.pieces[j]
		if p.in <= r.days[i-1] && (!p.ended || p.out >= r.days[i]) {
			n++
		}
	}
	return n
}

// kept is the washes that a piece would have had between the bounds of its
// ending had it lasted, sharing the rotation with the others.
func (r *rotation) kept(use *Use, p *held) float64 {
	if p.from == p.to {
		return 0
	}
	sum := 0.0
	for i := 1; i < len(r.days); i++ {
		from, to := max(r.days[i-1], p.from), min(r.days[i], p.to)
		if from >= to {
			continue
		}
		n := r.inRotation(i)
		if r.days[i-1] >= p.out {
			n++
		}
		sum += use.Pace(n) * float64(to-from) / 7
	}
	return sum
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
