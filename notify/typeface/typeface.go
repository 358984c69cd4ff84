// Package typeface shapes lines of text with letters that the embedded font of
// the papers lacks: right-to-left and joined scripts, Chinese, Devanagari. It
// finds the fonts, orders and joins the glyphs, breaks lines, and gives their
// outlines, since the PDF library knows no shaping.
package typeface

import (
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"log"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"unicode"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"github.com/go-text/typesetting/di"
	"github.com/go-text/typesetting/font"
	"github.com/go-text/typesetting/font/opentype"
	"github.com/go-text/typesetting/fontscan"
	"github.com/go-text/typesetting/language"
	"github.com/go-text/typesetting/shaping"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/math/fixed"
)

// Faces is a list of fonts in which each letter is looked up in turn: the
// embedded font first, then Liberation Sans (Hebrew), which charts bring along,
// then the font files of a folder or of this machine. It may be used by several
// goroutines at once.
type Faces struct {
	mu       sync.Mutex
	embedded [2][]*font.Face // regular and bold
	found    *fontscan.FontMap
	bold     bool
	known    map[rune]bool
	segments shaping.Segmenter
	shaper   shaping.HarfbuzzShaper
	wrapper  shaping.LineWrapper
}

// Of returns the faces of a folder, or of this machine when it is empty.
// Folders are read once, and only when a paper has letters that need them.
func Of(folder string) *Faces {
	once, _ := openedFaces.LoadOrStore(folder, sync.OnceValue(func() *Faces { return openFaces(folder) }))
	return once.(func() *Faces)()
}

// mmPerPoint is the size of a typographic point.
const mmPerPoint = 25.4 / 72

var openedFaces sync.Map // folder to func() *Faces

func openFaces(folder string) *Faces {
	f := &Faces{known: map[rune]bool{}, found: fontscan.NewFontMap(log.New(io.Discard, "", 0))}
	for i, files := range [2][][]byte{{goregular.TTF, liberationsansregular.TTF},
		{gobold.TTF, liberationsansbold.TTF}} {
		for _, data := range files {
			face, err := font.ParseTTF(bytes.NewReader(data))
			if err != nil {
				panic("an embedded font is broken: " + err.Error())
			}
			f.embedded[i] = append(f.embedded[i], face)
		}
	}
	if folder == "" {
		f.addMachine()
	} else {
		_ = f.addFolder(folder) // a folder that cannot be read is an error of check, and boxes on papers
	}
	return f
}

// addMachine adds the fonts where this system keeps them. The library keeps an
// index of what it saw in a folder: one that is gone at the end, since a
// program that prints a paper should leave nothing else behind.
func (f *Faces) addMachine() {
	index, err := os.MkdirTemp("", "kitmuster-fonts-")
	if err != nil {
		return
	}
	defer func() { _ = os.RemoveAll(index) }()
	_ = f.found.UseSystemFonts(index) // without fonts the embedded ones remain
}

// mostFontFile is the largest font file that is read, in bytes: the fonts of
// all Chinese, Japanese and Korean letters together take 20 MB.
const mostFontFile = 64 << 20

// addFolder adds every font file below a folder, in the order of their names.
func (f *Faces) addFolder(folder string) error {
	added := 0
	err := filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil || !d.Type().IsRegular() || !slices.Contains([]string{".ttf", ".otf", ".ttc"},
			strings.ToLower(filepath.Ext(path))) {
			return err
		}
		if info, err := d.Info(); err != nil || info.Size() > mostFontFile {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if f.found.AddFont(bytes.NewReader(data), path, "") == nil {
			added++
		}
		return nil
	})
	if err == nil && added == 0 {
		err = fmt.Errorf("%s holds no font file that can be read (.ttf, .otf or .ttc)", folder)
	}
	return err
}

// CheckFolder reports why a folder named by `fonts:` in shop.yaml is of no use.
func CheckFolder(folder string) error {
	f := &Faces{found: fontscan.NewFontMap(log.New(io.Discard, "", 0))}
	return f.addFolder(folder)
}

// ResolveFace returns a face for a letter; shaping asks for it.
func (f *Faces) ResolveFace(r rune) *font.Face {
	weight := 0
	if f.bold {
		weight = 1
	}
	for _, face := range f.embedded[weight] {
		if _, ok := face.NominalGlyph(r); ok {
			return face
		}
	}
	if face := f.found.ResolveFace(r); face != nil {
		return face
	}
	return f.embedded[weight][0]
}

// SetScript tells of which script the next letters are; it decides between
// faces that have the same letter.
func (f *Faces) SetScript(s language.Script) { f.found.SetScript(s) }

func (f *Faces) weight(isBold bool) {
	f.bold = isBold
	q := fontscan.Query{Families: []string{"sans-serif"}}
	if isBold {
		q.Aspect.Weight = font.WeightBold
	}
	f.found.SetQuery(q)
}

