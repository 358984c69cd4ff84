package document

import (
	"bytes"
	"fmt"
	"slices"

	"codeberg.org/go-pdf/fpdf"

	"github.com/kitmuster/kitmuster/notify/typeface"
)

// PDF draws the proof at true scale, one page a layout or piece of roll. The
// warnings name pictures that could not be used, or have another shape than
// their artwork, and characters not shown.
func (p *Proof) PDF() ([]byte, []string, error) {
	pages := p.pages()
	if len(pages) == 0 {
		return nil, nil, fmt.Errorf("draw the proof: the order has no layouts")
	}
	first := fpdf.SizeType{Wd: pages[0].width, Ht: pages[0].height}
	doc := proofPDF{paper: newPaper(p.Head, "Proof, "+p.Ref, first), forms: map[*artwork]fpdf.Template{},
		failed: map[*artwork]error{}}
	for i := range pages {
		doc.draw(&pages[i])
	}
	b, warnings, err := doc.finish("The proof", "")
	return b, slices.Concat(p.spoilt, doc.spoilt, warnings), err
}

type proofPDF struct {
	*paper
	forms  map[*artwork]fpdf.Template // outlines that are written once
	failed map[*artwork]error         // photos that were tried, nil = taken
	spoilt []string
}

func (p *proofPDF) draw(d *drawing) {
	p.AddPageFormat("P", fpdf.SizeType{Wd: d.width, Ht: d.height})
	p.marks(d)
}

// marks draws what is on a drawing onto the page as it is.
func (p *proofPDF) marks(d *drawing) {
	for i := range d.marks {
		m := &d.marks[i]
		p.style(m)
		switch m.kind {
		case boxMark:
			p.boxed(m)
		case lineMark:
			p.Line(m.x, m.y, m.x+m.w, m.y+m.h)
		case polygonMark:
			var points []fpdf.PointType
			for _, q := range m.points {
				points = append(points, fpdf.PointType{X: q[0], Y: q[1]})
			}
			p.Polygon(points, m.paint())
		case textMark:
			p.write(m)
		case pictureMark:
			p.image(m)
		case outlinesMark:
			p.outlines(m)
		}
	}
}

func (p *proofPDF) style(m *mark) {
	p.SetDrawColor(m.stroke[0], m.stroke[1], m.stroke[2])
	p.SetFillColor(m.fill[0], m.fill[1], m.fill[2])
	p.SetLineWidth(m.line)
	if m.dashed {
		p.SetDashPattern([]float64{2, 1.2}, 0)
	} else {
		p.SetDashPattern(nil, 0)
	}
}

// paint returns fpdf's word for filling, drawing the outline, or both.
func (m *mark) paint() string {
	switch {
	case m.filled && m.line > 0:
		return "FD"
	case m.filled:
		return "F"
	default:
		return "D"
	}
}

func (p *proofPDF) boxed(m *mark) {
	if m.light {
		p.SetAlpha(0.75, "Normal")
		defer p.SetAlpha(1, "Normal")
	}
	p.Rect(m.x, m.y, m.w, m.h, m.paint())
}

func (p *proofPDF) write(m *mark) {
	p.font(m.size, m.bold, m.ink)
	words := p.text(m.words)
	x, y := m.x, m.y+m.size*mmPerPoint*0.35
	if m.centred {
		x -= p.long(words) / 2
	}
	if m.turned {
		p.TransformBegin()
		p.TransformRotate(-90, m.x, m.y)
		defer p.TransformEnd()
	}
	if p.plain(words) {
		p.Text(x, y, words)
		return
	}
	p.glyphs(typeface.Of(p.fonts).Set(words, m.size, m.bold), x, y)
}

// image puts a photo into its place, turned clockwise when the place is.
func (p *proofPDF) image(m *mark) {
	if !p.takes(m.art) {
		p.Rect(m.x, m.y, m.w, m.h, "F")
		return
	}
	x, y, w, h := m.upright()
	p.turned(m, func() {
		p.ImageOptions(m.art.code, x, y, w, h, false, fpdf.ImageOptions{ImageType: m.art.kind}, 0, "")
	})
}

// takes reports whether the library can read a photo, and says once if not.
func (p *proofPDF) takes(a *artwork) bool {
	if _, known := p.failed[a]; !known {
		if p.failed[a] = p.take(a); p.failed[a] != nil {
			p.spoilt = append(p.spoilt, undrawn(a.code, p.failed[a]))
		}
	}
	return p.failed[a] == nil
}

// take hands a photo to the library. Anybody may have made its file: a panic
// of the library is an error as any other.
func (p *proofPDF) take(a *artwork) (err error) {
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("it is broken: %v", r)
		}
	}()
	p.RegisterImageOptionsReader(a.code, fpdf.ImageOptions{ImageType: a.kind}, bytes.NewReader(a.data))
	if err := p.Error(); err != nil {
		p.ClearError()
		return fmt.Errorf("it is broken: %w", err)
	}
	return nil
}

// turned draws what stands upright, a quarter turn clockwise when the mark is.
func (p *proofPDF) turned(m *mark, draw func()) {
	if m.turned {
		p.TransformBegin()
		p.TransformRotate(-90, m.x+m.w/2, m.y+m.h/2)
		defer p.TransformEnd()
	}
	draw()
}

// upright returns the place of a mark before its turn, with the same middle.
func (m *mark) upright() (x, y, w, h float64) {
	if !m.turned {
		return m.x, m.y, m.w, m.h
	}
	return m.x + m.w/2 - m.h/2, m.y + m.h/2 - m.w/2, m.h, m.w
}
