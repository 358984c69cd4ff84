// Package clean makes text that people typed harmless before it is put into a
// mail, a file or a name of a file. A roster is written by strangers: a name in
// it may carry line breaks, marks that turn the direction of reading, or the
// beginning of a spreadsheet formula.
package clean

import (
	"strings"
	"unicode"

	"github.com/kitmuster/kitmuster/programme/table"
)

// LongestText is the number of characters after which a name is cut in
// anything with a layout; lists and spreadsheets keep it whole.
const LongestText = 80

// Line returns s as one line: every control character, line break and mark of
// reading direction is a space, runs of spaces are one, and none is at an end.
// Letters of any script and emoji stay.
func Line(s string) string {
	return strings.Join(strings.Fields(strings.Map(visible, strings.ToValidUTF8(s, "\uFFFD"))), " ")
}

func visible(r rune) rune {
	switch {
	case r == '\u200d' || r == '\ufe0f': // these join emoji and letters of some scripts
		return r
	case unicode.IsControl(r), unicode.Is(unicode.Cf, r), r == '\u2028', r == '\u2029':
		return ' '
	}
	return r
}

// Short returns Line of s, cut with an ellipsis after LongestText characters.
func Short(s string) string {
	s = Line(s)
	if n := []rune(s); len(n) > LongestText {
		return strings.TrimSpace(string(n[:LongestText-1])) + "…"
	}
	return s
}

// Cell returns Line of s for a CSV or spreadsheet cell. A text that a
// spreadsheet would take for a formula gets an apostrophe in front, which
// spreadsheets show as text.
func Cell(s string) string {
	s = Line(s)
	if table.Formula(s) {
		return "'" + s
	}
	return s
}

// FileName returns s as a part of a file name: letters and digits of ASCII, the
// rest as single hyphens, at most 60 characters, never empty.
func FileName(s string) string {
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
