package vector

import (
	"slices"
	"strings"
)

// clipped adds what the node's clip-path cuts it to (SVG 1.1, 14.3): one shape
// of the file, or it is not understood.
func (d *drawer) clipped(n *node, in place) ([]Clip, error) {
	value, given := in.style["clip-path"]
	if !given || value == "none" {
		return in.clips, nil
	}
	c := d.byID[reference(value)]
	if c == nil || c.name != "clipPath" || c.attrs["clipPathUnits"] == "objectBoundingBox" {
		return nil, n.refuse("the clip-path %q is not understood", short(value))
	}
	shape, err := c.onlyShape()
	if err != nil {
		return nil, err
	}
	if err := d.visit(shape, in.depth); err != nil {
		return nil, err
	}
	m, s := in.m, style(nil)
	for _, part := range []*node{c, shape} {
		if s, err = d.styleOf(s, part); err != nil {
			return nil, err
		}
		own, ok := transform(s.or("transform", ""))
		if _, again := s["clip-path"]; again || !ok || s["display"] == "none" ||
			s.or("visibility", "visible") != "visible" {
			return nil, part.refuse("the clip-path %q is not understood", short(value))
		}
		m = m.then(own)
	}
	steps, isShape, err := d.outline(shape)
	if err != nil {
		return nil, err
	}
	if !isShape || len(steps) == 0 {
		return nil, shape.refuse("the clip-path %q is not understood", short(value))
	}
	evenOdd, err := shape.rule(s, "clip-rule")
	if err != nil {
		return nil, err
	}
	steps = m.path(steps)
	return append(slices.Clone(in.clips), Clip{steps, evenOdd}), d.within(shape, steps)
}

// reference returns the id in url(#id).
func reference(value string) string {
	id, ok := strings.CutPrefix(value, "url(")
	if !ok {
		return ""
	}
	id = strings.Trim(strings.TrimSuffix(id, ")"), ` '"`)
	id, ok = strings.CutPrefix(id, "#")
	if !ok {
		return ""
	}
	return id
}

func (n *node) onlyShape() (*node, error) {
	var only *node
	for _, c := range n.children {
		if slices.Contains(unseen, c.name) {
			continue
		}
		if only != nil {
			return nil, c.refuse("it is cut to several shapes at once")
		}
		only = c
	}
	if only == nil {
		return nil, n.refuse("it is cut to nothing")
	}
	return only, nil
}
