package replenish

import (
	"math"
	"slices"
)

// Problem is one client's.
type Problem struct {
	Terms
	Lines []Line
	// PerPiece and Common are the excess of all lines' demand together, as in
	// Demand.Excess; nil takes the lines as independent.
	Together *Excess
}

// Excess is how much wider than Poisson a demand is; see Demand.Excess.
type Excess struct{ PerPiece, Common float64 }

// variance of a demand of that mean.
func (e Excess) variance(mean float64) float64 { return (1+e.PerPiece)*mean + e.Common*mean*mean }

// cycle is the time from one order to the next, while levels are sought.
type cycle struct {
	*Problem
	total   Excess
	share   []float64 // of each line in the total
	excess  []Excess
	reviews []float64 // expected reviews at which so many pieces have been used
}

func newCycle(p *Problem) *cycle {
	c := &cycle{Problem: p, share: make([]float64, len(p.Lines)), excess: make([]Excess, len(p.Lines))}
	_, base := p.answers()
	sum := 0.0
	for i := range p.Lines {
		d := p.Lines[i].Demand
		c.share[i] = d.Mean(base+year) - d.Mean(base)
		c.excess[i].PerPiece, c.excess[i].Common = d.Excess()
		sum += c.share[i]
	}
	for i := range c.share {
		if sum > 0 {
			c.share[i] /= sum
		}
		c.total.PerPiece += c.share[i] * c.excess[i].PerPiece
		c.total.Common += c.share[i] * c.share[i] * c.excess[i].Common
	}
	if p.Together != nil {
		c.total = *p.Together
	}
	return c
}

// year in weeks is the time over which lines' shares of the total are taken.
const year = 52

// mean returns the expected use of all lines in the first k reviews of a cycle.
func (c *cycle) mean(k int) float64 {
	_, base := c.answers()
	sum := 0.0
	for i := range c.Lines {
		d := c.Lines[i].Demand
		sum += d.Mean(base+k*max(1, c.Review)) - d.Mean(base)
	}
	return sum
}

// mostReviews bounds a cycle.
const mostReviews = 2000

// spend fills the expected number of reviews at which 0, 1, ... up to most
// pieces have been used: the sum over reviews of the chance of just so many.
func (c *cycle) spend(most int) {
	c.reviews = make([]float64, most+1)
	for k := range mostReviews {
		mean := c.mean(k)
		below := 0.0
		for n, p := range fit(mean, c.total.variance(mean)) {
			if n > most {
				break
			}
			c.reviews[n] += p
			below += p
		}
		if below < tail {
			return
		}
	}
}

// used returns the chances of a line's use once the total is n: the mean is its
// share, and the variance what the line's own has beyond its part in the total's.
func (c *cycle) used(i, n int) []float64 {
	q := c.share[i]
	mean := q * float64(n)
	return fit(mean, c.excess[i].variance(mean)-q*q*c.total.variance(float64(n)))
}

// stock is one line's level while the cycle grows longer.
type stock struct {
	level   int
	cost    float64   // expected, of all reviews of the cycle
	reviews []float64 // expected reviews at which so many pieces of the line are used
	weeks   []weekCost
}

func (s *stock) at(position int) (sum float64) {
	for i := range s.weeks {
		sum += s.weeks[i].at(position)
	}
	return sum
}

// add lengthens the cycle by reviews at which the line's use has those chances.
func (s *stock) add(chances []float64, reviews float64) {
	for len(s.reviews) < len(chances) {
		s.reviews = append(s.reviews, 0)
	}
	for a, p := range chances {
		if w := p * reviews; w > 0 {
			s.reviews[a] += w
			s.cost += w * s.at(s.level-a)
		}
	}
}

// raise brings the level to where one more piece would cost more than it saves.
// Longer cycles never ask for less, so it only rises.
func (s *stock) raise() {
	for {
		more := s.more(s.level)
		if more >= 0 {
			return
		}
		s.cost += more
		s.level++
	}
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

// Best returns the plan of least cost a week.
func Best(p Problem) *Plan {
	c := newCycle(&p)
	most := c.firstGuess()
	for {
		c.spend(most)
		plan, end := c.sweep()
		if !end || most > mostPieces {
			if len(p.Lines) > 1 && p.AtLeast == 0 && p.AtMost == 0 {
				c.refine(plan)
			}
			return plan
		}
		most *= 2
	}
}

// firstGuess returns how many pieces in a cycle are looked at: thrice the economic
// order quantity with back-orders.
func (c *cycle) firstGuess() int {
	keeping, missing := 0.0, 0.0
	for i, q := range c.share {
		keeping += q * c.Lines[i].Keeping
		missing += q * c.Lines[i].Missing
	}
	perWeek := c.mean(year) / float64(year*max(1, c.Review))
	if keeping <= 0 || missing <= 0 || perWeek <= 0 {
		return 32
	}
	return 32 + int(3*math.Sqrt(2*c.Ordering*perWeek/keeping*(1+keeping/missing)))
}

// sweep lets the cycle grow piece by piece and keeps the cheapest; end reports
// that the cheapest may lie beyond what was looked at.
func (c *cycle) sweep() (best *Plan, end bool) {
	stocks := make([]stock, len(c.Lines))
	for i := range stocks {
		stocks[i] = c.stock(i)
	}
	stride := max(1, len(c.reviews)/128)
	reviews := 0.0
	for n := 0; n < len(c.reviews); n += stride {
		part := 0.0
		for _, r := range c.reviews[n:min(n+stride, len(c.reviews))] {
			part += r
		}
		reviews += part
		cost := c.Ordering
		for i := range stocks {
			stocks[i].add(c.used(i, n+stride/2), part)
			stocks[i].raise()
			cost += stocks[i].cost
		}
		weeks := reviews * float64(max(1, c.Review))
		if best != nil && c.AtMost > 0 && weeks > c.AtMost {
			return best, false
		}
		if week := cost / weeks; best == nil || best.Weeks < c.AtLeast || week < best.CostWeek {
			best = c.plan(stocks, n+stride, week, weeks)
		} else if n > 2*best.Pieces+16 || week > 1.3*best.CostWeek && n > best.Pieces+16 {
			return best, false
		}
	}
	return best, true
}

func (c *cycle) stock(i int) stock {
	s := stock{}
	from, to := c.answers()
	for w := from; w <= to; w++ {
		s.weeks = append(s.weeks, newWeekCost(&c.Lines[i], c.Lines[i].Demand.Chances(w)))
	}
	return s
}

func (c *cycle) plan(stocks []stock, pieces int, week, weeks float64) *Plan {
	p := &Plan{Problem: *c.Problem, UpTo: make([]int, len(stocks)), Pieces: pieces, CostWeek: week, Weeks: weeks, stocks: make([]stock, len(stocks))}
	for i := range stocks {
		p.UpTo[i] = stocks[i].level
		p.stocks[i] = stocks[i]
		p.stocks[i].reviews = slices.Clone(stocks[i].reviews)
	}
	return p
}
