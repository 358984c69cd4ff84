package table

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// clean takes off a cell what a spreadsheet or payroll program put around it:
// spaces of every kind, signs without width, ="0042" and the '0042 that keeps
// a number text.
func clean(s string) string {
	s = trim(s)
	if len(s) >= 3 && s[0] == '=' && s[1] == '"' && s[len(s)-1] == '"' {
		s = trim(s[2 : len(s)-1])
	}
	if strings.HasPrefix(s, "'") && guarded(s) {
		s = s[1:]
	}
	return s
}

// guarded reports whether what follows the apostrophes of a cell is what people
// and programs guard with one: a formula or a number.
func guarded(s string) bool {
	first, _ := utf8.DecodeRuneInString(strings.TrimLeft(s, "'"))
	return strings.ContainsRune(formulaSigns+"0123456789", first)
}

// formulaSigns are what a spreadsheet takes a cell for a formula by.
const formulaSigns = "=+-@＝＋－＠"

func trim(s string) string {
	if s == "" || s[0] > ' ' && s[0] < utf8.RuneSelf && s[len(s)-1] > ' ' && s[len(s)-1] < utf8.RuneSelf {
		return s
	}
	return strings.TrimFunc(s, unseen)
}

func unseen(r rune) bool {
	return unicode.IsSpace(r) || unicode.Is(unicode.Cf, r) || unicode.IsControl(r)
}

// Words joins the words of a text with single spaces and drops signs without
// width, so that a name broken over two lines is one name.
func Words(s string) string {
	if plainWords(s) {
		return s
	}
	fields := strings.FieldsFunc(s, func(r rune) bool { return unicode.IsSpace(r) || unicode.IsControl(r) })
	joined := strings.Join(fields, " ")
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		if r == '\u200B' || r == '\uFEFF' || r == '\u00AD' || r == '\u200E' || r == '\u200F' {
			return -1
		}
		return r
	}, joined))
}

func plainWords(s string) bool {
	space := true
	for i := range len(s) {
		c := s[i]
		if c >= utf8.RuneSelf || c < ' ' || c == ' ' && space {
			return false
		}
		space = c == ' '
	}
	return !space || s == ""
}
