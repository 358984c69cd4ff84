package reorder

import (
	"cmp"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
)

// Within returns the best part of a proposal for at most so much money: piece by
// piece what saves most for its cost, by what the plan said each piece saves.
// Freight is paid whatever is in the order and comes off first. The price is 0
// where a piece has none; when the next order follows is not told, but what the
// pieces left out are missed for.
func (p *Proposal) Within(budget programme.Money) Choice {
	type piece struct {
		line  int
		saves float64
		rate  float64
	}
	var all []piece
	cost := make([]programme.Money, len(p.Lines))
	for i := range p.Lines {
		l := &p.Lines[i]
		cost[i] = max(1, p.pieceCost(l))
		for n := range l.Order {
			saves := 0.0
			if n < len(l.Saves) {
				saves = float64(l.Saves[n])
			}
			all = append(all, piece{i, saves, saves / float64(cost[i])})
		}
	}
	slices.SortStableFunc(all, func(a, b piece) int { return cmp.Compare(b.rate, a.rate) })
	left := budget - p.Freight
	pieces, missed := make([]int, len(p.Lines)), 0.0
	for _, x := range all {
		if cost[x.line] <= left {
			left -= cost[x.line]
			pieces[x.line]++
		} else {
			missed += max(0, x.saves)
		}
	}
	out := p.part(pieces, cost)
	out.Missed = programme.Money(missed)
	return out
}

// part describes an order of fewer pieces of the proposal's lines.
func (p *Proposal) part(pieces []int, cost []programme.Money) Choice {
	named, starters := map[programme.SKU]int{}, map[programme.SKU]int{}
	for _, n := range p.Named {
		named[n.SKU] += n.Pieces
	}
	for _, n := range p.Pool {
		starters[n.SKU] += n.ForStarters
	}
	out := Choice{Kind: WithinMoney}
	priced := p.Priced()
	for i, n := range pieces {
		if n == 0 {
			continue
		}
		l := &p.Lines[i]
		out.Pieces += n
		unnamed := max(0, n-named[l.SKU])
		out.Unnamed, out.Starters = out.Unnamed+unnamed, out.Starters+min(unnamed, starters[l.SKU])
		out.Cost += cost[i] * programme.Money(n)
		if priced {
			out.Price += l.UnitPrice * programme.Money(n)
		}
		out.Lines = append(out.Lines, Choose{l.SKU, n})
	}
	if out.Pieces > 0 {
		out.Cost += p.Freight
	}
	return out
}

// pieceCost returns what one piece of the line costs in this proposal: its blank,
// whether bought or from the shelf, and its part of transfers and pressing.
func (p *Proposal) pieceCost(l *Line) programme.Money {
	return l.UnitCost + (p.Transfers + p.Pressing).Times(1/float64(max(1, p.Pieces())))
}
