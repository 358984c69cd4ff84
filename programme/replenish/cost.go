package replenish

// Line is one line of a joint problem.
type Line struct {
	Keeping float64 // money a week for each piece on hand
	Missing float64 // money a week for each piece short
	Demand  Demand
}

// Terms holds the costs and times that the lines share.
type Terms struct {
	Ordering float64 // money an order
	Lead     int     // weeks from order to pieces, 0 or more
	Review   int     // weeks between two reviews, at least 1
	// AtLeast and AtMost bound the expected weeks from one order to the next; 0 =
	// as the costs decide. A cycle has at least one review.
	AtLeast, AtMost float64
}

// answers returns the weeks whose ends an order of now, and not one of the next
// review, answers for.
func (t Terms) answers() (from, to int) { return t.Lead + 1, t.Lead + max(1, t.Review) }

// weekCost is the cost of a line in one week as a function of its stock position.
type weekCost struct {
	keeping, missing float64
	mean             float64
	short            []float64 // expected pieces short at position 0, 1, ...
	enough           []float64 // chance that the position lasts
}

func newWeekCost(l *Line, chances []float64) weekCost {
	c := weekCost{keeping: l.Keeping, missing: l.Missing, short: make([]float64, len(chances)),
		enough: make([]float64, len(chances))}
	above := 0.0
	for s := len(chances) - 1; s >= 0; s-- {
		c.enough[s] = 1 - above
		if s+1 < len(chances) {
			c.short[s] = c.short[s+1] + above
		}
		above += chances[s]
	}
	for d, p := range chances {
		c.mean += float64(d) * p
	}
	return c
}

// at returns the expected cost of the week at a position; below 0 pieces are owed.
func (c *weekCost) at(position int) float64 {
	short := c.shortAt(position)
	return c.missing*short + c.keeping*(float64(position)-c.mean+short)
}

// shortAt returns the expected pieces short: beyond the last of short none.
func (c *weekCost) shortAt(position int) float64 {
	return c.short[min(max(position, 0), len(c.short)-1)] + float64(max(-position, 0))
}

// more returns what one more piece adds to the cost: at(position+1) - at(position).
func (c *weekCost) more(position int) float64 {
	if position < 0 {
		return -c.missing
	}
	return (c.keeping+c.missing)*c.enough[min(position, len(c.enough)-1)] - c.missing
}
