package programme_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
)

// Whole kits are shared so that the shares are as near to the weights as whole numbers
// can be: no other way to share so many differs less in sum. All ways are tried.
func TestKitsAreSharedAsNearToTheWeightsAsCanBe(t *testing.T) {
	require.Equal(t, []int{0, 0}, programme.Apportion(3, []float64{0, 0}))
	require.Equal(t, []int{1, 0, 0}, programme.Apportion(1, []float64{1, 1, 1}), "equal ones: the earlier")
	require.Equal(t, []int{2, 0, 1}, programme.Apportion(3, []float64{5, 0.5, 2.4}))
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 9).Draw(t, "kits")
		w := rapid.SliceOfN(rapid.Float64Range(0.01, 5), 3, 3).Draw(t, "weights")
		off := func(x []int) (sum float64) {
			for i := range w {
				sum += math.Abs(float64(x[i]) - float64(n)*w[i]/(w[0]+w[1]+w[2]))
			}
			return sum
		}
		got := programme.Apportion(n, w)
		require.Equal(t, n, got[0]+got[1]+got[2])
		for a := range n + 1 {
			for b := range n - a + 1 {
				require.LessOrEqual(t, off(got), off([]int{a, b, n - a - b})+1e-6)
			}
		}
	})
}

// Kits are shared by weights: of each size its part, and what is left to the largest remainders.
func TestKitsAreSharedByTheirWeights(t *testing.T) {
	require.Equal(t, []int{3, 1, 1}, programme.Apportion(5, []float64{5, 2, 2}), "2.8, 1.1 and 1.1")
	require.Equal(t, []int{1, 1, 0}, programme.Apportion(2, []float64{1, 1, 1}), "equal remainders go to the earlier ones")
	require.Equal(t, []int{0, 4}, programme.Apportion(4, []float64{0, 3}))
	require.Equal(t, []int{0, 0}, programme.Apportion(4, []float64{0, 0}))
}

// Weights that differ by rounding alone are equal: the earlier one gets the odd kit.
func TestRoundingGivesNobodyAKit(t *testing.T) {
	a, b := 0.1, 0.2
	require.Greater(t, a+b, 0.3)
	require.Equal(t, []int{1, 0}, programme.Apportion(1, []float64{0.3, a + b}))
}

// People are called by name, and by number where that alone tells them apart.
func TestPeopleAreCalledByNameWhereTheyHaveOne(t *testing.T) {
	staff := programme.Roster{{StaffID: "1", Name: "Ada Netherby"}, {StaffID: "2", Name: "Jo Birch"},
		{StaffID: "3", Name: "Jo Birch"}, {StaffID: "4"}}
	for id, want := range map[string]string{"1": "Ada Netherby", "2": "Jo Birch (2)", "3": "Jo Birch (3)", "4": "4",
		"nobody": "nobody"} {
		require.Equal(t, want, staff.Called(id))
	}
}
