// Package clean makes text that people typed harmless before it is kept, put into
// a mail or a file, or shown. Lists are written by strangers: a name may carry
// line breaks, marks that turn the direction of reading, or the beginning of a
// spreadsheet formula.
package clean

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// asciiLetters writes letters as they are written where only ASCII is at hand; others lose their accents.
var asciiLetters = strings.NewReplacer("ä", "ae", "ö", "oe", "ü", "ue", "Ä", "Ae", "Ö", "Oe", "Ü", "Ue", "ß", "ss",
	"æ", "ae", "Æ", "Ae", "œ", "oe", "Œ", "Oe", "ø", "o", "Ø", "O", "ł", "l", "Ł", "L")

// LongestText is the number of characters after which a name is cut in
// anything with a layout; lists and spreadsheets keep it whole.
const LongestText = 80

// Line returns s as one line: every control character, line break and mark of
// reading direction is a space, runs of spaces are one, and none is at an end.
// Signs without width (such as a soft hyphen) are dropped, so that a word with one is the
// word without. Letters of any script and emoji stay.
func Line(s string) string {
	if isLine(s) {
		return s
	}
	return strings.Join(strings.Fields(strings.Map(onLine, strings.ToValidUTF8(s, "\uFFFD"))), " ")
}

// isLine reports at little cost that plain ASCII is a line already.
func isLine(s string) bool {
	space := true
	for i := range len(s) {
		c := s[i]
		if c >= 0x7F || c < ' ' || c == ' ' && space {
			return false
		}
		space = c == ' '
	}
	return !space || s == ""
}

func onLine(r rune) rune {
	switch {
	case r == '\u200d' || r == '\ufe0f': // these join emoji and letters of some scripts
		return r
	case r == '\u200b', r == '\ufeff', r == '\u00ad', r == '\u200e', r == '\u200f':
		return -1
	case unicode.IsControl(r), unicode.Is(unicode.Cf, r), r == '\u2028', r == '\u2029':
		return ' '
	}
	return r
}

// Short returns Line of s, cut after LongestText characters.
func Short(s string) string { return Cut(Line(s), LongestText) }

// Sentence returns s with a capital letter at its beginning, where it begins with one of ASCII.
func Sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// Cut returns s with at most that many characters; the last is an ellipsis where any are left out.
func Cut(s string, most int) string {
	if len(s) <= most {
		return s
	}
	if r := []rune(s); len(r) > most {
		return strings.TrimSpace(string(r[:most-1])) + "…"
	}
	return s
}

// Shown returns s as an error shows what was read, cut after that many characters: breaks of lines
// are spaces, and each other sign that nobody could see stands as U+FFFD, since it
// may be what is wrong.
func Shown(s string, most int) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n', r == '\r', r == '\t':
			return ' '
		case !unicode.IsPrint(r):
			return '\uFFFD'
		}
		return r
	}, Cut(strings.ToValidUTF8(s, "\uFFFD"), most))
}

// FileName returns s as a part of a file name: letters and digits of ASCII, those with
// accents without them, the rest as single hyphens, at most 60 characters, never empty.
func FileName(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Mn, r) {
			return -1
		}
		return r
	}, norm.NFD.String(asciiLetters.Replace(norm.NFC.String(s))))
	parts := strings.FieldsFunc(s, func(r rune) bool {
		return r > unicode.MaxASCII || !unicode.IsLetter(r) && !unicode.IsDigit(r)
	})
	s = strings.ToLower(strings.Join(parts, "-"))
	if len(s) > 60 {
		s = strings.Trim(s[:60], "-")
	}
	if s == "" {
		return "unnamed"
	}
	return s
}

// Cell returns what a cell of a list holds, without what a spreadsheet or payroll
// program put around it: spaces of every kind, signs without width, ="0042" and
// the '0042 that keeps a number text.
func Cell(s string) string {
	s = trim(s)
	if len(s) >= 3 && s[0] == '=' && s[1] == '"' && s[len(s)-1] == '"' {
		s = trim(s[2 : len(s)-1])
	}
	if strings.HasPrefix(s, "'") && guarded(s) {
		s = s[1:]
	}
	return s
}

func trim(s string) string {
	if s == "" || s[0] > ' ' && s[0] < utf8.RuneSelf && s[len(s)-1] > ' ' && s[len(s)-1] < utf8.RuneSelf {
		return s
	}
	return strings.TrimFunc(s,
		func(r rune) bool { return unicode.IsSpace(r) || unicode.Is(unicode.Cf, r) || unicode.IsControl(r) })
}

// formulaSigns begin a cell that a spreadsheet takes for a formula, in letters
// of full width too (OWASP, "CSV Injection").
const formulaSigns = "=+-@＝＋－＠"

// Guard puts an apostrophe in front of a cell that a spreadsheet would run as a
// formula, which makes it text; Cell takes it off again. One that stands there
// already is guarded too, so that a cell comes back as it was.
func Guard(cell string) string {
	if begins(cell, formulaSigns) || strings.HasPrefix(cell, "'") && guarded(cell) {
		return "'" + cell
	}
	return cell
}

// guarded reports whether what follows the apostrophes of a cell is what people
// and programs guard with one: a formula or a number.
func guarded(cell string) bool {
	return begins(strings.TrimLeft(cell, "'"), formulaSigns+"0123456789")
}

func begins(s, signs string) bool {
	first, _ := utf8.DecodeRuneInString(s)
	return s != "" && strings.ContainsRune(signs, first)
}
