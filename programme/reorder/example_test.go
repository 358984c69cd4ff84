package reorder_test

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme/reorder"
)

// Demand is 0, 1 or 2 pieces; one is on the shelf.
func ExampleShortage() {
	short := reorder.NewShortage([]float64{0.2, 0.5, 0.3})
	fmt.Printf("%.1f pieces needed, %.1f of them missing\n", short.Mean(), short.At(1))
	fmt.Printf("fill rate %.2f\n", reorder.FillRate(short.At(1), short.Mean()))
	// Output:
	// 1.1 pieces needed, 0.3 of them missing
	// fill rate 0.73
}
