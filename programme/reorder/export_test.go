package reorder

import (
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/replenish"
)

// ProposeAnyway proposes to a client that may not be due, for orders made
// before their time; nil when nothing is wanted.
func ProposeAnyway(in Input) (*Proposal, Decision) {
	c := newSituation(&in)
	d := c.decide()
	c.hold(&d)
	return c.proposal(&d), d
}

// Settle decides for all clients of one round together; answer i belongs to
// inputs[i]. Who is due depends on each client alone. What due clients share is
// settled between them: blanks of the shelf go to the most urgent first, and
// minimums, price breaks and free freight look at what the whole round buys.
//
// blanks are the undecorated pieces of the shop's shelf; nil leaves each line
// the blanks that it came with.
func Settle(inputs []Input, blanks map[programme.SKU]int) []Settled {
	out := make([]Settled, len(inputs))
	var due []*shopper
	for i := range inputs {
		s := newShopper(&inputs[i])
		s.index = i
		out[i].Decision = s.decision
		if s.decision.Due {
			due = append(due, s)
		}
	}
	settle(due, copyBlanks(blanks))
	for _, s := range due {
		out[s.index] = s.settled()
	}
	return out
}

// PullAll considers all clients and settles the round.
func PullAll(inputs []Input, blanks map[programme.SKU]int, terms PullTerms) []Settled {
	candidates := make([]*Candidate, len(inputs))
	for i := range inputs {
		candidates[i] = Consider(inputs[i], terms)
	}
	return Pull(candidates, blanks, terms)
}

// Excess opens what the policy reckons with: how far two horizons of one demand are wider than Poisson.
var Excess = excess

// Together is how far the demand of all lines together is wider than Poisson.
func Together(in Input) *replenish.Excess {
	c := newSituation(&in)
	problem, whole := replenish.Problem{}, 0.0
	for i := range c.ordinary {
		problem.Lines = append(problem.Lines, replenish.Line{Demand: newNeed(&c.ordinary[i], c.horizon)})
		whole += c.ordinary[i].Quantity.Mean
	}
	return c.together(&problem, whole)
}

// Short is what is expected to be short of a stock in weeks 1..w.
func (s Spread) Short(w, stock int) float64 { return s.short(w, stock) }

// LastArrival is the last day on which an order of this round arrives.
func LastArrival(in Input) programme.Date { return lastArrival(in.Shop, in.Client, in.AsOf) }
