// Package lettering sets the names that garments carry: one line of bold letters as
// outlines, with its true measures, from fonts that are part of the program, so that
// a name comes out alike on every machine.
package lettering

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"github.com/go-text/typesetting/di"
	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/font/opentype"
	"github.com/go-text/typesetting/language"
	"github.com/go-text/typesetting/shaping"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"
)

// Line is a text set in one line. Its measures are those of the ink, in heights of
// its capital letters: a Width of 4 is four times as wide as a capital is high.
type Line struct {
	Text          string
	Width, Height float64
	outlines      []segment
}

// segment is one step of an outline, with y downwards from the top of the ink.
type segment struct {
	op     opentype.SegmentOp
	points []point
}

type point struct{ x, y float64 }

// Missing are letters of a text that the fonts do not have.
type Missing struct {
	Text    string
	Letters []rune
}

func (m *Missing) Error() string {
	letters := make([]string, len(m.Letters))
	for i, r := range m.Letters {
		letters[i] = string(r)
	}
	return fmt.Sprintf("the letters %s of %q are not in the fonts for names (Latin, Greek, Cyrillic, Hebrew)",
		strings.Join(letters, " "), m.Text)
}

// emUnits is the size in which text is shaped, large enough that rounding to a 64th
// of a unit is not seen.
const emUnits = 1000

// faces are looked up in turn for each letter: first the font of the papers, then one that has
// Hebrew and rarer accents.
type faces []*font.Face

var opened = sync.OnceValue(func() faces {
	var out faces
	for _, data := range [][]byte{gobold.TTF, liberationsansbold.TTF} {
		face, err := font.ParseTTF(bytes.NewReader(data))
		if err != nil {
			panic("an embedded font is broken: " + err.Error())
		}
		out = append(out, face)
	}
	return out
})

// ResolveFace returns the face for a letter; shaping asks for it.
func (f faces) ResolveFace(r rune) *font.Face {
	for _, face := range f {
		if _, ok := face.NominalGlyph(r); ok {
			return face
		}
	}
	return f[0]
}

func (f faces) has(r rune) bool {
	return slices.ContainsFunc(f, func(face *font.Face) bool { _, ok := face.NominalGlyph(r); return ok })
}

// set holds what was set before: a round asks for the same names many times.
var set sync.Map // text to *Line

// mostKept bounds what is held; beyond it the store is begun anew.
const mostKept = 20000

var kept struct {
	sync.Mutex
	n int
}

// Normal returns a text as Set takes it: accents composed with their letters (Unicode's
// annex 15, form C), single blanks between words.
func Normal(text string) string { return strings.Join(strings.Fields(norm.NFC.String(text)), " ") }

// Set returns a text in one line. The error is *Missing, or says that there is nothing
// to see in it.
func Set(text string) (*Line, error) {
	if l, ok := set.Load(text); ok {
		return l.(*Line), nil
	}
	l, err := newLine(text)
	if err != nil {
		return nil, err
	}
	kept.Lock()
	defer kept.Unlock()
	if kept.n++; kept.n > mostKept {
		set.Clear()
		kept.n = 1
	}
	set.Store(text, l)
	return l, nil
}

func newLine(text string) (*Line, error) {
	f := opened()
	missing := &Missing{Text: text}
	for _, r := range text {
		if !f.has(r) && !slices.Contains(missing.Letters, r) {
			missing.Letters = append(missing.Letters, r)
		}
	}
	if len(missing.Letters) > 0 {
		return nil, missing
	}
	l := &Line{Text: text}
	if !strings.ContainsFunc(text, unicode.IsLetter) {
		return nil, fmt.Errorf("%q has no letter", text)
	}
	l.outline(f.shape([]rune(text)))
	return l, nil
}

