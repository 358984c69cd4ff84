package reorder

import (
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Choice is one plan that the owner may take instead of the suggested one.
type Choice struct {
	Kind   ChoiceKind `json:"kind"`
	Pieces int        `json:"pieces"`
	// Unnamed of them are for nobody by name, Starters of those for people who are
	// expected to start.
	Unnamed  int `json:"unnamed"`
	Starters int `json:"starters"`
	// Cost is blanks, transfers, pressing and freight; of other plans than the
	// proposal transfers and freight are about what they are for that.
	Cost  programme.Money `json:"cost"`
	Price programme.Money `json:"price"` // 0 where a piece has no price
	// NextOrder is the day on which the next order is expected.
	NextOrder programme.Date `json:"next_order"`
	// CostYear is the yearly cost of ordering so in ordering, keeping and missing,
	// the goods left out.
	CostYear programme.Money `json:"cost_year"`
	// Missed is the saving until the next order, in missing pieces less keeping, of the pieces that a sum of money
	// leaves out.
	Missed programme.Money `json:"missed,omitempty"`
	// Lines are the pieces of each line.
	Lines []Choose `json:"lines,omitempty"`
}

// Choose is one line's part of a choice.
type Choose struct {
	programme.SKU
	Pieces int `json:"pieces"`
}

// ChoiceKind names a row of the curve.
type ChoiceKind string

// Rows of the curve.
const (
	MustBe      ChoiceKind = "must"      // until an order of the next round would arrive
	Suggested   ChoiceKind = "suggested" // the proposal
	LastsLonger ChoiceKind = "longer"    // twice as long, two years at most
	WithinMoney ChoiceKind = "budget"    // the best for a certain sum
)

// ChoiceKinds are the three rows of a curve, from the fewest pieces to the most.
func ChoiceKinds() []ChoiceKind { return []ChoiceKind{MustBe, Suggested, LastsLonger} }

// longer is the length of the longest row over the length of the suggested plan.
const longer = 2

// curve returns the three rows for a proposal.
func (c *situation) curve(p *Proposal) []Choice {
	if c.policy.plan == nil {
		return nil
	}
	suggested := c.choice(Suggested, c.ordered(p), c.policy.costWeek)
	out := []Choice{suggested}
	for _, o := range c.others() {
		switch {
		case o.Kind == MustBe && o.Pieces < suggested.Pieces:
			out = append([]Choice{o}, out...)
		case o.Kind == LastsLonger && o.Pieces > suggested.Pieces:
			out = append(out, o)
		}
	}
	return out
}

// others returns the plans beside the suggested one, worked out once.
func (c *situation) others() []Choice {
	if c.beside == nil && c.policy.plan != nil {
		c.beside = []Choice{c.another(MustBe, 0)}
		if weeks := min(twoYears, longer*c.policy.plan.Weeks); weeks > c.policy.plan.Weeks {
			c.beside = append(c.beside, c.another(LastsLonger, weeks))
		}
	}
	return c.beside
}

// ordered returns the levels that a proposal brings the lines to.
func (c *situation) ordered(p *Proposal) []int {
	levels := make([]int, len(c.ordinary))
	for i := range c.ordinary {
		levels[i] = c.ordinary[i].position()
		for j := range p.Lines {
			if p.Lines[j].SKU == c.ordinary[i].sku() {
				levels[i] += p.Lines[j].Order
			}
		}
	}
	return levels
}

// another returns the best plan whose cycle lasts about so many weeks, the shortest
// there is for 0.
func (c *situation) another(kind ChoiceKind, weeks float64) Choice {
	least, most := weeks, float64(2*twoYears)
	if weeks == 0 {
		least, most = 0.01, 0.01 // one review, the least there is
	}
	plan := c.policy.plan.Lasting(least, most)
	levels := make([]int, len(c.ordinary))
	for i := range levels {
		levels[i] = max(0, c.ordinary[i].position())
	}
	for i, line := range c.policy.planned {
		levels[line] = max(plan.UpTo[i]+c.policy.pool[line], c.ordinary[line].position())
	}
	costWeek, _ := c.policy.plan.CostOf(plan.UpTo)
	return c.choice(kind, levels, costWeek)
}

// choice describes the plan of those levels.
func (c *situation) choice(kind ChoiceKind, levels []int, costWeek float64) Choice {
	weeks := c.policy.lasts(levels)
	out := Choice{Kind: kind, NextOrder: c.in.AsOf.Add(7 * weeks),
		CostYear: programme.Money(costWeek*weeksPerYear + 0.5)}
	p := c.planOf(c.policy, levels)
	priced := true
	for i := range c.ordinary {
		l := &c.ordinary[i]
		n := levels[i] - l.position()
		if n <= 0 {
			continue
		}
		out.Pieces += n
		out.Unnamed, out.Starters = out.Unnamed+n-p.named[i], out.Starters+p.starters[i]
		out.Cost += c.pieceCost(l) * programme.Money(n)
		price, ok := c.in.Client.PriceOf(l.sku().Garment, l.sku().Size, c.in.AsOf)
		priced = priced && ok && price > 0
		out.Price += price * programme.Money(n)
		out.Lines = append(out.Lines, Choose{l.sku(), n})
	}
	if !priced {
		out.Price = 0
	}
	return out
}

// ChargeCurve adds to the plans what the proposal costs besides its goods at list
// prices, once freight and sheets are known, so that all rows count the same.
func (p *Proposal) ChargeCurve() {
	for i := range p.Curve {
		if p.Curve[i].Kind != Suggested {
			continue
		}
		more := p.Cost() - p.Curve[i].Cost
		for j := range p.Curve {
			p.Curve[j].Cost += more
		}
		return
	}
}

// Plan returns the plan of that kind, if the proposal has one.
func (p *Proposal) Plan(kind ChoiceKind) (Choice, bool) {
	for _, c := range p.Curve {
		if c.Kind == kind {
			return c, true
		}
	}
	return Choice{}, false
}

// Changes returns what to change of a proposal for taking the plan in its place.
func (o *Choice) Changes(p *Proposal) (out []LineChange) {
	pieces := map[programme.SKU]int{}
	for i := range p.Lines {
		pieces[p.Lines[i].SKU] = 0
	}
	for _, l := range o.Lines {
		pieces[l.SKU] = l.Pieces
	}
	for k, n := range pieces {
		if l := p.Line(k); l == nil || l.Order != n {
			out = append(out, LineChange{k, n})
		}
	}
	slices.SortFunc(out, func(a, b LineChange) int { return a.Compare(b.SKU) })
	return out
}
