package programme

import (
	"cmp"
	"math"
	"slices"
)

// Apportion shares n whole things between weights, so that the shares add up to n, by the largest remainder
// (Hamilton's method); equal remainders go to the earlier one. Without any weight nobody gets anything.
func Apportion(n int, weights []float64) []int {
	out := make([]int, len(weights))
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	if sum <= 0 {
		return out
	}
	rest, left := make([]int, len(weights)), n
	remainder := make([]float64, len(weights))
	for i, w := range weights {
		share := float64(n) * w / sum
		out[i] = int(share)
		remainder[i], rest[i] = share-float64(out[i]), i
		left -= out[i]
	}
	GiveOut(out, left, rest, remainder)
	return out
}

// GiveOut adds one each to the left of rest, indices into out, that have the largest remainders; equal ones go to the
// earlier. It sorts rest.
func GiveOut(out []int, left int, rest []int, remainder []float64) {
	slices.SortStableFunc(rest, func(a, b int) int {
		if math.Abs(remainder[a]-remainder[b]) <= 1e-9 {
			return 0
		}
		return cmp.Compare(remainder[b], remainder[a])
	})
	for _, i := range rest[:max(0, min(left, len(rest)))] {
		out[i]++
	}
}
