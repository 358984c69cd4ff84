package vector

import (
	"math"
)

// outline draws one of SVG's shapes as a path in its own coordinates (SVG 1.1,
// chapters 8 and 9). ok is false for elements that are no shapes.
func (d *drawer) outline(n *node) (steps []Step, isShape bool, err error) {
	switch n.name {
	case "path":
		steps, ok := path(n.attrs["d"])
		if !ok {
			return nil, true, n.refuse("a path cannot be read, or has too many points")
		}
		return steps, true, nil
	case "rect":
		steps, err = d.rect(n)
	case "circle", "ellipse":
		steps, err = d.ellipse(n)
	case "line":
		v, err := d.lengths(n, "x1", "y1", "x2", "y2")
		return polyline([]float64{v[0], v[1], v[2], v[3]}, false), true, err
	case "polyline", "polygon":
		v, ok := numbers(n.attrs["points"])
		if !ok || len(v)%2 != 0 {
			return nil, true, n.refuse("the points of a %s cannot be read", n.name)
		}
		steps = polyline(v, n.name == "polygon")
	default:
		return nil, false, nil
	}
	return steps, true, err
}

// lengths reads attributes that are lengths, 0 where they are missing. Shares
// are of the picture's width or height.
func (d *drawer) lengths(n *node, names ...string) (out [4]float64, err error) {
	for i, name := range names {
		s, given := n.attrs[name]
		if !given {
			continue
		}
		of := d.width
		switch name {
		case "y", "y1", "y2", "cy", "height", "ry":
			of = d.height
		case "r":
			of = 0
		}
		v, ok := length(s, of)
		if !ok {
			return out, n.refuse("the %s %q of a %s is not understood", name, short(s), n.name)
		}
		out[i] = v
	}
	return out, nil
}

func (d *drawer) rect(n *node) ([]Step, error) {
	v, err := d.lengths(n, "x", "y", "width", "height")
	x, y, w, h := v[0], v[1], v[2], v[3]
	if err != nil || w <= 0 || h <= 0 {
		return nil, err
	}
	round, err := d.lengths(n, "rx", "ry")
	rx, ry := round[0], round[1]
	_, givenX := n.attrs["rx"]
	_, givenY := n.attrs["ry"]
	switch {
	case !givenX:
		rx = ry
	case !givenY:
		ry = rx
	}
	rx, ry = min(max(0, rx), w/2), min(max(0, ry), h/2)
	if rx == 0 || ry == 0 || err != nil {
		return polyline([]float64{x, y, x + w, y, x + w, y + h, x, y + h}, true), err
	}
	steps := []Step{move(x+rx, y)}
	corner := func(cx, cy, begin float64) {
		at := matrix{rx, 0, 0, ry, cx, cy}
		p := at.apply(Point{math.Cos(begin), math.Sin(begin)})
		steps = append(steps, Step{Op: 'L', To: [3]Point{p}})
		steps = append(steps, at.path(unitArc(begin, math.Pi/2))...)
	}
	corner(x+w-rx, y+ry, -math.Pi/2)
	corner(x+w-rx, y+h-ry, 0)
	corner(x+rx, y+h-ry, math.Pi/2)
	corner(x+rx, y+ry, math.Pi)
	return append(steps, Step{Op: 'Z'}), nil
}

func (d *drawer) ellipse(n *node) ([]Step, error) {
	v, err := d.lengths(n, "cx", "cy", "rx", "ry")
	cx, cy, rx, ry := v[0], v[1], v[2], v[3]
	if n.name == "circle" {
		r, wrong := d.lengths(n, "r")
		if wrong != nil {
			err = wrong
		}
		rx, ry = r[0], r[0]
	}
	if err != nil || rx <= 0 || ry <= 0 {
		return nil, err
	}
	steps := []Step{move(cx+rx, cy)}
	steps = append(steps, matrix{rx, 0, 0, ry, cx, cy}.path(unitArc(0, 2*math.Pi))...)
	return append(steps, Step{Op: 'Z'}), nil
}

func move(x, y float64) Step { return Step{Op: 'M', To: [3]Point{{x, y}}} }

func polyline(v []float64, closed bool) []Step {
	var steps []Step
	for i := 0; i+1 < len(v); i += 2 {
		s := move(v[i], v[i+1])
		if i > 0 {
			s.Op = 'L'
		}
		steps = append(steps, s)
	}
	if closed && len(steps) > 0 {
		steps = append(steps, Step{Op: 'Z'})
	}
	return steps
}
