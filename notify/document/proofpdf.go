package document

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"

	"github.com/go-pdf/fpdf"
)

// PDF draws the proof at true scale, one page a layout or piece of roll. The
// warnings name pictures that could not be used and characters not shown.
func (p *Proof) PDF() ([]byte, []string, error) {
	pages := p.pages()
	if len(pages) == 0 {
		return nil, nil, fmt.Errorf("draw the proof: the order has no layouts")
	}
	first := fpdf.SizeType{Wd: pages[0].width, Ht: pages[0].height}
	doc := proofPDF{paper: newPaper(p.Head, "Proof, "+p.Ref, first)}
	for i := range pages {
		doc.draw(&pages[i])
	}
	b, warnings, err := doc.finish("The proof", "")
	return b, append(doc.spoilt, warnings...), err
}

type proofPDF struct {
	*paper
	spoilt []string
}

func (p *proofPDF) draw(d *drawing) {
	p.AddPageFormat("P", fpdf.SizeType{Wd: d.width, Ht: d.height})
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

// paint is fpdf's word for filling, drawing the outline, or both.
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
		x -= p.GetStringWidth(words) / 2
	}
	if m.turned {
		p.TransformBegin()
		p.TransformRotate(-90, m.x, m.y)
		defer p.TransformEnd()
	}
	p.Text(x, y, words)
}

// image puts a picture into its place, turned clockwise when the place is.
func (p *proofPDF) image(m *mark) {
	kind := strings.ToUpper(strings.TrimPrefix(http.DetectContentType(m.data), "image/"))
	if kind != "PNG" && kind != "JPEG" {
		p.spoilt = append(p.spoilt, fmt.Sprintf("The picture of %s is neither PNG nor JPEG; the proof shows a box instead.", m.words))
		return
	}
	opt := fpdf.ImageOptions{ImageType: kind}
	if p.GetImageInfo(m.words) == nil {
		p.RegisterImageOptionsReader(m.words, opt, bytes.NewReader(m.data))
		if err := p.Error(); err != nil {
			p.ClearError()
			p.spoilt = append(p.spoilt, fmt.Sprintf("The picture of %s cannot be read (%v); the proof shows a box instead.", m.words, err))
			return
		}
	}
	x, y, w, h := m.x, m.y, m.w, m.h
	if m.turned {
		p.TransformBegin()
		p.TransformRotate(-90, x+w/2, y+h/2)
		defer p.TransformEnd()
		x, y, w, h = x+w/2-h/2, y+h/2-w/2, h, w
	}
	p.ImageOptions(m.words, x, y, w, h, false, opt, 0, "")
}
