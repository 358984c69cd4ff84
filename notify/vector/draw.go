package vector

import (
	"errors"
	"math"
	"slices"
	"strings"
)

// drawer turns the elements of a file into shapes.
type drawer struct {
	byID          map[string]*node
	rules         []rule
	width, height float64 // of the view box, in user units
	pic           *Picture
	// What has been done so far: nodes drawn, bytes looked at, steps made.
	visits, work, steps int
}

// place holds where and how a node is drawn, as its ancestors say.
type place struct {
	style style
	m     matrix
	clips []Clip
	fade  float64 // of all ancestors together
	depth int
}

// unseen are elements that are not drawn where they stand.
var unseen = []string{
	"defs", "title", "desc", "metadata", "style", "clipPath", "linearGradient", "radialGradient", "pattern",
	"filter", "mask",
	"symbol", "marker", "view", "color-profile", "font", "font-face", "cursor",
}

// obstacles says of elements that are known but cannot be drawn what they are.
var obstacles = map[string]string{
	"text": "it has text; turn text into outlines", "image": "it has a photo inside",
	"foreignObject": "it has parts of another program inside",
	"switch":        "it has parts that only some programs show", "svg": "it has another picture inside",
	"script":  "it has a script",
	"animate": "it moves", "animateTransform": "it moves", "animateMotion": "it moves", "set": "it moves",
}

// prepare indexes the ids and reads the style sheets.
func (d *drawer) prepare(n *node) error {
	if id := n.attrs["id"]; id != "" && d.byID[id] == nil {
		d.byID[id] = n
	}
	if n.name == "style" {
		more, ok := rules(string(n.words))
		if !ok || n.attrs["media"] != "" && n.attrs["media"] != "all" {
			return n.refuse("its style sheet is not understood")
		}
		d.rules = append(d.rules, more...)
	}
	for _, c := range n.children {
		if err := d.prepare(c); err != nil {
			return err
		}
	}
	return nil
}

func (d *drawer) draw(root *node) (*Picture, error) {
	slices.SortStableFunc(d.rules, func(a, b rule) int { return a.weight() - b.weight() })
	m, err := d.frame(root)
	if err != nil {
		return nil, err
	}
	if _, turned := root.attrs["transform"]; turned {
		return nil, root.refuse("the whole picture has a transform")
	}
	if err := d.node(root, place{m: m, fade: 1}); err != nil {
		return nil, err
	}
	if len(d.pic.Shapes) == 0 {
		return nil, errors.New("nothing of it is to be seen")
	}
	return d.pic, nil
}

// frame reads the view box, or else the size, and returns what brings its
// longer side to the length that all pictures have.
func (d *drawer) frame(root *node) (matrix, error) {
	var x, y float64
	if box, given := root.attrs["viewBox"]; given {
		v, ok := numbers(box)
		if !ok || len(v) != 4 {
			return identity, root.refuse("its viewBox %q is not understood", short(box))
		}
		x, y, d.width, d.height = v[0], v[1], v[2], v[3]
	} else {
		w, okW := length(root.attrs["width"], 0)
		h, okH := length(root.attrs["height"], 0)
		if !okW || !okH {
			return identity, root.refuse("it says neither a viewBox nor its width and height")
		}
		d.width, d.height = w, h
	}
	if d.width <= 0 || d.height <= 0 || max(d.width/d.height, d.height/d.width) > 1000 {
		return identity, root.refuse("its size is not understood")
	}
	k := side / max(d.width, d.height)
	if math.IsInf(k, 0) || k == 0 {
		return identity, root.refuse("its size is not understood")
	}
	d.pic = &Picture{Width: d.width * k, Height: d.height * k}
	return matrix{k, 0, 0, k, -x * k, -y * k}, nil
}

// node draws an element with all that it holds.
func (d *drawer) node(n *node, p place) error {
	if slices.Contains(unseen, n.name) {
		return nil
	}
	if err := d.visit(n, p.depth); err != nil {
		return err
	}
	s, err := d.styleOf(p.style, n)
	if err != nil {
		return err
	}
	for _, k := range []string{"requiredFeatures", "requiredExtensions", "systemLanguage", "pathLength"} {
		if _, given := n.attrs[k]; given {
			return n.refuse("it uses %s", k)
		}
	}
	if s["display"] == "none" {
		return nil
	}
	in := place{style: s, m: p.m, clips: p.clips, depth: p.depth + 1}
	if t, given := s["transform"]; given && t != "none" {
		own, ok := transform(t)
		if !ok {
			return n.refuse("the transform %q is not understood", short(t))
		}
		in.m = p.m.then(own)
	}
	fade, ok := share(s.or("opacity", "1"))
	if !ok {
		return n.refuse("the opacity %q is not understood", short(s["opacity"]))
	}
	in.fade = p.fade * fade
	if in.clips, err = d.clipped(n, in); err != nil {
		return err
	}
	return d.content(n, in, fade)
}

