package reorder

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/replenish"
)

// policy is the plan of least cost for some lines of a client.
type policy struct {
	*situation
	lines     []Stocked
	costs     []LineCost
	cost      OrderCost
	plan      *replenish.Plan // of the planned lines; nil when there are none
	costWeek  float64         // what ordering by the plan costs a week
	planned   []int           // indices of lines that anything is expected of
	index     map[int]int     // from line to planned
	positions []int           // of the planned lines, without what is kept as pool
	pool      []int           // pieces kept for starters, by line
	short     float64         // what waiting a week costs besides: kits that are short today
}

// leastMean is the expected pieces over the quantity horizon below which
// nothing is kept of a line.
const leastMean = 1e-3

// newPolicy works out the plan.
func (c *situation) newPolicy(lines []Stocked) *policy {
	p := &policy{situation: c, lines: lines, cost: c.orderCost(), index: map[int]int{}, pool: c.poolOf(lines)}
	problem := c.terms(p.cost)
	whole := 0.0
	for i := range lines {
		l := &lines[i]
		cost := c.lineCost(l)
		p.costs = append(p.costs, cost)
		if l.Quantity.Mean < leastMean || cost.MissingWeek <= 0 || c.unworn(l) {
			p.short += p.kitShort(l, 0) // the plan does not know of the line
			continue
		}
		p.short += p.kitShort(l, cost.MissingWeek)
		p.index[i] = len(p.planned)
		p.planned = append(p.planned, i)
		p.positions = append(p.positions, l.position()-min(p.pool[i], max(0, l.position())))
		problem.Lines = append(problem.Lines, replenish.Line{
			Keeping: float64(c.pieceCost(l)) * cost.KeptPerYear / weeksPerYear,
			Missing: float64(cost.MissingWeek),
			Demand:  newNeed(l, c.horizon),
		})
		whole += l.Quantity.Mean
	}
	if len(problem.Lines) == 0 {
		return p
	}
	problem.Together = c.together(&problem, whole)
	p.plan = replenish.Best(problem)
	p.costWeek = p.plan.CostWeek
	if c.few() {
		p.stretch()
	}
	if limit := c.in.Client.LongestCover(c.in.AsOf); limit > 0 && p.plan.Weeks > limit {
		// The limit is on how much, not on when: waiting is judged by what orders
		// cost that last as long as they should.
		limited := p.plan.Lasting(0, limit)
		p.costWeek, limited.CostWeek = limited.CostWeek, p.plan.CostWeek
		p.plan = limited
	}
	return p
}

// stretch makes the cycle of a client of few people longer. Their orders have
// little in them that nobody is named for (see trim), so little for surprises;
// over a longer time more of an order is for people by name, and cost is flat
// around its least. When to order stays judged by the least.
func (p *policy) stretch() {
	longer := p.plan.Lasting(fewLonger*p.plan.Weeks, 0)
	longer.AtLeast, longer.CostWeek = 0, p.plan.CostWeek
	p.plan = longer
}

// fewLonger is the length of the cycles of the few plans over the best ones. In living simulation 1.3 to 1.4 cost
// as little as 1, with a tenth fewer orders.
const fewLonger = 1.4

// unworn reports whether nobody is known to wear a line or to be about to: such
// a size is bought for a pool that the programme asks for, and otherwise when
// somebody comes.
func (c *situation) unworn(l *Stocked) bool { return c.in.People > 0 && c.wearers[l.sku()] == 0 }

// terms returns the weeks and costs that all lines share. Its trigger horizon is review and lead time together.
func (c *situation) terms(cost OrderCost) replenish.Problem {
	review := max(1, c.in.review()/7)
	return replenish.Problem{Terms: replenish.Terms{
		Ordering: float64(cost.Sum()), Lead: max(0, c.horizon.Trigger-review), Review: review,
	}}
}

// together returns how far all lines' demand together is wider than Poisson, from
// the client's total where it is known: what is not known of wear is common to
// the lines, the rest comes with kits.
func (c *situation) together(p *replenish.Problem, whole float64) *replenish.Excess {
	mean, sd := c.in.Total.Mean, c.in.Total.SD
	if mean <= 0 {
		return nil
	}
	root := 0.0
	for i := range p.Lines {
		_, common := p.Lines[i].Demand.Excess()
		root += p.Lines[i].Demand.Mean(c.horizon.Quantity) * math.Sqrt(common)
	}
	wider := math.Max(0, sd*sd/mean-1)
	common := math.Min(root*root/(whole*whole), wider/mean)
	return &replenish.Excess{PerPiece: wider - common*mean, Common: common}
}

// kitShort returns what a week costs for pieces owed that nothing on the shelf or on
// its way will serve, above what the plan counts for a missing piece anyway.
func (p *policy) kitShort(l *Stocked, counted programme.Money) float64 {
	owed := float64(max(0, -l.position()))
	return owed * math.Max(0, float64(p.priceOf(l))*p.in.Shop.Missing.Kit-float64(counted))
}

// saves returns what each of so many pieces above that level of a line saves in one
// cycle. Pieces owed save what they cost until the next order.
func (p *policy) saves(line, level, pieces int) []programme.Money {
	out := make([]programme.Money, pieces)
	j, planned := p.index[line]
	for n := range out {
		at := level + n + 1 - p.pool[line]
		if planned {
			out[n] = programme.Money(math.Round(p.plan.Saves(j, at)))
		} else if at <= 0 {
			out[n] = p.costs[line].MissingWeek.Times(float64(p.horizon.Quantity))
		}
	}
	return out
}

// lateWeek returns what an order that comes a week later costs in missing pieces.
func (p *policy) lateWeek() programme.Money {
	cost := p.short
	if p.plan != nil {
		cost += p.plan.LateWeek(p.positions)
	}
	return programme.Money(math.Round(cost))
}

// due reports whether waiting for the next round would cost more than it saves.
func (p *policy) due() bool {
	if p.plan == nil {
		return p.short > 0
	}
	return p.plan.DueWith(p.positions, p.short)
}

// nextDue returns the first round, after this one, at which the client is expected
// to be due; none within two years.
func (p *policy) nextDue() programme.Date {
	if p.plan == nil {
		return 0
	}
	review := p.in.review()
	reviews, _ := p.plan.Wait(p.positions, 7*twoYears/review)
	if reviews*review >= 7*twoYears-review {
		return 0
	}
	return p.in.AsOf.Add(max(1, reviews) * review)
}

// levels returns the stock levels of least cost, and the pool on top.
func (p *policy) levels() []int {
	out := make([]int, len(p.lines))
	for i, line := range p.planned {
		out[line] = p.plan.UpTo[i]
	}
	for i := range out {
		out[i] = max(out[i]+p.pool[i], p.lines[i].position())
	}
	return out
}

// lasts returns after how many weeks from now the next order is expected, when this
// one brings the lines to those levels.
func (p *policy) lasts(levels []int) int {
	if p.plan == nil {
		return p.horizon.Quantity
	}
	at := make([]int, len(p.planned))
	for i, line := range p.planned {
		at[i] = levels[line] - min(p.pool[line], levels[line])
	}
	review := max(1, p.in.review()/7)
	reviews, _ := p.plan.Wait(at, twoYears/review)
	return max(1, reviews) * review
}
