package replenish

// Plan is when to order and how much. Its methods remember what they have
// computed; a plan is for one goroutine at a time.
type Plan struct {
	Problem
	// UpTo is the position that an order brings each line to; lines above it
	// get nothing.
	UpTo []int
	// CostWeek is the expected cost a week of ordering so for ever.
	CostWeek float64
	// Weeks and Pieces are expected from one order to the next.
	Weeks  float64
	Pieces int

	weeks [][]weekCost // by line and week from lead time on
}

// Due reports whether to order now, at those positions.
func (p *Plan) Due(positions []int) bool {
	_, saves := p.Wait(positions)
	return !saves
}

// Wait returns for how many reviews at most waiting is cheaper than ordering
// now, and whether it is at all. Waiting k reviews costs what the weeks cost
// for which an order of now would answer, and saves the average cost of as many.
func (p *Plan) Wait(positions []int) (reviews int, saves bool) {
	average := p.CostWeek * float64(max(1, p.Review))
	balance := 0.0
	for k := range p.looked() {
		balance += p.review(positions, k) - average
		if balance < 0 {
			return k + 1, true
		}
	}
	return 0, false
}

// looked is how many reviews Wait looks ahead: no further than a cycle.
func (p *Plan) looked() int { return 1 + int(p.Weeks)/max(1, p.Review) }

// review is the expected cost of the weeks that an order at review k answers
// for when none has been placed. What lies above the level would lie there with
// an order, too, and does not count.
func (p *Plan) review(positions []int, k int) float64 {
	from, to := p.answers()
	sum := 0.0
	for w := from + k*max(1, p.Review); w <= to+k*max(1, p.Review); w++ {
		for i, x := range positions {
			c := p.week(i, w)
			cost := c.at(x)
			if x > p.UpTo[i] {
				cost = min(cost, c.at(p.UpTo[i]))
			}
			sum += cost
		}
	}
	return sum
}

// week is the cost of line i at the end of week w from now.
func (p *Plan) week(i, w int) *weekCost {
	if p.weeks == nil {
		p.weeks = make([][]weekCost, len(p.Lines))
	}
	for len(p.weeks[i]) <= w-p.Lead-1 {
		at := p.Lead + 1 + len(p.weeks[i])
		p.weeks[i] = append(p.weeks[i], newWeekCost(&p.Lines[i], p.Lines[i].Demand.Chances(at)))
	}
	return &p.weeks[i][w-p.Lead-1]
}
