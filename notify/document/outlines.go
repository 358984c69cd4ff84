package document

import (
	"bytes"
	"fmt"
	"strconv"
	"strings"

	"codeberg.org/go-pdf/fpdf"

	"github.com/kitmuster/kitmuster/notify/vector"
)

// outlines draws an SVG picture into its place. One that covers what it lies
// on is written once and shown as often as it is needed (a form, ISO 32000-1,
// 8.10); see-through colours do not reach into forms with this library, so
// those pictures are written each time.
func (p *proofPDF) outlines(m *mark) {
	pic := m.art.outlines
	x, y, w, h := m.upright()
	p.turned(m, func() {
		if !pic.Opaque() {
			p.TransformBegin()
			_, page := p.GetPageSize()
			p.RawWriteStr(placed(pic, x, page-y, w))
			p.RawWriteStr("0 0 " + num(pic.Width) + " " + num(pic.Height) + " re W n")
			drawOutlines(p.Fpdf, pic)
			p.TransformEnd()
			return
		}
		shown, known := p.forms[m.art]
		if !known {
			shown = namedForm(p.CreateTemplateCustom(fpdf.PointType{}, fpdf.SizeType{Wd: w, Ht: h}, func(t *fpdf.Tpl) {
				t.RawWriteStr("q " + placed(pic, 0, h, w))
				drawOutlines(&t.Fpdf, pic)
				t.RawWriteStr("Q")
			}))
			p.forms[m.art] = shown
		}
		p.UseTemplateScaled(shown, fpdf.PointType{X: x, Y: y}, fpdf.SizeType{Wd: w, Ht: h})
	})
}

// form is a template whose name, a checksum, is worked out once instead of at
// every use.
type form struct {
	fpdf.Template
	id string
}

func namedForm(t fpdf.Template) fpdf.Template { return form{t, t.ID()} }

func (f form) ID() string { return f.id }

// placed makes the picture's units so many millimetres wide in all, with its
// top left corner there; PDF measures in points from the bottom of the page.
func placed(pic *vector.Picture, x, up, w float64) string {
	k := strconv.FormatFloat(w/mmPerPoint/pic.Width, 'f', 8, 64)
	return fmt.Sprintf("%s 0 0 -%s %s %s cm", k, k, num(x/mmPerPoint), num(up/mmPerPoint))
}

// drawOutlines writes the shapes in the picture's own units, as PDF's
// operators (ISO 32000-1, 8.5).
func drawOutlines(f *fpdf.Fpdf, pic *vector.Picture) {
	for i := range pic.Shapes {
		s := &pic.Shapes[i]
		f.RawWriteStr("q")
		for _, c := range s.Clips {
			f.RawWriteStr(pdfPath(c.Path) + either(c.EvenOdd, "W* n", "W n"))
		}
		outline := pdfPath(s.Path)
		if s.Fill != nil {
			f.RawWriteStr(pdfInk(s.Fill, "rg"))
			covering(f, s.Fill, outline+either(s.EvenOdd, "f*", "f"))
		}
		if s.Stroke != nil {
			f.RawWriteStr(pdfInk(&s.Stroke.Ink, "RG") + pdfStroke(s.Stroke))
			covering(f, &s.Stroke.Ink, outline+"S")
		}
		f.RawWriteStr("Q")
	}
}

// covering draws with an ink, see-through where it is.
func covering(f *fpdf.Fpdf, ink *vector.Ink, operators string) {
	if ink.Opacity < 1 {
		f.SetAlpha(ink.Opacity, "Normal")
		defer f.SetAlpha(1, "Normal")
	}
	f.RawWriteStr(operators)
}

func either(first bool, a, b string) string {
	if first {
		return a
	}
	return b
}

func pdfPath(steps []vector.Step) string {
	var b strings.Builder
	point := func(p vector.Point) { b.WriteString(num(p.X) + " " + num(p.Y) + " ") }
	for _, s := range steps {
		switch s.Op {
		case 'M', 'L':
			point(s.To[0])
			b.WriteString(either(s.Op == 'M', "m ", "l "))
		case 'C':
			for _, p := range s.To {
				point(p)
			}
			b.WriteString("c ")
		case 'Z':
			b.WriteString("h ")
		}
	}
	return b.String()
}

func pdfInk(ink *vector.Ink, operator string) string {
	var b strings.Builder
	for _, v := range ink.RGB {
		b.WriteString(num(float64(v)/255) + " ")
	}
	return b.String() + operator
}

func pdfStroke(s *vector.Stroke) string {
	return fmt.Sprintf(" %s w %d J %d j %s M [%s] %s d", num(s.Width), s.Cap, s.Join, num(s.MiterLimit), dashes(s),
		num(s.DashOffset))
}

func dashes(s *vector.Stroke) string {
	parts := make([]string, len(s.Dash))
	for i, v := range s.Dash {
		parts[i] = num(v)
	}
	return strings.Join(parts, " ")
}

// num writes a number to a thousandth of a unit: a millionth of a picture.
func num(v float64) string {
	s := strconv.FormatFloat(v, 'f', 3, 64)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}

// svgArtworks writes every SVG picture of the page once, for use in its places.
func (d *drawing) svgArtworks(b *bytes.Buffer) {
	seen := map[*artwork]bool{}
	for i := range d.marks {
		a := d.marks[i].art
		if d.marks[i].kind != outlinesMark || seen[a] {
			continue
		}
		seen[a] = true
		d.marks[i].svgArtwork(b)
	}
}

func (m *mark) svgArtwork(b *bytes.Buffer) {
	pic := m.art.outlines
	fmt.Fprintf(b, `<symbol id="%s" viewBox="0 0 %s %s">`+"\n%s</symbol>\n", m.svgID(), num(pic.Width), num(pic.Height),
		pic.Markup(m.svgID()))
}

// svgID names an artwork by the letters of its code that an id may have.
func (m *mark) svgID() string { return fmt.Sprintf("art-%x", m.art.code) }

func (m *mark) svgUse(b *bytes.Buffer) {
	x, y, w, h := m.upright()
	fmt.Fprintf(b, `<use href="#%s" x="%.3f" y="%.3f" width="%.3f" height="%.3f"%s/>`, m.svgID(), x, y, w, h,
		m.svgTurn())
}
