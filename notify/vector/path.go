package vector

import "math"

// pen draws a path's commands (SVG 1.1, 8.3) as steps.
type pen struct {
	scanner
	steps         []Step
	here, start   Point
	control       Point // the last control point, for S and T
	last          byte  // the last command, in capitals
	relative, bad bool
	started       bool
}

// path reads the attribute d of a path. ok is false where a command cannot be read: SVG
// draws the path up to there, but that is not the picture that was meant.
func path(d string) (steps []Step, ok bool) {
	p := pen{scanner: scanner{s: d}}
	p.blanks()
	for !p.end() && !p.bad {
		c := p.s[p.at]
		p.at++
		p.blanks()
		p.relative = c >= 'a'
		p.command(c &^ 0x20)
		if len(p.steps) > maxSteps {
			return nil, false
		}
	}
	return p.steps, !p.bad
}

// command runs one command as often as numbers follow it.
func (p *pen) command(c byte) {
	if !p.started && c != 'M' {
		p.bad = true
		return
	}
	p.started = true
	if c == 'Z' {
		p.steps = append(p.steps, Step{Op: 'Z'})
		p.here, p.last = p.start, 'Z'
		return
	}
	for first := true; first || p.more(); first = false {
		p.once(c)
		if p.bad {
			return
		}
		p.last = c
		if c == 'M' {
			c = 'L' // further points of a move are lines
		}
		p.gap()
	}
}

func (p *pen) more() bool {
	if p.end() {
		return false
	}
	b := p.s[p.at]
	return b >= '0' && b <= '9' || b == '.' || b == '-' || b == '+'
}

func (p *pen) once(c byte) {
	switch c {
	case 'M':
		p.here = p.point()
		p.start = p.here
		p.steps = append(p.steps, Step{Op: 'M', To: [3]Point{p.here}})
	case 'L':
		p.line(p.point())
	case 'H':
		p.line(Point{p.value(p.here.X), p.here.Y})
	case 'V':
		p.line(Point{p.here.X, p.value(p.here.Y)})
	case 'C':
		p.curve(p.point(), p.point(), p.point())
	case 'S':
		p.curve(p.mirrored('C', 'S'), p.point(), p.point())
	case 'Q':
		p.quadratic(p.point(), p.point())
	case 'T':
		p.quadratic(p.mirrored('Q', 'T'), p.point())
	case 'A':
		p.arc()
	default:
		p.bad = true
	}
}

func (p *pen) num() float64 {
	p.gap()
	v, ok := p.number()
	p.bad = p.bad || !ok
	return v
}

func (p *pen) value(from float64) float64 {
	if !p.relative {
		from = 0
	}
	return from + p.num()
}

// point reads a point; the pen stands still while a command's points are read.
func (p *pen) point() Point {
	x := p.value(p.here.X)
	return Point{x, p.value(p.here.Y)}
}

func (p *pen) line(to Point) {
	p.steps = append(p.steps, Step{Op: 'L', To: [3]Point{to}})
	p.here = to
}

func (p *pen) curve(c1, c2, to Point) {
	p.steps = append(p.steps, Step{Op: 'C', To: [3]Point{c1, c2, to}})
	p.control, p.here = c2, to
}

// quadratic raises the degree of a quadratic curve: the same curve as a cubic.
func (p *pen) quadratic(c, to Point) {
	from := p.here
	p.curve(Point{from.X + (c.X-from.X)*2/3, from.Y + (c.Y-from.Y)*2/3},
		Point{to.X + (c.X-to.X)*2/3, to.Y + (c.Y-to.Y)*2/3}, to)
	p.control = c
}

// mirrored returns the last control point seen from the other side, when the last
// command was one of these.
func (p *pen) mirrored(a, b byte) Point {
	if p.last != a && p.last != b {
		return p.here
	}
	return Point{2*p.here.X - p.control.X, 2*p.here.Y - p.control.Y}
}

func (p *pen) arc() {
	rx, ry, turn := p.num(), p.num(), p.num()
	p.gap()
	large, ok1 := p.flag()
	p.gap()
	sweep, ok2 := p.flag()
	p.bad = p.bad || !ok1 || !ok2
	to := p.point()
	if p.bad || to == p.here {
		return // an arc to where the pen is draws nothing (SVG 1.1, F.6.2)
	}
	for _, s := range arc(p.here, to, math.Abs(rx), math.Abs(ry), turn*math.Pi/180, large, sweep) {
		p.steps = append(p.steps, s)
		p.here = to
	}
}

// arc draws an elliptical arc as curves of at most a quarter turn each, by the
// centre of its ellipse (SVG 1.1, F.6.5 and F.6.6). A radius of 0 is a line.
func arc(from, to Point, rx, ry, turn float64, large, sweep bool) []Step {
	if rx == 0 || ry == 0 {
		return []Step{{Op: 'L', To: [3]Point{to}}}
	}
	sin, cos := math.Sincos(turn)
	hx, hy := (from.X-to.X)/2, (from.Y-to.Y)/2
	x, y := cos*hx+sin*hy, -sin*hx+cos*hy
	if grow := x*x/(rx*rx) + y*y/(ry*ry); grow > 1 {
		rx, ry = rx*math.Sqrt(grow), ry*math.Sqrt(grow)
	}
	q := rx*rx*y*y + ry*ry*x*x
	k := math.Sqrt(max(0, (rx*rx*ry*ry-q)/q))
	if large == sweep {
		k = -k
	}
	cx, cy := k*rx*y/ry, -k*ry*x/rx
	begin := math.Atan2((y-cy)/ry, (x-cx)/rx)
	sweepBy := math.Atan2((-y-cy)/ry, (-x-cx)/rx) - begin
	switch {
	case sweep && sweepBy < 0:
		sweepBy += 2 * math.Pi
	case !sweep && sweepBy > 0:
		sweepBy -= 2 * math.Pi
	}
	place := matrix{cos, sin, -sin, cos, (from.X + to.X) / 2, (from.Y + to.Y) / 2}.then(matrix{rx, 0, 0, ry, cx, cy})
	steps := place.path(unitArc(begin, sweepBy))
	steps[len(steps)-1].To[2] = to
	return steps
}

// unitArc returns an arc of the unit circle in equal parts of at most a quarter.
func unitArc(begin, by float64) []Step {
	n := max(1, int(math.Ceil(math.Abs(by)/(math.Pi/2)-1e-9)))
	part := by / float64(n)
	k := 4.0 / 3 * math.Tan(part/4)
	steps := make([]Step, n)
	for i := range steps {
		s0, c0 := math.Sincos(begin + float64(i)*part)
		s1, c1 := math.Sincos(begin + float64(i+1)*part)
		steps[i] = Step{Op: 'C', To: [3]Point{{c0 - k*s0, s0 + k*c0}, {c1 + k*s1, s1 - k*c1}, {c1, s1}}}
	}
	return steps
}
