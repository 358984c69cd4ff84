package wear

import (
	"cmp"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

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

func (r *rotation) take(size string) *stocktake {
	return &r.takes[slices.IndexFunc(r.takes, func(t stocktake) bool { return t.size == size })]
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
