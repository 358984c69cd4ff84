package reorder

import (
	"cmp"
	"math"
	"slices"
)

// plan holds what an order now would bring and how long it would last.
type plan struct {
	levels []int
	weeks  int   // from now until the next order is expected to arrive
	named  []int // pieces of each line that are for somebody
	// starters of the others are for people whom nobody knows yet.
	starters []int
}

const (
	// nearlyBest is the share above the least that a plan may cost for having
	// fewer pieces that nobody is named for.
	nearlyBest = 0.03
	// unnamedMost is the largest part of an order of a client of few people that
	// may be for nobody by name, unless its programme asks for a pool.
	unnamedMost = 0.2
)

// planned works the plan out once.
func (c *situation) planned() *plan {
	if c.plan == nil {
		levels := c.policy.levels()
		for i, least := range c.floor() {
			levels[i] = max(levels[i], least)
		}
		c.plan = c.trim(c.planOf(c.policy, levels))
	}
	return c.plan
}

// planOf describes an order that brings the lines to those levels.
func (c *situation) planOf(pol *policy, levels []int) *plan {
	p := &plan{levels: levels, weeks: pol.lasts(levels) + c.horizon.Trigger - max(1, c.in.review()/7)}
	lines := c.linesAt(levels, p.weeks)
	p.named, p.starters = make([]int, len(lines)), make([]int, len(lines))
	for i, part := range c.names().parted(lines) {
		_, left := c.names().nameKnown(&lines[i])
		p.named[i], p.starters[i] = lines[i].Order-left+part.endings, part.starters
	}
	return p
}

// linesAt returns all lines with what is expected of them in the next weeks and what
// brings them to those levels.
func (c *situation) linesAt(levels []int, weeks int) []Line {
	share := c.coverShare(weeks)
	lines := make([]Line, len(levels))
	for i := range lines {
		l := &c.ordinary[i]
		lines[i] = share(l)
		lines[i].Order = max(0, levels[i]-l.position())
	}
	return lines
}

// trim takes away pieces that nobody is named for, those first that save least,
// while the plan stays nearly the best; a client of few people goes on until
// they are few. An order of fewer pieces lasts less long and is for fewer
// endings, so what nobody is named for is looked at anew each time.
func (c *situation) trim(p *plan) *plan {
	most, looks := math.Inf(1), 3
	if c.few() {
		most, looks = unnamedMost, 100 // each takes a piece at least
	}
	whole := math.Inf(1)
	if c.policy.plan != nil {
		whole = c.policy.plan.CostWeek * c.policy.plan.Weeks
	}
	floor := c.floor()
	cost := 0.0
	for range looks {
		levels, fewer := c.without(p, floor, &cost, nearlyBest*whole, most)
		if !fewer {
			break
		}
		p = c.planOf(c.policy, levels)
	}
	return p
}

// without takes pieces away that the plan names nobody for, until they cost more
// than the limit and are at most that part of the order; cost is what all taken
// away so far would have saved.
func (c *situation) without(p *plan, floor []int, cost *float64, limit, most float64) (levels []int, fewer bool) {
	type spare struct {
		line, level int
		saves       float64
	}
	var spares []spare
	pieces, unnamed := 0, 0
	for i := range c.ordinary {
		position := c.ordinary[i].position()
		pieces += p.levels[i] - position
		j, planned := c.policy.index[i]
		for n := range p.levels[i] - position - p.named[i] - c.policy.pool[i] {
			unnamed++
			s := spare{line: i, level: p.levels[i] - n}
			if planned {
				s.saves = c.policy.plan.Saves(j, s.level-c.policy.pool[i])
			}
			spares = append(spares, s)
		}
	}
	slices.SortStableFunc(spares, func(a, b spare) int { return cmp.Compare(a.saves, b.saves) })
	levels = slices.Clone(p.levels)
	for _, s := range spares {
		if *cost+math.Max(0, s.saves) > limit && float64(unnamed) <= most*float64(pieces) {
			break
		}
		if levels[s.line] != s.level || s.level <= floor[s.line] {
			continue
		}
		*cost += math.Max(0, s.saves)
		levels[s.line]--
		pieces--
		unnamed--
		fewer = true
	}
	return levels, fewer
}

// floor returns the levels that the programme's fill rate asks for.
func (c *situation) floor() []int {
	out := make([]int, len(c.ordinary))
	target := c.in.Client.FillRate
	if target <= 0 {
		return out
	}
	near := make([]Spare, len(c.ordinary))
	for i := range c.ordinary {
		l := &c.ordinary[i]
		near[i] = Spare{NewShortage(l.nearPMF(c.horizon)), l.position(), float64(c.pieceCost(l))}
	}
	return Levels(near, target)
}

// coverShare returns what of each line's forecast falls into the next weeks:
// the expected pieces by cause, and their distribution.
func (c *situation) coverShare(weeks int) func(*Stocked) Line {
	return func(l *Stocked) Line {
		q := &l.Quantity
		s := NewSpread(*q, c.horizon.Quantity)
		part := s.share(weeks)
		return Line{
			SKU: l.sku(), Expected: q.Mean * part,
			Causes: q.ByCause.Times(part),
			OnHand: l.OnHand, OnOrder: l.OnOrder + l.OnOrderLater, Owed: l.Owed,
			Demand: s.At(weeks),
		}
	}
}
