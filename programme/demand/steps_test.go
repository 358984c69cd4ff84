package demand

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// The estimate lets the largest clients pass that there are, and no heap.
func TestStepsTellLargeClientsFromHeaps(t *testing.T) {
	held := func(people, each int) (out []programme.Piece) {
		for i := range people {
			id := fmt.Sprint(i)
			for range each {
				out = append(out, programme.Piece{StaffID: id, SKU: programme.SKU{Garment: "tee"}})
			}
		}
		return out
	}
	require.Less(t, steps(held(5000, 20)), mostSteps)
	require.Less(t, steps(held(40_000, 3)), mostSteps)
	require.Less(t, steps(held(20, 500)), mostSteps)
	require.Greater(t, steps(held(15, 20_000)), mostSteps)
}
