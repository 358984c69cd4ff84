package wear

import (
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/exponent"
)

// emitEnded states every closing as the parts of pieces it may have been.
func (r *rotation) emitEnded(m *programme.Movement, h *History) {
	parts := 0
	for i := range r.ends {
		parts += len(r.ends[i].shares)
	}
	if len(h.Ended)+parts > cap(h.Ended) { // twice as much, since each is large
		h.Ended = slices.Grow(h.Ended, max(parts, len(h.Ended)))
	}
	for i := range r.ends {
		c := &r.ends[i]
		for _, s := range c.shares {
			h.Ended = append(h.Ended, r.ended(c, s, m))
		}
	}
}

func (r *rotation) ended(c *closing, s portion, m *programme.Movement) programme.Piece {
	b := &r.batches[s.batch]
	out := r.pieceOf(b, m)
	out.Ended, out.Reason, out.Replaced, out.Implied = c.out, c.reason, c.replaced, c.implied
	if s.part < 1 {
		out.Part = s.part
	}
	zero := r.at(b.in) - b.initial
	from := max(b.in, c.from)
	out.FromWashes = r.at(from) - zero
	out.Washes = r.at(c.out) - zero
	out.ToWashes = out.FromWashes + r.kept(c, from)
	if c.unseen || c.replaced {
		r.unseen(&out, b, min(c.out, r.days[len(r.days)-1]), zero)
	}
	r.truncate(&out, b, zero, c.to)
	out.AwayDays = r.away(&out, b, c.out)
	out.Shelved, out.Kept = c.shelved, c.unseen && c.reason == programme.LeftReason
	return out
}

func (r *rotation) pieceOf(b *batch, m *programme.Movement) programme.Piece {
	return programme.Piece{
		StaffID: m.StaffID, SKU: r.takes[b.kind].sku,
		Issued: b.in, EntryWashes: b.initial, Assumed: b.assumed, Reissued: b.initial > 0 &&
			b.in > r.book.client.RecordsStart,
	}
}

// truncate states the age at which records begin for a piece that is older. A
// piece of past orders is observed once a count has found it, by a day.
func (r *rotation) truncate(p *programme.Piece, b *batch, zero float64, by programme.Date) {
	s := r.book.client.RecordsStart
	if b.assumed {
		first := r.takes[b.kind].first
		if b.ageless || first.IsZero() || first < b.in || first >= by {
			return
		}
		p.Assumed, p.Since, s = false, first, first
	}
	if s > b.in {
		p.EntryWashes = min(p.FromWashes, r.at(s)-zero)
	}
}

// unseen states the last sign of life before a day: an issue, the start of
// records, or a count.
func (r *rotation) unseen(p *programme.Piece, b *batch, day programme.Date, zero float64) {
	seen := min(day, max(b.in, r.book.client.RecordsStart, r.takes[b.kind].counted))
	p.UnseenDays = float64(r.absence.There(seen, day))
	p.FromWashes, p.ToWashes = r.at(seen)-zero, p.Washes
}

// away returns the days, since records show a batch until then, on which its holder was away.
func (r *rotation) away(p *programme.Piece, b *batch, until programme.Date) float64 {
	since := min(until, max(b.in, r.book.client.RecordsStart, p.Since))
	return float64(until.Sub(since) - r.absence.There(since, until))
}

// emitHeld states what is in service: whole pieces, kind by kind, the oldest
// parts of batches first. A piece that may be of several batches has an age
// between theirs, such that it ends as its parts do.
func (r *rotation) emitHeld(m *programme.Movement, asOf programme.Date, h *History) {
	for i := range r.takes {
		r.slot = r.slot[:0]
		filled := 0.0
		for j := range r.batches {
			b := &r.batches[j]
			if b.kind != i {
				continue
			}
			for left := b.left; left > settledPart; {
				part := min(left, 1-filled)
				r.slot = append(r.slot, portion{j, part})
				left, filled = left-part, filled+part
				if filled > 1-settledPart {
					r.fill(m, asOf, h)
					filled = 0
				}
			}
		}
		if filled > 0.5 {
			r.fill(m, asOf, h)
		}
	}
}

// fill makes a piece of the portions in slot. What it teaches is what they teach
// one by one: an age between theirs would not do.
func (r *rotation) fill(m *programme.Movement, asOf programme.Date, h *History) {
	h.InService = append(h.InService, r.inService(r.slot, m, asOf))
	if len(r.slot) > 1 {
		for i, s := range r.slot {
			p := r.inService(r.slot[i:i+1], m, asOf)
			p.Part = s.part
			h.parts = append(h.parts, p)
		}
	}
	r.slot = r.slot[:0]
}

// inService returns the piece that portions make up.
func (r *rotation) inService(slot []portion, m *programme.Movement, asOf programme.Date) programme.Piece {
	main := slot[0]
	for _, s := range slot[1:] {
		if s.part > main.part {
			main = s
		}
	}
	b := &r.batches[main.batch]
	out := r.pieceOf(b, m)
	zero := r.at(b.in) - b.initial
	out.Washes = r.at(asOf) - zero
	r.unseen(&out, b, asOf, zero)
	if r.lateFrom > 0 {
		start := max(r.lateFrom, b.in, r.takes[b.kind].counted)
		out.LateWashes, out.LateDays = max(out.FromWashes, r.at(start)-zero), float64(r.absence.There(start, asOf))
	}
	r.truncate(&out, b, zero, asOf+1)
	out.AwayDays = r.away(&out, b, asOf)
	if len(slot) > 1 {
		out.Alike = true
		if shift := r.slotAge(asOf) - out.Washes; shift != 0 {
			out.Washes = max(0, out.Washes+shift)
			out.FromWashes, out.LateWashes, out.ToWashes = max(0, out.FromWashes+shift),
				max(0, out.LateWashes+shift), out.Washes
		}
	}
	return out
}

// slotAge returns the age at which a piece has about the chance to end within a quarter that the
// portions have on average: the mean of the order by which that chance grows with age around their mean.
func (r *rotation) slotAge(asOf programme.Date) float64 {
	age := func(s portion) float64 {
		b := &r.batches[s.batch]
		return max(0, r.at(asOf)-r.at(b.in)+b.initial)
	}
	sum, parts := 0.0, 0.0
	for _, s := range r.slot {
		sum, parts = sum+s.part*age(s), parts+s.part
	}
	order := 1.5
	if belief := r.takes[r.batches[r.slot[0].batch].kind].belief; belief != &nothingKnown {
		use, mean := r.useOn(asOf), sum/parts
		order = min(3, max(0.25, belief.growth(mean, max(quarterWeeks*use.Pace(use.Each), mean/100))))
	}
	sum = 0
	for _, s := range r.slot {
		sum += s.part * math.Pow(age(s), order)
	}
	return math.Pow(sum/parts, 1/order)
}

// quarterWeeks is about as far ahead as orders look.
const quarterWeeks = 13

// growth returns the slope, in logarithms, of the chance of an ending by wear in some more washes by age.
func (b *belief) growth(age, washes float64) float64 {
	if age <= 0 {
		return 0
	}
	return age * (b.rate(0, age+washes) - b.rate(0, age)) / exponent.Expm1(b.wearing(age, age+washes))
}
