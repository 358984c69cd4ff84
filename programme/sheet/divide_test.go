package sheet_test

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// Clients' shares add up to the cent, and nobody could be nearer to what is theirs:
// moving a cent from one to another never brings the shares closer to the exact ones,
// which are worked out in fractions. Where nothing has weight all pay alike.
func TestNoCentCouldBeSharedMoreFairly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		amount := rapid.Int64Range(0, 5000).Draw(t, "amount")
		whole := rapid.SliceOfN(rapid.Int64Range(0, 30), 1, 6).Draw(t, "weights")
		if rapid.Bool().Draw(t, "weightless") {
			clear(whole)
		}
		weights := make([]float64, len(whole))
		sum := int64(0)
		for i, w := range whole {
			weights[i], sum = float64(w), sum+w
		}
		parts := sheet.Divide(programme.Money(amount), weights)
		require.Len(t, parts, len(whole))
		over := make([]*big.Rat, len(whole)) // paid beyond the exact share
		total := programme.Money(0)
		for i, w := range whole {
			exact := big.NewRat(amount, int64(len(whole)))
			if sum > 0 {
				exact = big.NewRat(amount*w, sum)
			}
			over[i] = new(big.Rat).Sub(big.NewRat(int64(parts[i]), 1), exact)
			total += parts[i]
		}
		require.Equal(t, programme.Money(amount), total)
		for i := range over {
			for j := range over { // a cent from i to j: (i-1)² + (j+1)² < i² + j² if i - j > 1
				require.LessOrEqual(t, new(big.Rat).Sub(over[i], over[j]).Cmp(big.NewRat(1, 1)), 0, "%v of %d by %v",
					parts, amount, whole)
			}
		}
	})
	require.Empty(t, sheet.Divide(100, nil))
}
