package laboratory

// World is one way of living and of keeping records.
type World struct {
	Code, Name string
	// Unseen is the share of endings that nobody writes down.
	Unseen float64
	// Replaced hands out, and writes down, a new piece for an unseen ending.
	Replaced bool
	// Kept leaves unwritten what leavers hand back.
	Kept bool
	// CountEvery are the days between counts; 0 = nobody counts. A count finds
	// what is missing, and it is replaced.
	CountEvery int
	// Stale asks for the forecast a week before the next count.
	Stale bool
	// Late are the days by which an ending is written down and replaced at the
	// latest, any day before being as likely.
	Late int
	// Season is the amplitude of wear over the year, 0 to 1; the
	// programme states it, unless Unstated.
	Season   float64
	Unstated bool
	// People is the standard deviation of the logarithm of a person's pace.
	People float64
	// Bad multiplies the life of pieces of one delivery, in the quarter before
	// the forecast; 0 = none.
	Bad float64
	// Harsh multiplies the wear of all pieces from the day on which the bad delivery
	// would begin; 0 = none.
	Harsh float64
	// Group is the mean number of starters who come on one day, and of leavers
	// who go on one; 0 = each alone.
	Group float64
	// Distinct gives everybody one piece of each colour, so that records tell
	// pieces apart; otherwise five, four, three and two of a kind.
	Distinct bool
}

const halfYear = 182

// Worlds returns the worlds in which intervals must hold.
func Worlds() []World {
	return []World{
		{Code: "a", Name: "all endings recorded"},
		{Code: "b", Name: "30 % unseen until half-yearly counts", Unseen: 0.3, CountEvery: halfYear},
		{Code: "c", Name: "endings entered up to six weeks late", Late: 42},
		{Code: "d", Name: "hand-overs recorded, 40 % of endings never", Unseen: 0.4, Replaced: true},
		{Code: "d2", Name: "the same, not replaced", Unseen: 0.4},
		{Code: "d3", Name: "and of leavers nothing is written down either", Unseen: 0.4, Kept: true},
		{Code: "e", Name: "wear 35 % up and down with the season", Season: 0.35},
		{Code: "eu", Name: "and the programme does not say so", Season: 0.35, Unstated: true},
		{Code: "f", Name: "people differ", People: 0.4},
		{Code: "g", Name: "one bad recent delivery", Bad: 0.6},
		{Code: "l", Name: "washed harder of late", Harsh: 1.7},
		{Code: "h", Name: "starters in bursts, leaving together", Group: 4},
		{Code: "bef", Name: "b, e and f together", Unseen: 0.3, CountEvery: halfYear, Season: 0.35, People: 0.4},
		{Code: "s", Name: "30 % unseen, a week before the next count", Unseen: 0.3, CountEvery: halfYear, Stale: true},
		{Code: "1a", Name: "all endings recorded, pieces told apart", Distinct: true},
		{Code: "1b", Name: "30 % unseen, pieces told apart", Distinct: true, Unseen: 0.3, CountEvery: halfYear},
	}
}

// WorldOf returns the world of a code.
func WorldOf(code string) (World, bool) {
	for _, w := range Worlds() {
		if w.Code == code {
			return w, true
		}
	}
	return World{}, false
}
