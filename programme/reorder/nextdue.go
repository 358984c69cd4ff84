package reorder

import "github.com/kitmuster/kitmuster/programme"

// ahead pairs a line's demand with the stock that answers it.
type ahead struct {
	Spread
	stock int
}

// twoYears bounds how far a next due date is looked for, in weeks.
const twoYears = 104

// NextDue returns the first round after asOf at which the trigger is expected
// to trip, or no date when it is not within two years. Line i has the stock
// position stock[i] today; spreads tell its demand at every horizon; review is
// in days, and so is lead, the longest time from yes to pieces in hands of the
// answers to a round on that day.
//
// At a round t days from now the expected shortage at the end of that round's
// horizon is that of all demand until then against today's stock; its demand
// is what falls into the horizon, with what was short at the round as owed.
func NextDue(spreads []Spread, stock []int, asOf programme.Date, review int, lead func(round programme.Date) int, target float64) programme.Date {
	lines := make([]ahead, len(spreads))
	for i := range spreads {
		lines[i] = ahead{spreads[i], stock[i]}
	}
	review = max(review, 1)
	for t := review; t <= 7*twoYears; t += review {
		if tooLow(fillAt(lines, weeks(t), weeks(t+review+lead(asOf.Add(t)))), target) {
			return asOf.Add(t)
		}
	}
	return 0
}

// fillAt is the expected fill rate of a round after the first weeks, judged
// until the end of its horizon.
func fillAt(lines []ahead, first, end int) float64 {
	short, needed := 0.0, 0.0
	for _, l := range lines {
		short += l.short(end, l.stock)
		needed += l.Mean(end) - l.Mean(first) + l.short(first, l.stock)
	}
	return FillRate(short, needed)
}

// spreadsOf prepares the lines for NextDue.
func spreadsOf(lines []Stocked, h Horizon) (spreads []Spread, stock []int) {
	for i := range lines {
		spreads = append(spreads, NewSpread(lines[i].Quantity, h.Quantity))
		stock = append(stock, lines[i].position())
	}
	return spreads, stock
}
