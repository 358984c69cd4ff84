// Package exact answers small ordering problems exactly: what a given policy
// costs a week, and what the best policy of any form costs. It takes another
// road than package replenish, over every position of every line, and is its
// yardstick.
package exact

import (
	"fmt"
	"math"

	"github.com/kitmuster/kitmuster/programme/replenish"
)

// Line is demand that is independent and alike in all weeks.
type Line struct {
	replenish.Steady
	Keeping, Missing float64 // money a week and piece
}

// Problem is one or two lines that share an order, reviewed weekly.
type Problem struct {
	Ordering float64
	Lead     int
	Lines    []Line
}

// Replenish states the problem as the policy is given it.
func (p *Problem) Replenish() replenish.Problem {
	out := replenish.Problem{Terms: replenish.Terms{Ordering: p.Ordering, Lead: p.Lead, Review: 1}}
	for _, l := range p.Lines {
		out.Lines = append(out.Lines, replenish.Line{Keeping: l.Keeping, Missing: l.Missing, Demand: l.Steady})
	}
	return out
}

// Check says what is wrong with the problem's figures, if anything.
func (p *Problem) Check() error {
	if n := len(p.Lines); n < 1 || n > 2 {
		return fmt.Errorf("read %d lines; only one or two can be answered exactly", n)
	}
	if p.Ordering < 0 || p.Lead < 0 {
		return fmt.Errorf("ordering %g and lead_weeks %d must not be negative", p.Ordering, p.Lead)
	}
	for i, l := range p.Lines {
		if l.Rate <= 0 || l.Keeping <= 0 || l.Missing <= 0 {
			return fmt.Errorf("line %d: rate %g, keeping_week %g and missing_week %g must be above 0", i+1, l.Rate,
				l.Keeping, l.Missing)
		}
	}
	return nil
}

// grid is every position of the lines from upTo down; a problem of one line has
// a second one without demand.
type grid struct {
	upTo  [2]int
	depth [2]int       // positions upTo, upTo-1 ... upTo-depth+1
	week  [2][]float64 // chances of a week's demand
	cost  [2][]float64 // of a week, by depth
	stay  float64      // chance of a week without any demand
	lines int
}

// below is the number of pieces owed of a line that are looked at; there every sane
// policy orders.
const below = 60

func newGrid(p *Problem, upTo []int) *grid {
	g := &grid{lines: len(p.Lines), stay: 1}
	for i := range 2 {
		g.depth[i], g.week[i], g.cost[i] = 1, []float64{1}, []float64{0}
		if i >= len(p.Lines) {
			continue
		}
		l := &p.Lines[i]
		g.upTo[i] = upTo[i]
		g.depth[i] = max(1, upTo[i]+below)
		g.week[i] = l.Chances(1)
		ahead := l.Chances(p.Lead + 1)
		g.cost[i] = make([]float64, g.depth[i])
		for a := range g.cost[i] {
			for d, q := range ahead {
				left := float64(upTo[i] - a - d)
				g.cost[i][a] += q * (l.Keeping*math.Max(0, left) + l.Missing*math.Max(0, -left))
			}
		}
		g.stay *= g.week[i][0]
	}
	return g
}

// Cost returns the expected cost a week of ordering up to those positions
// whenever due says so, by renewal: the cost of one cycle over its length.
func (p *Problem) Cost(upTo []int, due func(positions []int) bool) float64 {
	g := newGrid(p, upTo)
	cost, weeks := g.table(), g.table()
	g.each(func(a, b int) {
		at := []int{g.upTo[0] - a, g.upTo[1] - b}[:g.lines]
		if (a > 0 || b > 0) && due(at) {
			return
		}
		cost[a][b] = (g.cost[0][a] + g.cost[1][b] + g.next(cost, a, b)) / (1 - g.stay)
		weeks[a][b] = (1 + g.next(weeks, a, b)) / (1 - g.stay)
	})
	return (p.Ordering + cost[0][0]) / weeks[0][0]
}

// Optimum returns the least expected cost a week of any policy and the
// positions that it orders up to. After the first order positions only fall
// until the next one, so for a given average cost the best cycle is a problem of
// stopping, solved from the lowest positions up; the average is the one at which
// the best cycle is worth as much as it costs (found by Dinkelbach's steps).
// Positions above most are not looked at.
func (p *Problem) Optimum(most []int) (cost float64, upTo []int) {
	g := newGrid(p, most)
	average := math.Inf(1)
	for next := p.Ordering + 100*p.dearest(); next < average*(1-1e-12); {
		average = next
		next, upTo = g.improve(p.Ordering, average)
	}
	return average, upTo
}

func (p *Problem) dearest() (c float64) {
	for i := range p.Lines {
		c += p.Lines[i].Keeping + p.Lines[i].Missing
	}
	return c
}

// improve stops where the rest of the cycle costs more than the average, and
// returns the average of the best cycle under that rule.
func (g *grid) improve(ordering, average float64) (better float64, upTo []int) {
	value, weeks := g.table(), g.table()
	least := math.Inf(1)
	g.each(func(a, b int) {
		v := (g.cost[0][a] + g.cost[1][b] - average + g.next(value, a, b)) / (1 - g.stay)
		if v >= 0 {
			return
		}
		value[a][b] = v
		weeks[a][b] = (1 + g.next(weeks, a, b)) / (1 - g.stay)
		if v < least {
			least, upTo = v, []int{g.upTo[0] - a, g.upTo[1] - b}[:g.lines]
			better = average + (ordering+v)/weeks[a][b]
		}
	})
	return better, upTo
}

func (g *grid) table() [][]float64 {
	out := make([][]float64, g.depth[0])
	for a := range out {
		out[a] = make([]float64, g.depth[1])
	}
	return out
}

// each visits all positions, the lowest first.
func (g *grid) each(do func(a, b int)) {
	for a := g.depth[0] - 1; a >= 0; a-- {
		for b := g.depth[1] - 1; b >= 0; b-- {
			do(a, b)
		}
	}
}

// next returns the expected value after a week with some demand.
func (g *grid) next(value [][]float64, a, b int) (sum float64) {
	for d, p := range g.week[0] {
		if a+d >= g.depth[0] {
			break
		}
		row := value[a+d]
		for e, q := range g.week[1] {
			if b+e >= g.depth[1] {
				break
			}
			if d+e > 0 {
				sum += p * q * row[b+e]
			}
		}
	}
	return sum
}
