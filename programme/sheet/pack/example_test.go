package pack_test

import (
	"fmt"

	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// Four chest prints and two bibs on a strip that is 20 wide.
func ExampleStrip() {
	pieces := []pack.Piece{{W: 4, H: 3, Count: 4, Turn: true}, {W: 10, H: 5, Count: 2}}
	places, length, err := pack.Strip(pieces, 20, pack.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(len(places), "images on a length of", length)
	// Output: 6 images on a length of 8
}
