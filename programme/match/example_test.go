package match_test

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme/match"
)

// A cell says a garment as people write it.
func ExampleChoices() {
	garments := match.NewChoices("polo", "apron", "hoodie")
	code, ok := garments.Find(" POLO ")
	fmt.Println(code, ok)
	fmt.Println(garments.Want("garment", "vest"))
	// Output:
	// polo true
	// but there is no such garment; write one of polo, apron, hoodie
}
