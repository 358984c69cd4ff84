package vector

import (
	"math"
	"slices"
	"strings"
)

var (
	caps  = []string{"butt", "round", "square"}
	joins = []string{"miter", "round", "bevel"}
)

// stroke reads how an outline is drawn (SVG 1.1, 11.4); nil is not at all.
func (d *drawer) stroke(n *node, in place) (*Stroke, error) {
	s := in.style
	ink, err := paint(n, s, "stroke", "none", in.fade)
	if ink == nil || err != nil {
		return nil, err
	}
	factor, even := in.m.even()
	if !even {
		return nil, n.refuse("it has an outline that is stretched more one way than the other")
	}
	out := Stroke{Ink: *ink, Cap: slices.Index(caps, s.or("stroke-linecap", "butt")),
		Join: slices.Index(joins, s.or("stroke-linejoin", "miter"))}
	if out.Cap < 0 || out.Join < 0 {
		return nil, n.refuse("the ends or corners of an outline are not understood")
	}
	for _, v := range []struct {
		property, usual string
		least, factor   float64
		into            *float64
	}{
		{"stroke-width", "1", 0, factor, &out.Width},
		{"stroke-miterlimit", "4", 1, 1, &out.MiterLimit},
		{"stroke-dashoffset", "0", -maxNumber, factor, &out.DashOffset},
	} {
		x, ok := length(s.or(v.property, v.usual), 0)
		if !ok || x < v.least {
			return nil, n.refuse("the %s %q is not understood", v.property, short(s[v.property]))
		}
		*v.into = x * v.factor
	}
	if out.Width == 0 {
		return nil, nil
	}
	if out.Width > maxReach || out.DashOffset > maxReach || out.DashOffset < -maxReach {
		return nil, n.refuse("it has an outline without measure")
	}
	if out.Dash, err = dashes(n, s.or("stroke-dasharray", "none"), factor); err != nil {
		return nil, err
	}
	out.DashOffset = ahead(out.DashOffset, out.Dash)
	return &out, nil
}

// dashes reads the lengths of dashes and gaps; an odd list goes twice.
func dashes(n *node, value string, factor float64) ([]float64, error) {
	if value == "none" {
		return nil, nil
	}
	var out []float64
	sum := 0.0
	for _, part := range strings.FieldsFunc(value, func(r rune) bool { return strings.ContainsRune(", \t\r\n", r) }) {
		v, ok := length(part, 0)
		if !ok || v < 0 || v*factor > maxReach || len(out) > 100 {
			return nil, n.refuse("the stroke-dasharray %q is not understood", short(value))
		}
		out = append(out, v*factor)
		sum += v * factor
	}
	if sum == 0 {
		return nil, nil
	}
	// A reader of a thousandth of a unit's dashes would draw for ever.
	if sum/float64(len(out)) < 0.05 {
		return nil, n.refuse("its dashes are too fine to draw")
	}
	if len(out)%2 == 1 {
		out = append(out, out...)
	}
	return out, nil
}

// ahead returns the dash offset, which may be negative in SVG, modulo the length of one
// round of dashes and gaps: from 0 up to that length.
func ahead(offset float64, dash []float64) float64 {
	round := 0.0
	for _, v := range dash {
		round += v
	}
	if round == 0 {
		return 0
	}
	if offset = math.Mod(offset, round); offset < 0 {
		offset += round
	}
	return offset
}