// visit counts what is drawn against the bounds: a few lines of uses of uses, or
// of rules for everything, could keep a reader busy for a day.
func (d *drawer) visit(n *node, depth int) error {
	d.visits++
	d.work += n.weight + len(d.rules)*(16+len(n.attrs["class"]))
	if d.visits > maxNodes || d.work > maxWork || depth > maxDepth {
		return n.refuse("it has too many parts; simplify it")
	}
	return nil
}

// content draws a group, a use, or a shape.
func (d *drawer) content(n *node, in place, fade float64) error {
	before := len(d.pic.Shapes)
	switch {
	case n.name == "g", n.name == "a", n.name == "svg" && in.depth == 1:
		for _, c := range n.children {
			if err := d.node(c, in); err != nil {
				return err
			}
		}
	case n.name == "use":
		if err := d.use(n, in); err != nil {
			return err
		}
	default:
		steps, isShape, err := d.outline(n)
		if err != nil {
			return err
		}
		if !isShape {
			return n.obstacle()
		}
		return d.shape(n, in, steps)
	}
	if fade < 1 && len(d.pic.Shapes)-before > 1 {
		return n.refuse("it has a see-through group of several shapes")
	}
	return nil
}

func (n *node) obstacle() error {
	if what, ok := obstacles[n.name]; ok {
		return n.refuse("%s", what)
	}
	return n.refuse("it has %q, which is not understood here", short(n.name))
}

// use draws an element of the file once more (SVG 1.1, 5.6).
func (d *drawer) use(n *node, in place) error {
	id, inside := strings.CutPrefix(n.attrs["href"], "#")
	if !inside {
		return n.refuse("it shows a part of another file")
	}
	target := d.byID[id]
	if target == nil || slices.Contains(unseen, target.name) || target.name == "svg" {
		return n.refuse("it uses %q, which is no shape of it", short(id))
	}
	v, err := d.lengths(n, "x", "y")
	if err != nil {
		return err
	}
	in.m = in.m.then(matrix{1, 0, 0, 1, v[0], v[1]})
	return d.node(target, in)
}

// shape adds an outline with its inks.
func (d *drawer) shape(n *node, in place, steps []Step) error {
	for _, c := range n.children {
		if !slices.Contains(unseen, c.name) {
			return c.obstacle()
		}
	}
	if v := in.style.or("visibility", "visible"); v != "visible" {
		return nil
	}
	fill, err := paint(n, in.style, "fill", "black", in.fade)
	if err != nil {
		return err
	}
	stroke, err := d.stroke(n, in)
	if err != nil {
		return err
	}
	if n.name == "line" {
		fill = nil // it has no inside
	}
	if len(steps) == 0 || fill == nil && stroke == nil {
		return nil
	}
	if fill != nil && stroke != nil && in.fade < 1 {
		return n.refuse("it has a see-through shape with an outline")
	}
	evenOdd, err := n.rule(in.style, "fill-rule")
	if err != nil {
		return err
	}
	steps = in.m.path(steps)
	if err := d.within(n, steps); err != nil {
		return err
	}
	for _, c := range in.clips { // they are drawn anew for every shape
		d.steps += len(c.Path)
	}
	d.pic.Shapes = append(d.pic.Shapes, Shape{Path: steps, EvenOdd: evenOdd, Fill: fill, Stroke: stroke,
		Clips: in.clips})
	return nil
}

func (n *node) rule(s style, property string) (evenOdd bool, err error) {
	switch v := s.or(property, "nonzero"); v {
	case "nonzero":
		return false, nil
	case "evenodd":
		return true, nil
	default:
		return false, n.refuse("the %s %q is not understood", property, short(v))
	}
}

// within keeps the picture to what can be drawn, in steps and in reach.
func (d *drawer) within(n *node, steps []Step) error {
	if d.steps += len(steps); d.steps > maxSteps {
		return n.refuse("it has too many points; simplify it")
	}
	for _, s := range steps {
		for _, p := range s.To {
			if !(math.Abs(p.X) <= maxReach && math.Abs(p.Y) <= maxReach) {
				return n.refuse("it reaches far outside its edges")
			}
		}
	}
	return nil
}
