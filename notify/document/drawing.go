package document

import (
	"unicode/utf8"
)

// mmPerPoint is the size of a typographic point.
const mmPerPoint = 25.4 / 72

// drawing is one page as a list of marks in millimetres from its top left
// corner, so that PDF and SVG show the same.
type drawing struct {
	width, height float64
	marks         []mark
	dx, dy        float64
}

type markKind int

const (
	boxMark markKind = iota
	lineMark
	textMark
	polygonMark
	pictureMark
	outlinesMark
)

// mark is one thing drawn. Boxes have a corner and an extent, lines two ends
// (w, h is the other end's distance), texts the left or middle of their line.
type mark struct {
	kind       markKind
	x, y, w, h float64
	points     [][2]float64
	words      string
	art        *artwork // of pictures

	fill, stroke, ink [3]int
	filled, dashed    bool
	line              float64 // width of the stroke, 0 = none
	size              float64 // points
	bold, centred     bool
	turned            bool // a quarter turn clockwise
	light             bool // half transparent
}

// shift moves the origin of what is drawn next.
func (d *drawing) shift(x, y float64) { d.dx, d.dy = x, y }

func (d *drawing) add(m mark) {
	m.x += d.dx
	m.y += d.dy
	d.marks = append(d.marks, m)
}

func (d *drawing) box(x, y, w, h float64, m mark) {
	m.kind, m.x, m.y, m.w, m.h = boxMark, x, y, w, h
	d.add(m)
}

func (d *drawing) line(x0, y0, x1, y1 float64, m mark) {
	m.kind, m.x, m.y, m.w, m.h = lineMark, x0, y0, x1-x0, y1-y0
	d.add(m)
}

// text writes words with the middle of their height at y.
func (d *drawing) text(x, y float64, words string, m mark) {
	m.kind, m.x, m.y, m.words = textMark, x, y, words
	d.add(m)
}

func (d *drawing) polygon(points [][2]float64, m mark) {
	m.kind = polygonMark
	for _, p := range points {
		m.points = append(m.points, [2]float64{p[0] + d.dx, p[1] + d.dy})
	}
	d.add(m)
}

// picture draws an artwork in the middle of its place, as large as its shape
// allows.
func (d *drawing) picture(x, y, w, h float64, a *artwork, m mark) {
	m.kind, m.art = pictureMark, a
	if a.outlines != nil {
		m.kind = outlinesMark
	}
	wide := a.ratio
	if m.turned {
		wide = 1 / wide
	}
	m.w, m.h = min(w, h*wide), min(h, w/wide)
	m.x, m.y = x+(w-m.w)/2, y+(h-m.h)/2
	d.add(m)
}

// band is a light ground for words on a picture, around its middle.
func (d *drawing) band(cx, cy, w, h float64, turned bool) {
	if turned {
		w, h = h, w
	}
	d.box(cx-w/2, cy-h/2, w, h, mark{fill: [3]int{255, 255, 255}, filled: true, light: true})
}

// meanAdvance is about how wide a letter of the embedded font is, in ems.
const meanAdvance = 0.56

func textWidth(lines []string, size float64) float64 {
	n := 0
	for _, s := range lines {
		n = max(n, utf8.RuneCountInString(s))
	}
	return float64(n) * size * mmPerPoint * meanAdvance
}

// fitText returns the greatest size in points at which lines fit a box, at most 11
// in small boxes and somewhat more in large ones.
func fitText(lines []string, w, h float64) float64 {
	most := max(11, min(24, min(w, h)*0.12/mmPerPoint/2))
	size := min(most, h/(1.25*mmPerPoint*float64(len(lines))))
	if wide := textWidth(lines, size); wide > w {
		size *= w / wide
	}
	return size
}
