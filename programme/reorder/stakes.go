package reorder

import "github.com/kitmuster/kitmuster/programme"

// Stake holds what a wrong number of pieces of one line costs.
type Stake struct {
	// SD is the standard deviation of the need over review and lead time.
	SD float64
	// Short is the cost of one piece too few over review and lead time, Over the cost of one too many until the
	// order after this one, Week the cost of a week without a piece that somebody is short of today.
	Short, Over, Week programme.Money
}

// Stakes tells what each line that is ordered weighs, from the costs that the
// policy weighs; weeks is review and lead time.
func Stakes(in *Input) (lines map[programme.SKU]Stake, weeks int) {
	c := situationOf(in)
	lines = make(map[programme.SKU]Stake, len(c.ordinary))
	for i := range c.ordinary {
		l := &c.ordinary[i]
		cost := c.lineCost(l)
		lines[l.sku()] = Stake{
			SD:    l.Quantity.SD,
			Short: cost.MissingWeek.Times(float64(c.horizon.Trigger)),
			Over:  c.pieceCost(l).Times(cost.KeptPerYear * float64(c.horizon.Quantity) / weeksPerYear),
			Week:  c.priceOf(l).Times(in.Shop.Missing.Kit),
		}
	}
	return lines, c.horizon.Trigger
}
