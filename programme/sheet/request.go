package sheet

import "github.com/kitmuster/kitmuster/programme"

// Need is one artwork that will be pressed a number of times.
type Need struct {
	Artwork string
	// Pieces is the number of good transfers wanted: pieces to press times the
	// places they carry the artwork, spoilage not counted.
	Pieces int
	// PerMonth is the usual need a month. It bounds how many overs are useful;
	// 0 means not known, and then no over is taken to be worth anything.
	PerMonth float64
}

// Budget says how long the search may try. The zero value is the quick
// deterministic mode for plans that are only compared with each other.
type Budget struct {
	// Seed picks the random sequence; equal seeds and iterations give equal plans.
	Seed uint64
	// Iterations is the number of search steps for each packing problem;
	// 0 means QuickIterations.
	Iterations int
	// Most bounds the search steps of all problems of a plan together; 0 sets no bound.
	Most int
	// Trial says that the plan is only compared with others and nobody will cut it
	// apart: equal images need not lie together.
	Trial bool
	// Stop, when not nil, is asked now and then; true ends the search with the
	// best plan so far. A time box is built from it by the caller.
	Stop func() bool
}

// QuickIterations is the search effort of the zero Budget: a few milliseconds a plan.
const QuickIterations = 200

func (b Budget) iterations() int {
	if b.Iterations > 0 {
		return b.Iterations
	}
	return QuickIterations
}

// Request is everything a plan depends on.
type Request struct {
	// AsOf is the day from which the shelf life of transfers is judged.
	AsOf programme.Date
	// Shop gives artworks, transfer kinds, sheets and prices.
	Shop *programme.Shop
	// Needs may name artworks of several clients and kinds; an artwork named
	// twice is added up.
	Needs []Need
	// Shelf is transfers on hand and on order; lines of other stock are ignored.
	Shelf []programme.StockLine
	// Spares may be printed where a sheet that is paid anyway has room; they are
	// offered (Order.Room) and, with Fill, laid onto the sheets.
	Spares []Spare
	Fill   bool
	Budget Budget
}
