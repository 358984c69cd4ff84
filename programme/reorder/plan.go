package reorder

import (
	"math"
	"sort"
)

// plan is what an order now would bring and how long it would last.
type plan struct {
	levels []int
	weeks  int // from now until the next order is expected to arrive
	named  []int
	// trimmed is what leaving pieces out that nobody is named for costs, as a
	// share of the cost of a cycle.
	trimmed float64
}

const (
	// nearlyBest is how much more than the least a plan may cost for having
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
		c.plan = c.planOf(c.policy, levels)
		c.trim(c.plan)
	}
	return c.plan
}

func (c *situation) planOf(pol *policy, levels []int) *plan {
	p := &plan{levels: levels, weeks: pol.lasts(levels) + c.horizon.Trigger - max(1, c.in.review()/7)}
	share := c.coverShare(p.weeks)
	for i := range c.ordinary {
		line := share(&c.ordinary[i])
		line.Order = math.MaxInt32
		named, _ := c.names.share(&line)
		n := 0
		for _, x := range named {
			n += x.Pieces
		}
		p.named = append(p.named, n)
	}
	return p
}

// trim takes away pieces that nobody is named for, those first that save least,
// while the plan stays nearly the best; a client of few people goes on until
// they are few.
func (c *situation) trim(p *plan) {
	type spare struct {
		line, level int
		saves       float64
	}
	var spares []spare
	pieces, unnamed := 0, 0
	for i := range c.ordinary {
		position := c.ordinary[i].position()
		pieces += p.levels[i] - position
		free := p.levels[i] - position - p.named[i] - c.policy.pool[i]
		j, planned := c.policy.index[i]
		for n := range free {
			unnamed++
			s := spare{line: i, level: p.levels[i] - n}
			if planned {
				s.saves = c.policy.plan.Saves(j, s.level-c.policy.pool[i])
			}
			spares = append(spares, s)
		}
	}
	sort.SliceStable(spares, func(a, b int) bool { return spares[a].saves < spares[b].saves })
	most := math.Inf(1)
	if c.in.People > 0 && c.in.People < fewPeople && c.in.Client.Pool == 0 {
		most = unnamedMost
	}
	whole := math.Inf(1)
	if c.policy.plan != nil {
		whole = c.policy.plan.CostWeek * c.policy.plan.Weeks
	}
	cost := 0.0
	floor := c.floor()
	for _, s := range spares {
		cost += math.Max(0, s.saves)
		if cost > nearlyBest*whole && float64(unnamed) <= most*float64(pieces) {
			break
		}
		if p.levels[s.line] != s.level || s.level <= floor[s.line] {
			continue
		}
		p.levels[s.line]--
		pieces--
		unnamed--
	}
	p.trimmed = cost / whole
}

// floor are the levels that the programme's fill rate asks for.
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
