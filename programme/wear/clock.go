package wear

import (
	"cmp"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// clock integrates PerWeek/n(t) over the days, harder ones more, on which n changes. Before the
// records begin, and until a count where pieces are assumed from past orders, only
// those that lasted are known, so n is at least the kit's number: their companions of
// those days went unrecorded.
func (r *rotation) clock(recordsStart, asOf programme.Date) {
	r.days = append(r.days[:0], asOf)
	if !recordsStart.IsZero() && recordsStart < asOf {
		r.days = append(r.days, recordsStart)
	}
	for _, u := range r.lines {
		if d := u.line.From - 1; d > 0 && d < asOf {
			r.days = append(r.days, d)
		}
	}
	whole := recordsStart
	for i := range r.batches {
		b := &r.batches[i]
		r.days = append(r.days, b.in)
		if b.assumed && !b.ageless {
			whole = max(whole, min(asOf, cmp.Or(r.takes[b.kind].first, asOf)))
		}
	}
	if whole > recordsStart {
		r.days = append(r.days, whole)
	}
	for i := range r.ends {
		c := &r.ends[i]
		r.days = append(r.days, c.out)
		if c.from != c.to {
			r.days = append(r.days, c.from, c.to)
		}
	}
	slices.Sort(r.days)
	r.days = slices.Compact(r.days)
	r.hold()
	r.washes = append(r.washes[:0], 0)
	total := 0.0
	for i := 1; i < len(r.days); i++ {
		n := r.held[i]
		use := r.useOn(r.days[i])
		if r.days[i] <= whole {
			n = max(n, use.Each)
		}
		total += use.Pace(n) * use.Wearing(r.book, r.absence, r.days[i-1], r.days[i]) / 7
		r.washes = append(r.washes, total)
	}
}

// hold counts how many pieces share the washes before each of the days.
func (r *rotation) hold() {
	r.held = append(r.held[:0], make([]int, len(r.days)+1)...)
	for i := range r.batches {
		r.held[r.indexOf(r.batches[i].in)+1] += r.batches[i].number
	}
	for i := range r.ends {
		r.held[r.indexOf(r.ends[i].out)+1]--
	}
	for i := 1; i < len(r.held); i++ {
		r.held[i] += r.held[i-1]
	}
}

// indexOf finds one of the days; -1 when it is none of them.
func (r *rotation) indexOf(d programme.Date) int {
	i, ok := slices.BinarySearch(r.days, d)
	if !ok {
		return -1
	}
	return i
}

// kept returns the washes that a piece would have had between the bounds of its
// ending had it lasted, sharing the rotation with the others.
func (r *rotation) kept(c *closing, from programme.Date) float64 {
	if from >= c.to {
		return 0
	}
	sum := 0.0
	for i := 1; i < len(r.days); i++ {
		first, last := max(r.days[i-1], from), min(r.days[i], c.to)
		if first >= last {
			continue
		}
		n := r.held[i]
		if r.days[i-1] >= c.out {
			n++
		}
		use := r.useOn(last)
		sum += use.Pace(n) * use.Wearing(r.book, r.absence, first, last) / 7
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
	use := r.useOn(r.days[i])
	all := use.Wearing(r.book, r.absence, r.days[i-1], r.days[i])
	share := use.Wearing(r.book, r.absence, r.days[i-1], d) / max(1e-9, all)
	return r.washes[i-1] + share*(r.washes[i]-r.washes[i-1])
}
