package pack

import (
	"math"
	"slices"
)

// binBound returns a number of sheets below which no packing exists.
//
// Every pair of dual feasible functions f, g gives one: the sum over pieces of
// f(w)·g(h), at the better of the allowed turns, never exceeds the number of
// sheets (Fekete & Schepers, Mathematical Programming 91(1), 2001). Used are
// the identity, u(k) and the threshold functions at the pieces' own lengths.
func binBound(pieces []Piece, width, height int64) int {
	fs, gs := dualFeasible(pieces, width, height)
	var best float64
	for _, f := range fs {
		for _, g := range gs {
			best = max(best, weigh(pieces, width, height, f, g))
		}
	}
	return int(math.Ceil(best - 1e-7))
}

// feasible maps a length, as a share of the sheet's side, to [0, 1].
type feasible func(x float64) float64

func identity(x float64) float64 { return x }

// stepped returns u(k): shares rounded down to multiples of 1/(k+1), then over k.
func stepped(k int) feasible {
	return func(x float64) float64 {
		y := x * float64(k+1)
		if r := math.Round(y); math.Abs(y-r) < 1e-9 {
			return x
		}
		return math.Floor(y) / float64(k)
	}
}

// threshold counts what is over 1-e as a whole side and what is under e as nothing.
func threshold(e float64) feasible {
	return func(x float64) float64 {
		switch {
		case x > 1-e+1e-12:
			return 1
		case x < e-1e-12:
			return 0
		default:
			return x
		}
	}
}

// maxThresholds keeps the number of pairs small; the bound only stops a search early.
const maxThresholds = 24

func dualFeasible(pieces []Piece, width, height int64) (fs, gs []feasible) {
	basic := []feasible{identity, stepped(1), stepped(2), stepped(3), stepped(4), threshold(0.5)}
	fs, gs = slices.Clone(basic), slices.Clone(basic)
	add := func(to []feasible, side int64) []feasible {
		var at []float64
		for _, p := range pieces {
			for _, v := range []int64{p.W, p.H} {
				if 2*v <= side && p.Count > 0 {
					at = append(at, float64(v)/float64(side))
				}
			}
		}
		slices.Sort(at)
		at = slices.Compact(at)
		for i := 0; i < len(at); i += 1 + len(at)/maxThresholds {
			to = append(to, threshold(at[i]))
		}
		return to
	}
	return add(fs, width), add(gs, height)
}

func weigh(pieces []Piece, width, height int64, f, g feasible) (sum float64) {
	w, h := float64(width), float64(height)
	for _, p := range pieces {
		v := math.Inf(1)
		if p.W <= width && p.H <= height {
			v = f(float64(p.W)/w) * g(float64(p.H)/h)
		}
		if p.Turn && p.H <= width && p.W <= height {
			v = min(v, f(float64(p.H)/w)*g(float64(p.W)/h))
		}
		if !math.IsInf(v, 1) {
			sum += v * float64(p.Count)
		}
	}
	return sum
}

// weighRows adds up the heights of pieces times the weights of their widths, at
// the better of the allowed turns.
func weighRows(pieces []Piece, width int64, f feasible) (sum float64) {
	for _, p := range pieces {
		v := math.Inf(1)
		if p.W <= width {
			v = f(float64(p.W)/float64(width)) * float64(p.H)
		}
		if p.Turn && p.H <= width {
			v = min(v, f(float64(p.H)/float64(width))*float64(p.W))
		}
		if !math.IsInf(v, 1) {
			sum += v * float64(p.Count)
		}
	}
	return sum
}

// Bound returns a number of sheets below which no packing exists.
func Bound(pieces []Piece, width, height int64) int { return binBound(pieces, width, height) }
