// Package vector reads an SVG picture (SVG 1.1, W3C Recommendation 16 August
// 2011) as plain filled and stroked outlines, so that a paper can draw it at
// any size. It is strict where browsers are lenient: a picture is either
// understood whole or refused with a sentence that says what is in the way.
// What would be drawn otherwise than meant (text without its fonts, gradients,
// filters, masks, photos, scripts) is refused, never left out. Nothing outside
// the file is ever looked at.
//
// Understood are groups, paths and the six basic shapes, use of a shape inside
// the file, flat fills and strokes with dashes, see-through colours, clipping
// to one shape, transforms, and styles by attribute, class, name or id.
package vector

import (
	"fmt"
)

// Picture is a picture as outlines, the first drawn first. Its longer side is
// 1000 units; x grows to the right and y downwards from the top left corner.
// Whatever reaches over its edges is to be cut off.
type Picture struct {
	Width, Height float64
	Shapes        []Shape
}

// side is the longer side of every picture, in units.
const side = 1000

// Shape is one outline, filled first and stroked then.
type Shape struct {
	Path    []Step
	EvenOdd bool // the fill rule; false = nonzero
	Fill    *Ink // nil = none
	Stroke  *Stroke
	Clips   []Clip // all of them cut the shape
}

// Ink is a colour in sRGB, 0 to 255 each, and how much it covers, 0 to 1.
type Ink struct {
	RGB     [3]uint8
	Opacity float64
}

// Stroke says how an outline is drawn; lengths are in the picture's units.
// Caps and joins are numbered as in SVG and PDF (ISO 32000-1, 8.4.3).
type Stroke struct {
	Ink        Ink
	Width      float64
	Cap        int // 0 butt, 1 round, 2 square
	Join       int // 0 miter, 1 round, 2 bevel
	MiterLimit float64
	Dash       []float64 // nil = solid
	DashOffset float64
}

// Clip is an area outside which nothing of a shape is seen.
type Clip struct {
	Path    []Step
	EvenOdd bool
}

// Step is one step of a path: 'M' moves to the last point, 'L' draws a line to
// it, 'C' a cubic Bézier curve over the first two, and 'Z' closes the outline.
type Step struct {
	Op byte
	To [3]Point // M and L use the first only
}

// Point is a place in the picture.
type Point struct{ X, Y float64 }

// Bounds of what is read. A logo has some hundreds of steps; a traced photo
// with more than these is no logo, and drawing it fifty times fills a proof.
const (
	MaxBytes  = 4 << 20
	maxNodes  = 20_000
	maxSteps  = 100_000
	maxWork   = 40_000_000
	maxDepth  = 64
	maxReach  = 1e6 // units from the corner
	maxNumber = 1e9
)

// Steps counts the steps of all paths, clips included.
func (p *Picture) Steps() (n int) {
	for i := range p.Shapes {
		n += len(p.Shapes[i].Path)
		for _, c := range p.Shapes[i].Clips {
			n += len(c.Path)
		}
	}
	return n
}

// Opaque reports whether no part of the picture is see-through.
func (p *Picture) Opaque() bool {
	for i := range p.Shapes {
		s := &p.Shapes[i]
		if s.Fill != nil && s.Fill.Opacity < 1 || s.Stroke != nil && s.Stroke.Ink.Opacity < 1 {
			return false
		}
	}
	return true
}

// Read reads a picture. The error is a clause such as "line 7: it has text;
// turn text into outlines": what is in the way and, where there is one, the cure.
func Read(data []byte) (*Picture, error) {
	if len(data) > MaxBytes {
		return nil, fmt.Errorf("it is larger than %d MB; save it without what is not printed", MaxBytes>>20)
	}
	root, err := parse(data)
	if err != nil {
		return nil, err
	}
	d := &drawer{byID: map[string]*node{}}
	if err := d.prepare(root); err != nil {
		return nil, err
	}
	return d.draw(root)
}