// shape orders and places the glyphs of a line; right-to-left parts are turned as
// Unicode's annex 9 says.
func (f faces) shape(text []rune) []shaping.Output {
	in := shaping.Input{
		Text: text, RunEnd: len(text), Direction: di.DirectionLTR, Size: fixed.I(emUnits),
		Language: language.DefaultLanguage(),
	}
	var (
		segments shaping.Segmenter
		shaper   shaping.HarfbuzzShaper
		wrapper  shaping.LineWrapper
	)
	var runs []shaping.Output
	for _, run := range segments.Split(in, f) {
		runs = append(runs, shaper.Shape(run))
	}
	lines, _ := wrapper.WrapParagraphF(shaping.WrapConfig{}, fixed.Int26_6(math.MaxInt32/2), text,
		shaping.NewSliceIterator(runs))
	if len(lines) == 0 {
		return nil
	}
	out := slices.Clone(lines[0])
	slices.SortStableFunc(out, func(a, b shaping.Output) int { return int(a.VisualIndex - b.VisualIndex) })
	return out
}

// outline takes over the outlines of the glyphs, measures their ink and counts in
// heights of a capital from its upper left corner.
func (l *Line) outline(runs []shaping.Output) {
	x := 0.0
	for i := range runs {
		run := &runs[i]
		k := float64(emUnits) / float64(run.Face.Upem())
		for j := range run.Glyphs {
			g := &run.Glyphs[j]
			if outline, ok := run.Face.GlyphData(g.GlyphID).(font.GlyphOutline); ok {
				l.glyph(outline, x+float64(g.XOffset)/64, float64(g.YOffset)/64, k)
			}
			x += float64(g.Advance) / 64
		}
	}
	low, high := point{math.Inf(1), math.Inf(1)}, point{math.Inf(-1), math.Inf(-1)}
	for _, s := range l.outlines {
		for _, p := range s.points { // control points bound their curves
			low.x, low.y = min(low.x, p.x), min(low.y, p.y)
			high.x, high.y = max(high.x, p.x), max(high.y, p.y)
		}
	}
	capital := capitalHeight()
	for _, s := range l.outlines {
		for i, p := range s.points {
			s.points[i] = point{(p.x - low.x) / capital, (high.y - p.y) / capital}
		}
	}
	l.Width, l.Height = (high.x-low.x)/capital, (high.y-low.y)/capital
}

func (l *Line) glyph(outline font.GlyphOutline, x, y, k float64) {
	for _, s := range outline.Segments {
		step := segment{op: s.Op}
		for _, p := range s.ArgsSlice() {
			step.points = append(step.points, point{x + k*float64(p.X), y + k*float64(p.Y)})
		}
		l.outlines = append(l.outlines, step)
	}
}

// capitalHeight is the height of an H of the first face in units of shaping.
var capitalHeight = sync.OnceValue(func() float64 {
	face := opened()[0]
	glyph, _ := face.NominalGlyph('H')
	ext, _ := face.GlyphExtents(glyph)
	return float64(math.Abs(float64(ext.Height))) * emUnits / float64(face.Upem())
})

// hundredths is the number of units of an SVG picture to the height of a capital.
const hundredths = 100

// SVG returns the line as a picture of filled outlines in a colour (#rrggbb).
func (l *Line) SVG(colour string) []byte {
	var path strings.Builder
	open := false
	for _, s := range l.outlines {
		if s.op == opentype.SegmentOpMoveTo && open {
			path.WriteString("Z")
		}
		open = true
		path.WriteByte("MLQC"[s.op])
		for i, p := range s.points {
			if i > 0 {
				path.WriteByte(' ')
			}
			path.WriteString(num(p.x) + " " + num(p.y))
		}
	}
	if open {
		path.WriteString("Z")
	}
	return fmt.Appendf(nil,
		`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s"><path fill="%s" d="%s"/></svg>`+"\n",
		num(l.Width), num(l.Height), colour, path.String())
}

func num(v float64) string {
	s := strconv.FormatFloat(v*hundredths, 'f', 2, 64)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".")
}
