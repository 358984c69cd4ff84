package wear

import (
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

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
