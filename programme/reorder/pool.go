package reorder

import "github.com/kitmuster/kitmuster/programme"

// poolOf spreads the kits that the programme keeps for starters over the lines:
// of each garment and colour as many pieces as the kits have, in the sizes that
// starters are likeliest to need, else in those that people wear.
func (c *situation) poolOf(lines []Stocked) []int {
	out := make([]int, len(lines))
	if c.in.Client.Pool == 0 {
		return out
	}
	type kind struct{ garment, colour string }
	groups := map[kind][]int{}
	var order []kind
	for i := range lines {
		k := kind{lines[i].sku().Garment, lines[i].sku().Colour}
		if groups[k] == nil {
			order = append(order, k)
		}
		groups[k] = append(groups[k], i)
	}
	for _, k := range order {
		pieces := 0
		for _, line := range c.in.Client.KitLines(k.garment) {
			if line.Colour == "" || line.Colour == k.colour {
				pieces = max(pieces, line.AtFirst())
			}
		}
		weights := make([]float64, len(groups[k]))
		for j, i := range groups[k] {
			weights[j] = c.starterWeight(&lines[i])
		}
		// Whole kits are one size each: they are spread as kits.
		for j, kits := range programme.Apportion(c.in.Client.Pool, weights) {
			out[groups[k][j]] = kits * pieces
		}
	}
	return out
}

// starterWeight returns how likely a starter is to need the line: as people wear it,
// and as starters are forecast.
func (c *situation) starterWeight(l *Stocked) float64 {
	return float64(c.wearers[l.sku()]) + l.Quantity.ByCause.Hires
}
