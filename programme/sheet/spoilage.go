package sheet

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// Confidence is the chance with which misprints do not run a job short.
const Confidence = 0.95

// Allowance returns how many transfers beyond pieces are needed so that with
// the chance Confidence at least pieces presses come out right, when each
// press goes wrong on its own with chance spoilage (0 <= spoilage < 1).
//
// With n transfers the number of good presses is binomial, and the chance of
// at least k good ones is the regularised incomplete beta function
// I(1-spoilage; k, n-k+1) (Abramowitz & Stegun, 26.5.24, from memory).
func Allowance(pieces int, spoilage float64) int {
	if pieces <= 0 || spoilage <= 0 {
		return 0
	}
	enough := func(extra int) bool {
		return mathext.RegIncBeta(float64(pieces), float64(extra+1), 1-spoilage) >= Confidence
	}
	high := 1
	for !enough(high) && high < math.MaxInt32/2 {
		high *= 2
	}
	low := 0
	for low < high {
		mid := (low + high) / 2
		if enough(mid) {
			high = mid
		} else {
			low = mid + 1
		}
	}
	return low
}
