package vector

import (
	"math"
	"strings"
)

// matrix maps x, y to a·x + c·y + e, b·x + d·y + f (SVG 1.1, 7.4).
type matrix struct{ a, b, c, d, e, f float64 }

var identity = matrix{a: 1, d: 1}

// then applies n first and m to what comes of it, as nested transforms do.
func (m matrix) then(n matrix) matrix {
	return matrix{
		m.a*n.a + m.c*n.b, m.b*n.a + m.d*n.b,
		m.a*n.c + m.c*n.d, m.b*n.c + m.d*n.d,
		m.a*n.e + m.c*n.f + m.e, m.b*n.e + m.d*n.f + m.f,
	}
}

func (m matrix) apply(p Point) Point {
	return Point{m.a*p.X + m.c*p.Y + m.e, m.b*p.X + m.d*p.Y + m.f}
}

// even returns the one factor by which the matrix stretches every length; ok
// is false when it stretches some more than others, which bends a stroke's
// width. A thousandth more or less is not seen.
func (m matrix) even() (factor float64, ok bool) {
	p, q := math.Hypot(m.a, m.b), math.Hypot(m.c, m.d)
	ok = math.Abs(p-q) <= 1e-3*max(p, q) && math.Abs(m.a*m.c+m.b*m.d) <= 1e-3*p*q
	return math.Sqrt(math.Abs(m.a*m.d - m.b*m.c)), ok
}

// path maps every step.
func (m matrix) path(steps []Step) []Step {
	out := make([]Step, len(steps))
	for i, s := range steps {
		out[i].Op = s.Op
		for j := range s.To {
			out[i].To[j] = m.apply(s.To[j])
		}
	}
	return out
}

// transform reads a list of transforms.
func transform(s string) (matrix, bool) {
	m := identity
	for s = strings.Trim(s, " \t\r\n,"); s != ""; s = strings.TrimLeft(s, " \t\r\n,") {
		open, shut := strings.IndexByte(s, '('), strings.IndexByte(s, ')')
		if open < 0 || shut < open {
			return m, false
		}
		v, ok := numbers(s[open+1 : shut])
		if !ok {
			return m, false
		}
		one, ok := oneTransform(strings.TrimSpace(s[:open]), v)
		if !ok {
			return m, false
		}
		m, s = m.then(one), s[shut+1:]
	}
	return m, true
}

func oneTransform(name string, v []float64) (matrix, bool) {
	switch {
	case name == "matrix" && len(v) == 6:
		return matrix{v[0], v[1], v[2], v[3], v[4], v[5]}, true
	case name == "translate" && len(v) == 1:
		return matrix{1, 0, 0, 1, v[0], 0}, true
	case name == "translate" && len(v) == 2:
		return matrix{1, 0, 0, 1, v[0], v[1]}, true
	case name == "scale" && len(v) == 1:
		return matrix{a: v[0], d: v[0]}, true
	case name == "scale" && len(v) == 2:
		return matrix{a: v[0], d: v[1]}, true
	case name == "rotate" && len(v) == 1:
		return rotation(v[0]), true
	case name == "rotate" && len(v) == 3:
		return matrix{1, 0, 0, 1, v[1], v[2]}.then(rotation(v[0])).then(matrix{1, 0, 0, 1, -v[1], -v[2]}), true
	case name == "skewX" && len(v) == 1:
		return matrix{a: 1, c: math.Tan(v[0] * math.Pi / 180), d: 1}, true
	case name == "skewY" && len(v) == 1:
		return matrix{a: 1, b: math.Tan(v[0] * math.Pi / 180), d: 1}, true
	}
	return identity, false
}

func rotation(degrees float64) matrix {
	sin, cos := math.Sincos(degrees * math.Pi / 180)
	return matrix{cos, sin, -sin, cos, 0, 0}
}
