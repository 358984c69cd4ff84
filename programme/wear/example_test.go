package wear_test

import (
	"fmt"
	"math"

	"github.com/kitmuster/kitmuster/programme/wear"
)

// A cotton polo of which half outlast 50 washes: how many outlast 30, and how
// many of those that had 30 outlast 50?
func ExampleWeibull() {
	life := wear.FromMedian(50, 2.5)
	fmt.Printf("of new ones, %.0f %% outlast 30 washes\n", 100*math.Exp(-life.Hazard(30)))
	fmt.Printf("of those that had 30, %.0f %% outlast 50\n", 100*math.Exp(life.Hazard(30)-life.Hazard(50)))
	// Output:
	// of new ones, 82 % outlast 30 washes
	// of those that had 30, 61 % outlast 50
}

// A piece was seen at the last count. Since then its cumulative hazard is 0.2,
// and three in ten endings are written down by nobody until the next count.
func ExampleGone() {
	fmt.Printf("it may have gone unseen with a chance of %.0f %%\n", 100*wear.Gone(0.2, 0.3))
	// Output: it may have gone unseen with a chance of 6 %
}
