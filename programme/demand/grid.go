package demand

import "math"

// grid is F_n of a new piece by lifetime, n = 2, 3, ..., the chance that it is
// renewed n times, at multiples of step weeks: F_(n+1)(x) is the integral of
// dF_1(s) F_n(x-s) (Cox, Renewal Theory, 1962), Stieltjes, trapezoidal.
type grid struct {
	step float64 // weeks
	// jumpAt is the number of steps from new to a label's limit, noJump where there is none.
	jumpAt int
	// further are F_2, F_3, ..., each by lifetime.
	further [][]curve
}

// curve is a function on the grid: its value at each point and its limit from
// the left, which differ only where it jumps.
type curve struct{ right, left []float64 }

// noJump lies beyond every grid.
const noJump = math.MaxInt

func (g *grid) jumps() bool { return g.jumpAt != noJump }

// deepest is the greatest n of F_n that is kept.
const deepest = 61

// newGrid tabulates F_2, F_3, ... over weeks until they no longer matter.
func newGrid(h *hazards, weeks float64, e effort) grid {
	g := grid{step: max(weeks, 1e-9) / float64(e.cells), jumpAt: noJump}
	if life := h.limitAfter(0); life <= weeks {
		g.jumpAt = int(math.Ceil(life / g.step))
		g.step = life / float64(g.jumpAt)
	}
	cells := int(math.Ceil(weeks/g.step)) + 1
	first := g.first(h, max(cells, 4))
	for last := first; len(g.further)+1 < deepest && matters(last, e.ignore); {
		next := make([]curve, len(first))
		for q := range next {
			next[q] = g.stieltjes(first[q], last[q])
		}
		g.further = append(g.further, next)
		last = next
	}
	return g
}

// first returns F_1 by lifetime, which jumps to 1 at the label's limit.
func (g *grid) first(h *hazards, cells int) []curve {
	out := make([]curve, len(h.lifetimes))
	for q := range out {
		c := make([]float64, cells+1)
		out[q] = curve{c, c}
		if g.jumps() {
			out[q].left = make([]float64, cells+1)
		}
	}
	for i := range cells + 1 {
		for q, f := range h.before(float64(i) * g.step) {
			left, right := f, f
			if i > g.jumpAt {
				left = 1
			}
			if i >= g.jumpAt {
				right = 1
			}
			out[q].left[i], out[q].right[i] = left, right
		}
	}
	return out
}

// matters reports whether any lifetime gives more than a chance to ignore by the end of the grid.
func matters(f []curve, ignore float64) bool {
	for _, c := range f {
		if c.right[len(c.right)-1] > ignore {
			return true
		}
	}
	return false
}

// stieltjes returns the integral of df(s) by(x-s) on the grid, by averaged over each
// cell; f may jump at jumpAt.
func (g *grid) stieltjes(f, by curve) curve {
	n := len(f.right)
	mass, mid := make([]float64, n), make([]float64, n)
	for i := 1; i < n; i++ {
		mass[i], mid[i] = f.left[i]-f.right[i-1], (by.left[i]+by.right[i-1])/2
	}
	out := curve{right: make([]float64, n)}
	for i := 1; i < n; i++ {
		sum := 0.0
		for j, m := range mass[1 : i+1] {
			sum += m * mid[i-j]
		}
		out.right[i] = sum
	}
	out.left = out.right
	if g.jumps() {
		out.left = append([]float64(nil), out.right...)
		out.addJump(g.jumpAt, f.right[g.jumpAt]-f.left[g.jumpAt], by)
	}
	return out
}

// addJump adds a curve that starts at a point of the grid, times the height of the jump there.
func (c *curve) addJump(at int, height float64, by curve) {
	for i := at; i < len(c.right); i++ {
		c.right[i] += height * by.right[i-at]
		c.left[i] += height * by.left[i-at]
	}
}

// read returns a curve at x weeks: smoothly, or where curves jump by straight
// lines from jump to jump.
func (g *grid) read(c curve, x float64) float64 {
	at := max(x, 0) / g.step
	if !g.jumps() {
		return cubic(c.right, at)
	}
	i := min(int(at+1e-9), len(c.right)-2)
	return c.right[i] + max(0, at-float64(i))*(c.left[i+1]-c.right[i])
}

// cubic reads a grid of at least four points at position x by a cubic through the nearest.
func cubic(g []float64, x float64) float64 {
	lo := max(0, min(int(x)-1, len(g)-4))
	d := x - float64(lo)
	d1, d2, d3 := d-1, d-2, d-3
	return -g[lo]*d1*d2*d3/6 + g[lo+1]*d*d2*d3/2 - g[lo+2]*d*d1*d3/2 + g[lo+3]*d*d1*d2/6
}
