package replenish

import (
	"slices"
	"sort"
)

// stock is one line's level while the cycle grows longer.
type stock struct {
	level   int
	cost    float64   // expected, of all reviews of the cycle
	slope   float64   // about what one more piece adds to it
	passed  float64   // reviews so far
	reviews []float64 // expected reviews at which so many pieces of the line are used
	weeks   []weekCost
}

func (c *cycle) stock(i int) stock {
	from, to := c.answers()
	c.week(i, to)
	return stock{weeks: slices.Clone(c.weeks[i][from-c.Lead-1 : to-c.Lead])}
}

func (s *stock) at(position int) (sum float64) {
	for i := range s.weeks {
		sum += s.weeks[i].at(position)
	}
	return sum
}

// note lengthens the cycle by reviews at which the line's use has those chances.
func (s *stock) note(chances []float64, reviews float64) {
	s.reviews = padded(s.reviews, len(chances))
	for a, p := range chances {
		s.reviews[a] += p * reviews
	}
}

// padded returns a slice with zeros behind it up to a length at least.
func padded(s []float64, length int) []float64 {
	return append(s, make([]float64, max(0, length-len(s)))...)
}

// add is note that keeps cost and slope up.
func (s *stock) add(chances []float64, reviews float64) {
	s.note(chances, reviews)
	s.passed += reviews
	for a, p := range chances {
		if w := p * reviews; w > 0 {
			s.cost += w * s.at(s.level-a)
			for i := range s.weeks {
				s.slope += w * s.weeks[i].more(s.level-a)
			}
		}
	}
}

// raise brings the level to where one more piece would cost more than it saves.
// Longer cycles never ask for less, so it only rises.
func (s *stock) raise() {
	if s.slope > s.rounding() {
		return
	}
	for {
		s.slope = s.more(s.level)
		if s.slope >= 0 {
			return
		}
		s.cost += s.slope
		s.level++
	}
}

// best returns the level at which one more piece would cost more than it saves.
func (s *stock) best() int {
	low := -len(s.reviews)
	high := 0
	for s.more(high) < 0 {
		low, high = high+1, 2*high+8
	}
	return low + sort.Search(high-low, func(n int) bool { return s.more(low+n) >= 0 })
}

// rounding returns by how much slope, which is added up review by review, may be off.
func (s *stock) rounding() float64 {
	most := 0.0
	for i := range s.weeks {
		most += s.weeks[i].keeping + s.weeks[i].missing
	}
	return 1e-9 * s.passed * most
}

// more returns what one piece above that level adds to the cost of the cycle.
func (s *stock) more(level int) (sum float64) {
	for a, w := range s.reviews {
		for i := range s.weeks {
			sum += w * s.weeks[i].more(level-a)
		}
	}
	return sum
}
