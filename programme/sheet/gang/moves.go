package gang

import (
	"cmp"
	"slices"
)

// start spreads the artworks over k layouts, most needed first, so that
// artworks with like needs share a layout, and fills what is left. Every other
// pass spreads them by chance.
func (s *solver) start(k, pass int) ([]Layout, bool) {
	layouts := make([]Layout, k)
	for i := range layouts {
		layouts[i].Copies = make([]int, len(s.p.Need))
	}
	order := s.byNeed()
	if pass%2 == 1 {
		s.rng.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
	}
	for i, j := range order {
		if pass%2 == 1 && s.add(&layouts[i%k], j) {
			continue
		}
		if !s.addSomewhere(layouts, j) {
			return nil, false
		}
	}
	for i := range layouts {
		s.fill(&layouts[i])
	}
	for i := range layouts { // an empty layout would be a wasted degree of freedom
		if slices.Max(layouts[i].Copies) == 0 {
			layouts[i].Copies[s.byNeed()[i%len(s.p.Need)]] = 1
			s.fill(&layouts[i])
		}
	}
	return layouts, true
}

// byNeed lists artworks by area needed, most first.
func (s *solver) byNeed() []int {
	order := make([]int, len(s.p.Need))
	for j := range order {
		order[j] = j
	}
	weight := func(j int) float64 { return float64(s.p.Need[j]) * s.p.Size[j] }
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(weight(b), weight(a)) })
	return order
}

func (s *solver) addSomewhere(layouts []Layout, j int) bool {
	for i := range layouts {
		if s.add(&layouts[i], j) {
			return true
		}
	}
	return false
}

// add puts one more copy of j on a layout if it fits.
func (s *solver) add(l *Layout, j int) bool {
	l.Copies[j]++
	if s.holds(l.Copies) {
		return true
	}
	l.Copies[j]--
	return false
}

// fill adds copies while any fit, each time of the artwork on the layout that
// would ask for the longest run.
func (s *solver) fill(l *Layout) {
	for {
		at := -1
		for j, c := range l.Copies {
			if c == 0 || s.tight(l, j) {
				continue
			}
			if at < 0 || s.p.Need[j]*l.Copies[at] > s.p.Need[at]*c {
				at = j
			}
		}
		if at < 0 || !s.add(l, at) {
			return
		}
	}
}

// tight reports that one more copy of j does not fit.
func (s *solver) tight(l *Layout, j int) bool {
	l.Copies[j]++
	ok := s.holds(l.Copies)
	l.Copies[j]--
	return !ok
}

// recloseOdds is the number of changes in which a whole layout is replaced once, on average.
const recloseOdds = 12

// change makes a random neighbour; false when the try came to nothing.
func (s *solver) change(layouts []Layout) bool {
	i := s.rng.IntN(len(layouts))
	if len(layouts) > 1 && s.rng.IntN(recloseOdds) == 0 {
		return s.reclose(layouts, i)
	}
	if len(layouts) > 1 && s.rng.IntN(2) == 0 {
		return s.exchange(&layouts[i], &layouts[(i+1+s.rng.IntN(len(layouts)-1))%len(layouts)])
	}
	return s.replace(&layouts[i], s.scarce())
}

// replace puts a copy of j on the layout, taking off others until it fits, and
// fills the room that is left over.
func (s *solver) replace(l *Layout, j int) bool {
	for tries := 0; !s.add(l, j); tries++ {
		out := s.pick(l, j)
		if out < 0 || tries > 8 {
			return false
		}
		l.Copies[out]--
	}
	s.top(l)
	return true
}

// exchange swaps a copy of one layout with a copy of another.
func (s *solver) exchange(a, b *Layout) bool {
	x, y := s.pick(a, -1), s.pick(b, -1)
	if x < 0 || y < 0 || x == y {
		return false
	}
	a.Copies[x]--
	b.Copies[y]--
	if !s.add(a, y) || !s.add(b, x) {
		return false
	}
	s.top(a)
	s.top(b)
	return true
}

// scarce takes the scarcer of two random artworks.
func (s *solver) scarce() int {
	a, b := s.rng.IntN(len(s.p.Need)), s.rng.IntN(len(s.p.Need))
	if len(s.short) == len(s.p.Need) && s.short[b] > s.short[a] {
		return b
	}
	return a
}

// pick takes the more plentiful of two random copies on the layout, not of
// artwork except; -1 when there is none.
func (s *solver) pick(l *Layout, except int) int {
	a, b := s.pickOne(l, except), s.pickOne(l, except)
	if a >= 0 && len(s.short) == len(s.p.Need) && s.short[b] < s.short[a] {
		return b
	}
	return a
}

func (s *solver) pickOne(l *Layout, except int) int {
	n := 0
	for j, c := range l.Copies {
		if j != except {
			n += c
		}
	}
	if n == 0 {
		return -1
	}
	n = s.rng.IntN(n)
	for j, c := range l.Copies {
		if j == except {
			continue
		}
		if n -= c; n < 0 {
			return j
		}
	}
	return -1
}

// top adds random artworks while a few tries in a row find room.
func (s *solver) top(l *Layout) {
	var a float64
	least := 1.0
	for j, c := range l.Copies {
		a += float64(c) * s.p.Size[j]
		least = min(least, s.p.Size[j])
	}
	for tries := 0; tries < 3 && a+least <= 1+1e-9; tries++ {
		j := s.rng.IntN(len(s.p.Need))
		if s.add(l, j) {
			a += s.p.Size[j]
			tries = -1
		}
	}
}
