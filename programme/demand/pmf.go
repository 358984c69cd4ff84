package demand

import (
	"maps"
	"math"
	"slices"
	"strconv"
)

// pmf is the chance of whole numbers lo, lo+1, ...; chances too small to
// matter are cut off at both ends.
type pmf struct {
	lo int
	p  []float64
}

// negligible is the chance below which an end of a pmf is cut.
const negligible = 1e-13

func certainly(n int) pmf { return pmf{n, []float64{1}} }

func (f pmf) trimmed() pmf {
	lo, hi := 0, len(f.p)
	for hi > lo+1 && f.p[hi-1] < negligible {
		hi--
	}
	for lo < hi-1 && f.p[lo] < negligible {
		lo++
	}
	return pmf{f.lo + lo, f.p[lo:hi]}
}

// plus returns the PMF of the sum of two independent numbers.
func (f pmf) plus(g pmf) pmf {
	if len(f.p) == 1 && f.p[0] == 1 {
		return pmf{f.lo + g.lo, g.p}
	}
	if len(g.p) == 1 && g.p[0] == 1 {
		return pmf{f.lo + g.lo, f.p}
	}
	if len(f.p) < len(g.p) {
		f, g = g, f
	}
	out := make([]float64, len(f.p)+len(g.p)-1)
	for j, y := range g.p {
		row := out[j : j+len(f.p)]
		for i, x := range f.p {
			row[i] += x * y
		}
	}
	return pmf{f.lo + g.lo, out}.trimmed()
}

// times returns the PMF of the sum of n independent numbers of this PMF, n at least 1: a power by
// squares.
func (f pmf) times(n int) pmf {
	out, square := certainly(0), f
	for {
		if n&1 == 1 {
			out = out.plus(square)
		}
		if n >>= 1; n == 0 {
			return out
		}
		square = square.plus(square)
	}
}

// poisson returns the PMF of a Poisson number, nine standard deviations to both sides.
func poisson(mean float64) pmf {
	from := max(0, int(mean-9*math.Sqrt(mean)))
	out := make([]float64, int(18*math.Sqrt(mean))+16)
	for i := range out {
		n := float64(from + i)
		gamma, _ := math.Lgamma(n + 1)
		out[i] = math.Exp(n*math.Log(mean) - mean - gamma)
	}
	return pmf{from, out}
}

// less returns the PMF of max(0, N-n).
func (f pmf) less(n int) pmf {
	if f.lo >= n {
		return pmf{f.lo - n, f.p}
	}
	out := make([]float64, max(1, f.lo+len(f.p)-n))
	for i, x := range f.p {
		out[max(0, f.lo+i-n)] += x
	}
	return pmf{0, out}
}

// mixture is a weighted average of distributions.
type mixture struct{ p []float64 }

func (m *mixture) add(weight float64, f pmf) {
	m.p = padded(m.p, f.lo+len(f.p))
	for i, x := range f.p {
		m.p[f.lo+i] += weight * x
	}
}

func (m *mixture) pmf() pmf {
	if len(m.p) == 0 {
		return certainly(0)
	}
	return pmf{0, m.p}.trimmed()
}

func (f pmf) mean() float64 {
	m := 0.0
	for i, x := range f.p {
		m += float64(f.lo+i) * x
	}
	return m
}

// largeMean is the mean from which P(0) of a Poisson number is too small to begin with.
const largeMean = 600

// CompoundPoisson returns P(0), P(1), ..., P(upTo) of a sum of a
// Poisson(lambda) number of independent jumps; severity[i] is the chance of a
// jump of i+1 (Panjer, ASTIN Bulletin 12 (1981) 22-26). It is summed from the
// middle in logarithms of P(0), so that large lambda do not underflow.
func CompoundPoisson(lambda float64, severity []float64, upTo int) []float64 {
	if lambda > largeMean { // split in two equal halves, each computable
		half := CompoundPoisson(lambda/2, severity, upTo)
		return convolved(half, half, upTo)
	}
	f := make([]float64, upTo+1)
	f[0] = math.Exp(-lambda)
	for n := 1; n <= upTo; n++ {
		sum := 0.0
		for j := 0; j < min(n, len(severity)); j++ {
			sum += float64(j+1) * severity[j] * f[n-j-1]
		}
		f[n] = lambda / float64(n) * sum
	}
	return f
}

func convolved(f, g []float64, upTo int) []float64 {
	out := make([]float64, upTo+1)
	for i, x := range f {
		for j, y := range g {
			if i+j > upTo {
				break
			}
			out[i+j] += x * y
		}
	}
	return out
}

// kits returns the PMF of n·N, N ~ Poisson(lambda): pieces for lambda expected arrivals who each take n.
func kits(lambda float64, n int) pmf {
	if lambda <= 0 || n <= 0 {
		return certainly(0)
	}
	top := int(lambda + 9*math.Sqrt(lambda) + 16)
	arrivals := CompoundPoisson(lambda, []float64{1}, top)
	out := make([]float64, top*n+1)
	for i, x := range arrivals {
		out[i*n] = x
	}
	return pmf{0, out}.trimmed()
}

// takers are numbers of people, or parts of all, by the pieces that each of them takes.
type takers map[int]float64

// pmf returns the PMF of pieces when so many times these are expected, one by one.
func (t takers) pmf(expected float64) pmf {
	f := certainly(0)
	for _, pieces := range slices.Sorted(maps.Keys(t)) {
		f = f.plus(kits(expected*t[pieces], pieces))
	}
	return f
}

// tie is the rounding allowed when a distribution function meets a quantile exactly.
const tie = 1e-12

// Quantile returns the smallest whole q with P(N <= q) >= p, given P(0), P(1), ...
func Quantile(pmf []float64, p float64) int {
	c := 0.0
	for q, x := range pmf {
		if c += x; c >= p-tie {
			return q
		}
	}
	return max(0, len(pmf)-1)
}

// quantiles are the ones reported.
var quantiles = []float64{0.1, 0.5, 0.8, 0.9, 0.95, 0.99}

// Describe returns mean, standard deviation and quantiles of P(0), P(1), ...
func Describe(p []float64) Distribution {
	d := Distribution{Quantiles: make(map[string]int, len(quantiles)), PMF: p}
	for i, x := range p {
		d.Mean += float64(i) * x
	}
	v := 0.0
	for i, x := range p {
		v += (float64(i) - d.Mean) * (float64(i) - d.Mean) * x
	}
	d.SD = math.Sqrt(v)
	for _, q := range quantiles {
		d.Quantiles[strconv.FormatFloat(q, 'g', -1, 64)] = Quantile(p, q)
	}
	return d
}

func (f pmf) describe() Distribution {
	p := make([]float64, f.lo+len(f.p))
	copy(p[f.lo:], f.p)
	return Describe(p)
}
