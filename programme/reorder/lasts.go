package reorder

import (
	"sort"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/demand"
)

// Lasts returns the day until which what was agreed is meant to last: CoverUntil or, where fewer pieces were agreed
// than suggested, the last day until which they meet as large a share of the needs as those would have met
// until CoverUntil. That share is
//
//	1 - sum E[max(0, D(t) - s)] / sum E[D(t)]
//
// over the lines: s is the stock position with the order, D(t) the pieces needed until day t, and each
// piece needed until CoverUntil is needed by t with chance (t - AsOf)/(CoverUntil - AsOf), as in Spread.At.
// Suggestions count up to AtTarget, since nobody needs what packs and minimums add. Pieces that were given up
// do not come.
//
// What was short on the day of the proposal and struck off, and lines that were struck off altogether, are a no: they
// make no other order necessary and are left out. Nobody is asked again before what they said yes to has come, so the
// next order arrives LeadDays, in started weeks, after Arrives at the earliest, or at CoverUntil. More pieces than were
// suggested change nothing: from CoverUntil on the policy decides, and sees them on the shelf.
func (p *Proposal) Lasts() programme.Date {
	whole := p.CoverUntil.Sub(p.AsOf)
	lines, fewer := p.agreed(whole)
	if !fewer {
		return p.CoverUntil
	}
	enough := met(lines, whole, func(a *agreed) int { return a.suggested })
	days := sort.Search(whole, func(d int) bool {
		return tooLow(met(lines, d+1, func(a *agreed) int { return a.taken }), enough)
	})
	return min(p.CoverUntil, max(p.AsOf.Add(days), p.Arrives.Add(7*weeks(p.LeadDays))))
}

// agreed is one line's need by days, and its stock position with the pieces that were suggested and with those that
// come.
type agreed struct {
	Spread
	suggested, taken int
}

// agreed lists the lines that were not struck off altogether, over so many days until CoverUntil, and reports whether
// fewer pieces come of one of them than were suggested.
func (p *Proposal) agreed(days int) (list []agreed, fewer bool) {
	for i := range p.Lines {
		l := &p.Lines[i]
		if l.Order == 0 {
			continue
		}
		offered := l.Order
		if l.Changed {
			offered = l.Offered
		}
		need := demand.Line{Distribution: demand.Distribution{Mean: NewShortage(l.Demand).Mean(), PMF: l.Demand}}
		position := l.OnHand + l.OnOrder - l.Owed
		a := agreed{Spread: NewSpread(need, days), suggested: max(0, min(position+offered, l.AtTarget)),
			taken: max(0, position+l.Order-l.GivenUp)}
		fewer = fewer || a.taken < a.suggested
		list = append(list, a)
	}
	return list, fewer
}

// met returns the expected share of the needs of so many days that those stocks meet.
func met(lines []agreed, days int, stock func(*agreed) int) float64 {
	short, needed := 0.0, 0.0
	for i := range lines {
		short += lines[i].short(days, stock(&lines[i]))
		needed += lines[i].Mean(days)
	}
	return FillRate(short, needed)
}
