package document

import (
	"bytes"
	"encoding/base64"
	"encoding/xml"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/programme/clean"
)

// SVG draws the proof at true scale, one picture a page, with millimetres as
// its unit (SVG 1.1, section 7.10 fixes their size). The warnings are those of
// [Proof.PDF] about pictures.
func (p *Proof) SVG() (pages [][]byte, warnings []string) {
	for _, d := range p.pages() {
		pages = append(pages, d.svg())
	}
	return pages, slices.Clone(p.spoilt)
}

func (d *drawing) svg() []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s" font-family="sans-serif">`+"\n",
		mm(d.width), mm(d.height), mm(d.width), mm(d.height))
	fmt.Fprintf(&b, `<rect width="%s" height="%s" fill="white"/>`+"\n", mm(d.width), mm(d.height))
	d.svgArtworks(&b)
	for i := range d.marks {
		d.marks[i].svg(&b)
	}
	b.WriteString("</svg>\n")
	return b.Bytes()
}

// mm writes a length with micrometres as its last place.
func mm(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func (m *mark) svg(b *bytes.Buffer) {
	switch m.kind {
	case boxMark:
		fmt.Fprintf(b, `<rect x="%.3f" y="%.3f" width="%.3f" height="%.3f"%s/>`, m.x, m.y, m.w, m.h, m.svgStyle())
	case lineMark:
		fmt.Fprintf(b, `<line x1="%.3f" y1="%.3f" x2="%.3f" y2="%.3f"%s/>`, m.x, m.y, m.x+m.w, m.y+m.h, m.svgStyle())
	case polygonMark:
		b.WriteString(`<polygon points="`)
		for _, p := range m.points {
			fmt.Fprintf(b, "%.3f,%.3f ", p[0], p[1])
		}
		fmt.Fprintf(b, `"%s/>`, m.svgStyle())
	case textMark:
		m.svgText(b)
	case pictureMark:
		m.svgPicture(b)
	case outlinesMark:
		m.svgUse(b)
	}
	b.WriteByte('\n')
}

func (m *mark) svgStyle() string {
	s := ` fill="none"`
	if m.filled {
		s = fmt.Sprintf(` fill="%s"`, hex(m.fill))
	}
	if m.light {
		s += ` fill-opacity="0.75"`
	}
	if m.line > 0 {
		s += fmt.Sprintf(` stroke="%s" stroke-width="%.2f"`, hex(m.stroke), m.line)
	}
	if m.dashed {
		s += ` stroke-dasharray="2 1.2"`
	}
	return s
}

func hex(c [3]int) string { return fmt.Sprintf("#%02x%02x%02x", c[0], c[1], c[2]) }

func (m *mark) svgText(b *bytes.Buffer) {
	fmt.Fprintf(b, `<text x="%.3f" y="%.3f" font-size="%.3f" fill="%s"`, m.x, m.y+m.size*mmPerPoint*0.35,
		m.size*mmPerPoint, hex(m.ink))
	if m.bold {
		b.WriteString(` font-weight="bold"`)
	}
	if m.centred {
		b.WriteString(` text-anchor="middle"`)
	}
	if m.turned {
		fmt.Fprintf(b, ` transform="rotate(90 %.3f %.3f)"`, m.x, m.y)
	}
	b.WriteByte('>')
	_ = xml.EscapeText(b, []byte(clean.Line(m.words))) // a buffer takes every write
	b.WriteString(`</text>`)
}

func (m *mark) svgPicture(b *bytes.Buffer) {
	x, y, w, h := m.upright()
	fmt.Fprintf(b, `<image x="%.3f" y="%.3f" width="%.3f" height="%.3f" preserveAspectRatio="none"%s href="data:image/%s;base64,%s"/>`,
		x, y, w, h, m.svgTurn(), strings.ToLower(m.art.kind), base64.StdEncoding.EncodeToString(m.art.data))
}

func (m *mark) svgTurn() string {
	if !m.turned {
		return ""
	}
	return fmt.Sprintf(` transform="rotate(90 %.3f %.3f)"`, m.x+m.w/2, m.y+m.h/2)
}
