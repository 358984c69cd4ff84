package demand_test

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme/demand"
)

// Two starters are expected, and each takes three tees.
func ExampleCompoundPoisson() {
	pmf := demand.CompoundPoisson(2, []float64{0, 0, 1}, 30)
	fmt.Printf("none with a chance of %.2f; 9 in 10 times no more than %d\n", pmf[0], demand.Quantile(pmf, 0.9))
	// Output: none with a chance of 0.14; 9 in 10 times no more than 12
}