// Shows reports whether some face has an outline of a letter: coloured
// pictures of faces, hands and flags cannot be drawn.
func (f *Faces) Shows(r rune) bool {
	f.mu.Lock()
	defer f.mu.Unlock()
	if shown, asked := f.known[r]; asked {
		return shown
	}
	f.weight(false)
	f.SetScript(language.LookupScript(r))
	face := f.ResolveFace(r)
	glyph, ok := face.NominalGlyph(r)
	if ok {
		_, ok = face.GlyphData(glyph).(font.GlyphOutline)
	}
	f.known[r] = ok
	return ok
}

// Line is one line of glyphs, in the order in which they stand on paper.
type Line struct {
	Text  string  // what it shows
	Width float64 // mm
	runs  []shaping.Output
}

// shape sets a line in a size of points. The caller holds the lock.
func (f *Faces) shape(text []rune, points float64, isBold bool) []shaping.Output {
	f.weight(isBold)
	in := shaping.Input{
		Text: text, RunEnd: len(text), Direction: di.DirectionLTR, Size: fixed.Int26_6(points * 64),
		Language: language.DefaultLanguage(),
	}
	var out []shaping.Output
	for _, run := range f.segments.Split(in, f) {
		out = append(out, f.shaper.Shape(run))
	}
	return out
}

// Set returns a text as one line in a size of points.
func (f *Faces) Set(s string, points float64, isBold bool) Line {
	if lines := f.Wrap(s, 1e6, points, isBold); len(lines) > 0 {
		return lines[0]
	}
	return Line{}
}

// Wrap breaks a text into lines no wider than a number of millimetres, by the
// rules of Unicode's annex 14, and orders each line's runs by annex 9.
func (f *Faces) Wrap(s string, mm, points float64, isBold bool) []Line {
	f.mu.Lock()
	defer f.mu.Unlock()
	text := []rune(s)
	runs := f.shape(text, points, isBold)
	lines, _ := f.wrapper.WrapParagraphF(shaping.WrapConfig{}, fixed.Int26_6(min(mm/mmPerPoint*64, 1<<30)), text,
		shaping.NewSliceIterator(runs))
	out := make([]Line, 0, len(lines))
	for _, l := range lines {
		from, to := len(text), 0
		var w Line
		for i := range l {
			from, to = min(from, l[i].Runes.Offset), max(to, l[i].Runes.Offset+l[i].Runes.Count)
			w.runs = append(w.runs, l[i])
			w.Width += float64(l[i].Advance) / 64 * mmPerPoint
		}
		slices.SortStableFunc(w.runs, func(a, b shaping.Output) int { return int(a.VisualIndex - b.VisualIndex) })
		w.Text = strings.TrimRightFunc(string(text[from:to]), unicode.IsSpace)
		out = append(out, w)
	}
	return out
}

// Path writes the outlines of a line as PDF operators (ISO 32000-1, 8.5), with
// the start of its baseline there, in points from the lower left corner.
func (f *Faces) Path(s Line, x, y float64) string {
	f.mu.Lock()
	defer f.mu.Unlock()
	var b strings.Builder
	for i := range s.runs {
		run := &s.runs[i]
		k := float64(run.Size) / 64 / float64(run.Face.Upem())
		for j := range run.Glyphs {
			g := &run.Glyphs[j]
			if outline, ok := run.Face.GlyphData(g.GlyphID).(font.GlyphOutline); ok {
				glyphPath(&b, outline, x+float64(g.XOffset)/64, y+float64(g.YOffset)/64, k)
			}
			x += float64(g.Advance) / 64
		}
	}
	return b.String()
}

// glyphPath writes one outline; PDF has cubic curves only, and a quadratic one
// with the control point c is the cubic with two thirds of the way to c.
func glyphPath(b *strings.Builder, outline font.GlyphOutline, x, y, k float64) {
	write := func(operator string, points ...[2]float64) {
		for _, p := range points {
			b.WriteString(num(p[0]) + " " + num(p[1]) + " ")
		}
		b.WriteString(operator + " ")
	}
	at := func(p opentype.SegmentPoint) [2]float64 { return [2]float64{x + k*float64(p.X), y + k*float64(p.Y)} }
	toward := func(from, c [2]float64) [2]float64 {
		return [2]float64{from[0] + (c[0]-from[0])*2/3, from[1] + (c[1]-from[1])*2/3}
	}
	var last [2]float64
	open := false
	for _, s := range outline.Segments {
		p := [3][2]float64{at(s.Args[0]), at(s.Args[1]), at(s.Args[2])}
		switch s.Op {
		case opentype.SegmentOpMoveTo:
			if open {
				write("h")
			}
			open, last = true, p[0]
			write("m", last)
		case opentype.SegmentOpLineTo:
			last = p[0]
			write("l", last)
		case opentype.SegmentOpQuadTo:
			write("c", toward(last, p[0]), toward(p[1], p[0]), p[1])
			last = p[1]
		case opentype.SegmentOpCubeTo:
			write("c", p[0], p[1], p[2])
			last = p[2]
		}
	}
	if open {
		write("h")
	}
}

// num writes a number to a thousandth of a point.
func num(v float64) string {
	return strings.TrimSuffix(strings.TrimRight(strconv.FormatFloat(v, 'f', 3, 64), "0"), ".")
}
