package replenish

import (
	"math"
)

// Problem is one client's.
type Problem struct {
	Terms
	Lines []Line
	// PerPiece and Common are the excess of all lines' demand together, as in
	// Demand.Excess; nil takes the lines as independent.
	Together *Excess
}

// Excess holds the over-dispersion of a demand against Poisson; see Demand.Excess.
type Excess struct{ PerPiece, Common float64 }

// variance of a demand of that mean.
func (e Excess) variance(mean float64) float64 { return (1+e.PerPiece)*mean + e.Common*mean*mean }

// cycle is the time from one order to the next, while levels are sought. It keeps
// what the plans of one problem share.
type cycle struct {
	*Problem
	total   Excess
	share   []float64 // of each line in the total
	excess  []Excess
	weeks   [][]weekCost // by line and week from lead time on, as far as asked for
	courses []*course    // each looks at twice as many pieces as the one before
}

func newCycle(p *Problem) *cycle {
	c := &cycle{Problem: p, share: make([]float64, len(p.Lines)), excess: make([]Excess, len(p.Lines)),
		weeks: make([][]weekCost, len(p.Lines))}
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

// week returns the cost of line i at the end of week w from now.
func (c *cycle) week(i, w int) *weekCost {
	first := c.Lead + 1
	for at := first + len(c.weeks[i]); at <= w; at++ {
		c.weeks[i] = append(c.weeks[i], newWeekCost(&c.Lines[i], c.Lines[i].Demand.Chances(at)))
	}
	return &c.weeks[i][w-first]
}

// spend returns the expected number of reviews at which 0, 1, ... up to most
// pieces have been used: the sum over reviews of the chance of just so many.
func (c *cycle) spend(most int) []float64 {
	reviews := make([]float64, most+1)
	var used []float64
	for k := range mostReviews {
		mean := c.mean(k)
		below := 0.0
		used = fitIn(used, mean, c.total.variance(mean))
		for n, p := range used {
			if n > most {
				break
			}
			reviews[n] += p
			below += p
		}
		if below < tail {
			break
		}
	}
	return reviews
}

// used returns the chances of a line's use once the total is n: the mean is its
// share, and the variance what the line's own has beyond its part in the total's.
func (c *cycle) used(i, n int) []float64 {
	q := c.share[i]
	mean := q * float64(n)
	return fit(mean, c.excess[i].variance(mean)-q*q*c.total.variance(float64(n)))
}

// Best returns the plan of least cost a week.
func Best(p Problem) *Plan {
	c := newCycle(&p)
	plan := c.best(p.AtLeast, p.AtMost)
	if len(p.Lines) > 1 && p.AtLeast == 0 && p.AtMost == 0 {
		c.refine(plan)
	} else {
		plan.stocks = plan.from.stocksAt(plan.at)
	}
	return plan
}

// Lasting returns the best plan for the same problem with other bounds on the weeks
// from one order to the next; see Terms.
func (p *Plan) Lasting(atLeast, atMost float64) *Plan {
	plan := p.cycle.best(atLeast, atMost)
	plan.stocks = plan.from.stocksAt(plan.at)
	return plan
}

// best looks for the cheapest cycle among ever longer ones.
func (c *cycle) best(atLeast, atMost float64) *Plan {
	for i, most := 0, c.firstGuess(); ; i, most = i+1, 2*most {
		if i == len(c.courses) {
			c.courses = append(c.courses, newCourse(c, most))
		}
		at, end := c.courses[i].cheapest(atLeast, atMost)
		if !end || most > mostPieces {
			return c.courses[i].plan(at, atLeast, atMost)
		}
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
	if keeping <= 0 || missing <= 0 {
		return 32
	}
	return 32 + int(3*math.Sqrt(2*c.Ordering*perWeek/keeping*(1+keeping/missing)))
}
