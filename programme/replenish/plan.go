package replenish

// Plan says when to order and how much. Its methods remember what they have
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

	stocks []stock
	cycle  *cycle
	// from and at are the point of a course that the plan is.
	from *course
	at   int
}

// Due reports whether to order now, at those positions.
func (p *Plan) Due(positions []int) bool { return p.DueWith(positions, 0) }

// DueWith is Due where every week of waiting costs so much besides.
func (p *Plan) DueWith(positions []int, besides float64) bool {
	reviews, _ := p.wait(positions, besides, 1+int(p.Weeks)/max(1, p.Review))
	return reviews == 0
}

// Wait returns after how many reviews, counted from now, an order is expected
// to be cheapest, and what waiting until then saves; none beyond most reviews. It
// is 0 when the client is due.
func (p *Plan) Wait(positions []int, most int) (reviews int, saves float64) {
	return p.wait(positions, 0, most)
}

// wait balances, review by review, what the weeks cost for which an order of
// now would answer against the average cost of as many: a week of waiting puts
// all later orders off by a week. It stops where costs are above the average
// and only grow.
func (p *Plan) wait(positions []int, besides float64, most int) (reviews int, saves float64) {
	per := float64(max(1, p.Review))
	balance, before, rises := 0.0, 0.0, 0
	for k := range most {
		cost := p.review(positions, k) + besides*per
		balance += cost - p.CostWeek*per
		if balance < -saves-1e-9 {
			reviews, saves = k+1, -balance
		}
		if cost > p.CostWeek*per && cost >= before {
			rises++
		} else {
			rises = 0
		}
		if before = cost; rises > patience {
			break
		}
	}
	return reviews, saves
}

// patience is the reviews of rising costs above the average after which they
// are taken never to fall again.
const patience = 4

// Saves returns what the last piece of that level of a line saves in one cycle,
// in missing less in keeping; below 0 where it only costs.
func (p *Plan) Saves(i, level int) float64 { return -p.stocks[i].more(level - 1) }

// review returns the expected cost of the weeks that an order at review k answers
// for when none has been placed. What lies above the level would lie there with an order,
// too: its keeping does not count, and no piece is missing while it lasts.
func (p *Plan) review(positions []int, k int) float64 {
	from, to := p.answers()
	sum := 0.0
	for w := from + k*max(1, p.Review); w <= to+k*max(1, p.Review); w++ {
		for i, x := range positions {
			c := p.cycle.week(i, w)
			level := min(x, p.UpTo[i])
			sum += c.at(level) + c.missing*(c.shortAt(x)-c.shortAt(level))
		}
	}
	return sum
}

// LateWeek returns the expected cost of missing pieces in the first week for which an
// order of now answers, when it is not placed: what a week's delay costs.
func (p *Plan) LateWeek(positions []int) (cost float64) {
	for i, x := range positions {
		c := p.cycle.week(i, p.Lead+1)
		cost += c.missing * c.shortAt(x)
	}
	return cost
}

// Forget lets go of what the plan remembers but does not need: it is computed
// again when it is asked for.
func (p *Plan) Forget() {
	p.cycle.courses, p.from = nil, nil
	clear(p.cycle.weeks)
}
