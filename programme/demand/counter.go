package demand

import "slices"

// counter counts the endings of one class of pieces under each of its lifetimes.
type counter struct {
	lifetimes []Lifetime
	again     float64 // see Renewals
	exact     *predictor
	effort    effort
	weeks     float64
	by        map[Rotation]*Renewals
	room      *room
	// scratch, used again for each holder: of pieces, tails by moment of leaving and piece,
	// and the holder's distribution by lifetime
	buffer [2][]float64
	tails  [][]float64
	mixes  [][]float64
}

func newCounter(lifetimes []Lifetime, again float64, exact *predictor, weeks float64, e effort, room *room) *counter {
	return &counter{lifetimes: lifetimes, again: again, exact: exact, weeks: weeks, effort: e,
		by: map[Rotation]*Renewals{}, room: room, mixes: make([][]float64, len(lifetimes))}
}

func (c *counter) renewals(r Rotation) *Renewals {
	got := c.by[r]
	if got == nil {
		got = newRenewals(c.lifetimes, r, c.weeks, c.effort, c.room)
		got.again = c.again
		got.exact = func(age, t float64) float64 { return c.exact.ended(age, r, t) }
		c.by[r] = got
	}
	return got
}

// add adds a holder's replacements to sums, one per lifetime. Somebody who leaves
// takes all of their pieces along, so the holder's distribution is an average over the
// time of leaving of sums over pieces, not a sum of averages. Where it is asked for, the
// result is the expected replacements for each time of leaving. Only those within a span count.
func (c *counter) add(h *holder, stay retention, in span, sums []sum, asked bool) (means []float64) {
	variants, weights := h.variants()
	for q := range c.mixes {
		c.mixes[q] = c.mixes[q][:0]
	}
	for v, x := range variants {
		tails := c.count(x, stay, in, weights[v])
		switch {
		case !asked:
		case means == nil:
			means = c.means(tails, len(x.pieces))
		default:
			means = append(means, c.means(tails, len(x.pieces))...)
		}
	}
	for q := range sums {
		sums[q].add(c.mixes[q])
	}
	return means
}

// count adds a holder's distribution, times a weight, to mixes. It returns the tails of each
// piece by time of leaving, valid until the next call.
func (c *counter) count(h *holder, stay retention, in span, weight float64) (tails [][]float64) {
	r := c.renewals(h.rot)
	if r.tables == nil && h.manyKindred() {
		r.tables = map[float64]*ageTable{}
	}
	all := len(stay.moments) * len(h.pieces)
	tails = slices.Grow(c.tails[:0], all)[:all]
	c.tails = tails
	surplus := h.surplus
	if in.from > 0 && surplus < len(h.pieces) {
		surplus = 0 // the first to end were those beyond the kit
	}
	from, to := h.present.there(in.from), h.present.there(in.to)
	for i := range h.pieces { // piece by piece, since what is known of an age serves all moments
		known := r.piece(h.ages[i], h.unseen[i])
		for j, m := range stay.moments {
			p := known
			if h.present != nil && m.At <= 0 { // whoever is away asks for nothing
				p = r.piece(h.ages[i], unseen{})
			}
			t := p.tails(min(m.At, to))
			if from > 0 {
				t = between(p.tails(min(m.At, from)), t, r.Depth()+1)
			}
			tails[j*len(h.pieces)+i] = t
		}
	}
	depth := r.Depth() + 1
	for q := range c.lifetimes {
		mix := c.mixes[q]
		for i, m := range stay.moments {
			f := c.pieces(tails[i*len(h.pieces):(i+1)*len(h.pieces)], q*depth, depth)
			f = pmf{0, f}.less(surplus).p
			mix = padded(mix, len(f))
			for n, x := range f {
				mix[n] += weight * m.Weight * x
			}
		}
		c.mixes[q] = mix
	}
	return tails
}

// between is tails of the endings of a piece that come after one time and before
// another, given the tails up to both. It has their mean; that a piece and what
// replaces it both end in between is left out, as one ending in the place of two.
func between(before, by []float64, depth int) []float64 {
	out := make([]float64, len(by))
	for q := 0; q < len(by); q += depth {
		out[q] = 1
		for n := 1; n < depth; n++ {
			out[q+1] += by[q+n] - before[q+n]
		}
		out[q+1] = min(1, max(0, out[q+1]))
	}
	return out
}

