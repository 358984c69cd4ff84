package document

import (
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"

	"github.com/kitmuster/kitmuster/notify/typeface"
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

// lettering turns text into what the fonts can show and remembers what they
// cannot: fpdf stops at characters above U+FFFF and draws nothing for others.
type lettering struct {
	fonts   string // the folder of further fonts; empty: this machine's
	buf     sfnt.Buffer
	missing map[rune]bool
}

func newLettering(fonts string) lettering { return lettering{fonts: fonts, missing: map[rune]bool{}} }

// embedded reports whether the embedded font has a character.
func (l *lettering) embedded(r rune) bool {
	if r > 0xFFFF {
		return false
	}
	g, err := fontOnce().GlyphIndex(&l.buf, r)
	return err == nil && g != 0
}

// plain reports whether the embedded font alone can show a line.
func (l *lettering) plain(s string) bool {
	return !strings.ContainsFunc(s, func(r rune) bool { return !l.embedded(r) })
}

// text returns one line with a box for each character that no font has.
// Joiners stay between letters that shaping may join.
func (l *lettering) text(s string) string {
	joins := false
	return strings.Map(func(r rune) rune {
		const nonJoiner, joiner, asPicture = '\u200c', '\u200d', '\ufe0f'
		switch {
		case r == nonJoiner || r == joiner:
			if !joins {
				return -1
			}
			return r
		case r == asPicture:
			return -1
		case l.embedded(r):
			joins = false
			return r
		case typeface.Of(l.fonts).Shows(r):
			joins = unicode.IsLetter(r) || unicode.IsMark(r)
			return r
		}
		joins = false
		l.missing[r] = true
		return missingGlyph
	}, clean.Line(s))
}

// Shows reports whether the papers can show every character of s.
func (h *Head) Shows(s string) bool {
	l := newLettering(h.Fonts)
	l.text(s)
	return len(l.missing) == 0
}

// warnings says which characters a paper shows as boxes.
func (l *lettering) warnings(paper string) []string {
	if len(l.missing) == 0 {
		return nil
	}
	list := slices.Sorted(maps.Keys(l.missing))
	shown := list[:min(len(list), 12)]
	more := ""
	if n := len(list) - len(shown); n > 0 {
		more = fmt.Sprintf(" and %d more", n)
	}
	return []string{fmt.Sprintf("%s shows a box for characters that no font here has: %s%s. The mail and the lists show them; fonts: in shop.yaml names a folder with fonts that have them.",
		paper, string(shown), more)}
}

var regular, bold = goregular.TTF, gobold.TTF
