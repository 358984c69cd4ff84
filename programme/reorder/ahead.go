package reorder

// ahead pairs a line's demand with the stock that answers it.
type ahead struct {
	Spread
	stock int
}

// twoYears bounds how far ahead orders are looked for, in weeks.
const twoYears = 104
