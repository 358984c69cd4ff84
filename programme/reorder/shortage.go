package reorder

// Shortage is the expected shortage of one line as a function of its stock,
// computed once from the distribution of its demand.
//
// With demand D it holds E[max(0, D - s)] and P(D > s) for whole s; the second
// is what one more piece takes off the first, and since it never rises with s,
// the expected shortage is convex.
type Shortage struct {
	short []float64 // E[max(0, D - s)], s = 0, 1, ...
	tail  []float64 // P(D > s)
}

// NewShortage takes the chance of 0, 1, 2... pieces.
func NewShortage(pmf []float64) Shortage {
	n := len(pmf)
	both := make([]float64, 2*n)
	c := Shortage{short: both[:n:n], tail: both[n:]}
	for s := n - 2; s >= 0; s-- {
		c.tail[s] = c.tail[s+1] + pmf[s+1]
		c.short[s] = c.short[s+1] + c.tail[s]
	}
	return c
}

// Mean returns the expected demand.
func (c Shortage) Mean() float64 {
	if len(c.short) == 0 {
		return 0
	}
	return c.short[0]
}

// At returns the expected pieces short with that stock; a negative stock is
// pieces owed, and each of them is short for certain.
func (c Shortage) At(stock int) float64 {
	switch {
	case stock < 0:
		return c.Mean() - float64(stock)
	case stock >= len(c.short):
		return 0
	}
	return c.short[stock]
}

// Gain returns how much expected shortage one more piece takes away:
// At(stock) - At(stock+1), between 0 and 1.
func (c Shortage) Gain(stock int) float64 {
	switch {
	case stock < 0:
		return 1
	case stock >= len(c.tail):
		return 0
	}
	return c.tail[stock]
}

// FillRate returns the expected share of demand that is met:
// 1 - E[shortage]/E[demand]. Without demand nothing can be missed: 1.
func FillRate(shortage, demand float64) float64 {
	if demand <= 0 {
		return 1
	}
	return 1 - shortage/demand
}
