package sheet_test

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme/sheet"
)

// Two presses in a hundred go wrong: how many transfers must be printed beyond
// the 40 pieces, so that the job does not run short?
func ExampleAllowance() {
	fmt.Println(sheet.Allowance(40, 0.02), "spare transfers")
	// Output: 3 spare transfers
}
