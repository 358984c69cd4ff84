package vector

import (
	"fmt"
	"strconv"
	"strings"
)

// Markup writes the shapes as SVG elements for a view box of 0 0 Width Height;
// id begins the ids that clipping needs. [Read] makes the same shapes of it.
func (p *Picture) Markup(id string) string {
	var b strings.Builder
	for i := range p.Shapes {
		s := &p.Shapes[i]
		for j, c := range s.Clips {
			fmt.Fprintf(&b, `<clipPath id="%s-%d-%d"><path d="%s" clip-rule="%s"/></clipPath><g clip-path="url(#%[1]s-%[2]d-%[3]d)">`,
				id, i, j, markupPath(c.Path), ruleName(c.EvenOdd))
		}
		fmt.Fprintf(&b, `<path d="%s" fill-rule="%s"%s/>`, markupPath(s.Path), ruleName(s.EvenOdd), s.markupInks())
		b.WriteString(strings.Repeat("</g>", len(s.Clips)) + "\n")
	}
	return b.String()
}

func ruleName(evenOdd bool) string {
	if evenOdd {
		return "evenodd"
	}
	return "nonzero"
}

func (s *Shape) markupInks() string {
	out := ` fill="none"`
	if f := s.Fill; f != nil {
		out = fmt.Sprintf(` fill="#%x" fill-opacity="%s"`, f.RGB[:], markupNumber(f.Opacity))
	}
	l := s.Stroke
	if l == nil {
		return out
	}
	out += fmt.Sprintf(` stroke="#%x" stroke-opacity="%s" stroke-width="%s" stroke-linecap="%s" stroke-linejoin="%s" stroke-miterlimit="%s"`,
		l.Ink.RGB[:], markupNumber(l.Ink.Opacity), markupNumber(l.Width), caps[l.Cap], joins[l.Join],
		markupNumber(l.MiterLimit))
	if l.Dash != nil {
		parts := make([]string, len(l.Dash))
		for i, v := range l.Dash {
			parts[i] = markupNumber(v)
		}
		out += fmt.Sprintf(` stroke-dasharray="%s" stroke-dashoffset="%s"`, strings.Join(parts, " "),
			markupNumber(l.DashOffset))
	}
	return out
}

func markupPath(steps []Step) string {
	var b strings.Builder
	for _, s := range steps {
		b.WriteByte(s.Op)
		for _, p := range s.points() {
			b.WriteString(markupNumber(p.X) + " " + markupNumber(p.Y) + " ")
		}
	}
	return strings.TrimSpace(b.String())
}

// points returns the points that the step uses.
func (s *Step) points() []Point { return s.To[:map[byte]int{'M': 1, 'L': 1, 'C': 3}[s.Op]] }

// markupNumber writes a number to a ten thousandth: a ten millionth of a picture.
func markupNumber(v float64) string {
	s := strconv.FormatFloat(v, 'f', 4, 64)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}
