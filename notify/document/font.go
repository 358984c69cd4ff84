package document

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"

	"github.com/kitmuster/kitmuster/programme/clean"
)

// missingGlyph stands for a character that the font of the papers lacks.
const missingGlyph = '□'

var fontOnce = sync.OnceValue(func() *sfnt.Font {
	f, err := sfnt.Parse(goregular.TTF)
	if err != nil {
		panic("the embedded font is broken: " + err.Error())
	}
	return f
})

// lettering turns text into what the embedded font can show and remembers what
// it cannot: fpdf stops at characters above U+FFFF and draws nothing for others.
type lettering struct {
	buf     sfnt.Buffer
	missing map[rune]bool
}

// text returns one line with a box for each character that the font lacks.
func (l *lettering) text(s string) string {
	return strings.Map(func(r rune) rune {
		if r == '\u200d' || r == '\ufe0f' {
			return -1
		}
		if r <= 0xFFFF {
			if g, err := fontOnce().GlyphIndex(&l.buf, r); err == nil && g != 0 {
				return r
			}
		}
		l.missing[r] = true
		return missingGlyph
	}, clean.Line(s))
}

// Shows reports whether the papers can show every character of s.
func Shows(s string) bool {
	l := lettering{missing: map[rune]bool{}}
	l.text(s)
	return len(l.missing) == 0
}

// warnings says which characters a paper shows as boxes.
func (l *lettering) warnings(paper string) []string {
	if len(l.missing) == 0 {
		return nil
	}
	var list []rune
	for r := range l.missing {
		list = append(list, r)
	}
	slices.Sort(list)
	shown := list[:min(len(list), 12)]
	more := ""
	if n := len(list) - len(shown); n > 0 {
		more = fmt.Sprintf(" and %d more", n)
	}
	return []string{fmt.Sprintf("%s shows a box for characters that its font lacks: %s%s. The mail and the lists show them.", paper, string(shown), more)}
}

var regular, bold = goregular.TTF, gobold.TTF
