// Package quadrature gives Gauss rules for averages over the distributions that stand
// for what is not known: rates (Gamma), shares (Beta), logarithms (normal).
//
// Nodes and weights come from the eigenvectors of the Jacobi matrix (Golub &
// Welsch, Math. Comp. 23 (1969) 221-230). They stay finite for any evidence,
// where the textbook formula for Laguerre weights overflows from about 170 on.
package quadrature

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Node is one point of a rule; the weights of a rule are positive and sum to 1.
type Node struct{ At, Weight float64 }

// Gamma returns the n-point rule for the Gamma distribution with that shape and rate
// (mean shape/rate): exact for polynomials up to degree 2n-1.
func Gamma(shape, rate float64, n int) []Node {
	if n <= 1 {
		return []Node{{shape / rate, 1}}
	}
	diag, off := make([]float64, n), make([]float64, n)
	for i := range n {
		x := float64(i)
		diag[i] = 2*x + shape
		off[i] = math.Sqrt(x * (x + shape - 1))
	}
	nodes := rule(diag, off)
	for i := range nodes {
		nodes[i].At /= rate
	}
	return nodes
}

// Beta returns the n-point rule for the Beta(a, b) distribution on [0, 1].
func Beta(a, b float64, n int) []Node {
	if n <= 1 {
		return []Node{{a / (a + b), 1}}
	}
	// Jacobi polynomials on [-1, 1] with weight (1-x)^(b-1) (1+x)^(a-1).
	p, q := b-1, a-1
	diag, off := make([]float64, n), make([]float64, n)
	for i := range n {
		x := float64(i)
		s := 2*x + p + q
		if i == 0 {
			diag[i] = (q - p) / (p + q + 2)
			continue
		}
		diag[i] = (q*q - p*p) / (s * (s + 2))
		num := 4 * x * (x + p) * (x + q) * (x + p + q)
		den := s * s * (s + 1) * (s - 1)
		if i == 1 { // (x+p+q) and (s-1) cancel
			num, den = 4*(1+p)*(1+q), s*s*(s+1)
		}
		off[i] = math.Sqrt(num / den)
	}
	nodes := rule(diag, off)
	for i := range nodes {
		nodes[i].At = min(1, max(0, (1+nodes[i].At)/2))
	}
	return nodes
}

// Normal returns the n-point Gauss-Hermite rule of the standard normal distribution.
func Normal(n int) []Node {
	diag, off := make([]float64, n), make([]float64, n)
	for i := range n {
		off[i] = math.Sqrt(float64(i))
	}
	return rule(diag, off)
}

// Compress returns the n-point rule with the same first 2n-1 moments as a
// discrete distribution (Stieltjes' procedure). A distribution of n or fewer points is returned as it is.
func Compress(dist []Node, n int) []Node {
	if n >= len(dist) {
		return dist
	}
	diag, off := make([]float64, n), make([]float64, n)
	prev, cur := make([]float64, len(dist)), make([]float64, len(dist))
	for i := range cur {
		cur[i] = 1
	}
	norm := 0.0
	for k := range n {
		var s, xs, b float64
		for i, q := range dist {
			m := q.Weight * cur[i] * cur[i]
			s, xs = s+m, xs+m*q.At
		}
		if s < 1e-28 {
			return rule(diag[:k], off[:k])
		}
		if k > 0 {
			b = s / norm
			off[k] = math.Sqrt(b)
		}
		diag[k], norm = xs/s, s
		for i, q := range dist {
			prev[i], cur[i] = cur[i], (q.At-diag[k])*cur[i]-b*prev[i]
		}
	}
	return rule(diag, off)
}

// Legendre returns the n-point Gauss-Legendre rule on [0, 1].
func Legendre(n int) []Node { return Beta(1, 1, n) }

// rule turns recurrence coefficients (off[0] unused) into nodes in rising order.
func rule(diag, off []float64) []Node {
	n := len(diag)
	m := mat.NewSymDense(n, nil)
	for i := range n {
		m.SetSym(i, i, diag[i])
		if i > 0 {
			m.SetSym(i-1, i, off[i])
		}
	}
	var e mat.EigenSym
	if !e.Factorize(m, true) {
		panic("quadrature: eigenvalues of a small symmetric matrix did not converge")
	}
	var v mat.Dense
	e.VectorsTo(&v)
	nodes := make([]Node, n)
	for j, x := range e.Values(nil) {
		nodes[j] = Node{At: x, Weight: v.At(0, j) * v.At(0, j)}
	}
	return nodes
}
