package gang

import "math"

func ceil(x float64) int { return int(math.Ceil(x - 1e-9)) }

func ceilDiv(a, b int) int { return (a + b - 1) / b }

// leastRuns finds the fewest sheets that cover the need with given layouts:
// minimise the sum of runs subject to copies·runs >= need. It solves the dual
// (maximise need·y with every layout's copies·y <= 1, so y = 0 is a start) by
// the simplex method on a small dense table, rounds the runs up and takes back
// what rounding gave too much. The workspace is reused between calls.
type leastRuns struct {
	need  []int
	table []float64 // rows: layouts, then the objective; columns: artworks, slacks, right side
	basis []int
	short []int
}

// solve sets runs for the layouts and returns the sum of fractional runs, a
// lower bound; false when some artwork is on no layout.
func (r *leastRuns) solve(layouts []Layout) (float64, bool) {
	m, k := len(r.need), len(layouts)
	for j := range r.need {
		on := false
		for i := range layouts {
			on = on || layouts[i].Copies[j] > 0
		}
		if !on {
			return 0, false
		}
	}
	if k == 1 {
		return r.single(&layouts[0]), true
	}
	cols := r.fillTable(layouts)
	for pivots := 0; pivots < 50*(m+k); pivots++ {
		if !r.pivot(k, cols, pivots > 10*(m+k)) {
			break
		}
	}
	obj := r.table[k*cols:]
	for i := range layouts {
		layouts[i].Run = ceil(-obj[m+i] - 1e-7)
	}
	r.tighten(layouts)
	return -obj[cols-1], true
}

func (r *leastRuns) single(l *Layout) float64 {
	l.Run = 0
	r.short = r.short[:0]
	for j, need := range r.need {
		l.Run = max(l.Run, ceilDiv(need, l.Copies[j]))
	}
	for j, need := range r.need {
		r.short = append(r.short, need-l.Copies[j]*l.Run)
	}
	return float64(l.Run)
}

func (r *leastRuns) fillTable(layouts []Layout) (cols int) {
	m, k := len(r.need), len(layouts)
	cols = m + k + 1
	size := (k + 1) * cols
	if cap(r.table) < size {
		r.table = make([]float64, size)
	}
	r.table = r.table[:size]
	clear(r.table)
	r.basis = r.basis[:0]
	for i := range layouts {
		row := r.table[i*cols:]
		for j, c := range layouts[i].Copies {
			row[j] = float64(c)
		}
		row[m+i] = 1
		row[cols-1] = 1
		r.basis = append(r.basis, m+i)
	}
	for j, need := range r.need {
		r.table[k*cols+j] = float64(need)
	}
	return cols
}

// pivot does one step of the simplex method; false at the optimum. careful
// takes the first column that helps (Bland's rule), which cannot cycle.
func (r *leastRuns) pivot(k, cols int, careful bool) bool {
	obj := r.table[k*cols : (k+1)*cols]
	enter, best := -1, 1e-9
	for j := 0; j < cols-1; j++ {
		if obj[j] > best {
			enter, best = j, obj[j]
			if careful {
				break
			}
		}
	}
	if enter < 0 {
		return false
	}
	leave, ratio := -1, math.Inf(1)
	for i := range k {
		a := r.table[i*cols+enter]
		if a <= 1e-9 {
			continue
		}
		if v := r.table[i*cols+cols-1] / a; v < ratio-1e-12 ||
			(v < ratio+1e-12 && leave >= 0 && r.basis[i] < r.basis[leave]) {
			leave, ratio = i, v
		}
	}
	if leave < 0 {
		return false
	}
	r.eliminate(k, cols, leave, enter)
	return true
}

func (r *leastRuns) eliminate(k, cols, leave, enter int) {
	row := r.table[leave*cols : (leave+1)*cols]
	inv := 1 / row[enter]
	for j := range row {
		row[j] *= inv
	}
	for i := range k + 1 {
		if i == leave {
			continue
		}
		other := r.table[i*cols : (i+1)*cols]
		f := other[enter]
		if f == 0 {
			continue
		}
		for j := range other {
			other[j] -= f * row[j]
		}
	}
	r.basis[leave] = enter
}

// tighten lowers each run as far as the others allow, shortest runs first.
func (r *leastRuns) tighten(layouts []Layout) {
	r.short = r.short[:0]
	for j, need := range r.need {
		for i := range layouts {
			need -= layouts[i].Copies[j] * layouts[i].Run
		}
		r.short = append(r.short, need)
		for i := range layouts { // a rounding error of the table may leave one short
			if c := layouts[i].Copies[j]; c > 0 && r.short[j] > 0 {
				r.raise(&layouts[i], ceilDiv(r.short[j], c))
			}
		}
	}
	for range layouts {
		at := -1
		for i := range layouts {
			if (at < 0 || layouts[i].Run < layouts[at].Run) && r.spare(&layouts[i]) > 0 {
				at = i
			}
		}
		if at < 0 {
			return
		}
		r.raise(&layouts[at], -r.spare(&layouts[at]))
	}
}

// raise adds n to a run; r.short may still be growing to all artworks.
func (r *leastRuns) raise(l *Layout, n int) {
	l.Run += n
	for j := range r.short {
		r.short[j] -= l.Copies[j] * n
	}
}

// spare returns by how much a run can be lowered with every need still covered.
func (r *leastRuns) spare(l *Layout) int {
	n := l.Run
	for j, c := range l.Copies {
		if c > 0 {
			n = min(n, -r.short[j]/c)
		}
	}
	return max(0, n)
}
