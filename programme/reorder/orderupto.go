package reorder

// UpTo is an order-up-to level of periodic review and what it means.
type UpTo struct {
	Level        int
	NoShortage   float64 // chance that the level lasts
	ShortAtEnd   float64 // expected pieces short when the next delivery comes
	LeftAtEnd    float64 // expected pieces left then
	FillRateHeld float64 // expected share met from the shelf when the rest waits
}

// OrderUpTo returns the least level that lasts over review and lead time with
// the chance service, for the distributions of the demand over review and lead
// together and over the lead time alone. Pieces short are waited for, so the
// shortage of one cycle is what is short at its end less what was short at its
// start (Silver, Pyke and Thomas, Inventory and Production Management in Supply
// Chains, from memory).
func OrderUpTo(both, lead []float64, service float64) UpTo {
	level := leastReaching(both, service-1e-12)
	c, l := NewShortage(both), NewShortage(lead)
	short := c.At(level)
	return UpTo{
		Level:        level,
		NoShortage:   1 - c.Gain(level),
		ShortAtEnd:   short,
		LeftAtEnd:    float64(level) - c.Mean() + short,
		FillRateHeld: FillRate(short-l.At(level), c.Mean()-l.Mean()),
	}
}