// means averages expected endings over the lifetimes, for each time of leaving.
func (c *counter) means(tails [][]float64, pieces int) []float64 {
	out := c.room.floats(len(tails) / pieces)
	for i, t := range tails {
		depth := len(t) / len(c.lifetimes)
		for q := range c.lifetimes {
			for _, x := range t[q*depth+1 : (q+1)*depth] {
				out[i/pieces] += c.lifetimes[q].Weight * x
			}
		}
	}
	return out
}

// manyAlike is from how many pieces that are alike on they are counted together.
const manyAlike = 16

// pieces returns the PMF of the endings of independent pieces under one lifetime; the
// result is valid until the next call.
func (c *counter) pieces(tails [][]float64, from, depth int) []float64 {
	if len(tails) >= manyAlike {
		if f, alike := heapsOf(tails, from, depth); alike {
			return f
		}
	}
	f := append(c.buffer[0][:0], 1)
	g := c.buffer[1]
	for _, t := range tails {
		t = told(t[from : from+depth])
		g = grow(g[:0], len(f)+len(t)-1)
		for n := range t {
			y := t[n]
			if n+1 < len(t) {
				y -= t[n+1]
			}
			row := g[n : n+len(f)]
			for i, x := range f {
				row[i] += x * y
			}
		}
		f, g = g, f
	}
	c.buffer[0], c.buffer[1] = f, g
	return f
}

// told cuts off the endings of a piece that are too unlikely to be told apart.
func told(tails []float64) []float64 {
	top := len(tails) - 1
	for top > 1 && tails[top] < negligible {
		top--
	}
	return tails[:top+1]
}

// heapsOf is pieces where many are alike, which have the same tails; alike tells
// whether there are such. Their number is a power of one's.
func heapsOf(tails [][]float64, from, depth int) (f []float64, alike bool) {
	same := func(i, j int) bool { return &tails[i][0] == &tails[j][0] }
	for i := manyAlike - 1; i < len(tails) && !alike; i++ {
		alike = same(i-manyAlike+1, i) // the memo hands out one slice for equal pieces, which lie beside each other
	}
	if !alike {
		return nil, false
	}
	total := certainly(0)
	for i := 0; i < len(tails); {
		n := 1
		for i+n < len(tails) && same(i, i+n) {
			n++
		}
		one := slices.Clone(told(tails[i][from : from+depth]))
		for k := range len(one) - 1 {
			one[k] -= one[k+1]
		}
		total = total.plus(pmf{0, one}.times(n))
		i += n
	}
	return append(make([]float64, total.lo, total.lo+len(total.p)), total.p...), true
}

// padded returns a slice with zeros behind it up to a length at least.
func padded(s []float64, length int) []float64 {
	return append(s, make([]float64, max(0, length-len(s)))...)
}

// grow returns a zeroed slice of n numbers, in s if it has room.
func grow(s []float64, n int) []float64 {
	if cap(s) < n {
		return make([]float64, n, 2*n)
	}
	s = s[:n]
	clear(s)
	return s
}

// sum is a pmf that independent numbers are added to, without garbage.
type sum struct {
	lo        int
	now, next []float64
}

func (s *sum) add(g []float64) {
	for len(g) > 1 && g[len(g)-1] < negligible {
		g = g[:len(g)-1]
	}
	if len(s.now) == 0 {
		s.now = append(s.now[:0], 1)
	}
	s.next = grow(s.next, len(s.now)+len(g)-1)
	for j, y := range g {
		if y == 0 {
			continue
		}
		row := s.next[j : j+len(s.now)]
		for i, x := range s.now {
			row[i] += x * y
		}
	}
	t := pmf{s.lo, s.next}.trimmed()
	s.lo = t.lo
	s.now = append(s.now[:0], t.p...)
}

func (s *sum) pmf() pmf {
	if len(s.now) == 0 {
		return certainly(0)
	}
	return pmf{s.lo, s.now}
}

// addPMF adds an independent number.
func (s *sum) addPMF(g pmf) {
	s.add(g.p)
	s.lo += g.lo
}

// joined adds more to sums lifetime by lifetime and returns them; nil stands for nothing
// counted at all.
func joined(sums, more []sum) []sum {
	if more == nil {
		return sums
	}
	if sums == nil {
		sums = make([]sum, len(more))
	}
	for q := range sums {
		sums[q].addPMF(more[q].pmf())
	}
	return sums
}

// mixed averages the PMFs under each lifetime.
func mixed(lifetimes []Lifetime, sums []sum) pmf {
	var m mixture
	for q := range sums {
		m.add(lifetimes[q].Weight, sums[q].pmf())
	}
	return m.pmf()
}
