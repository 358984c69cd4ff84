// Package match finds which of the words a program knows is meant by one that
// somebody wrote: whatever its case, spaces and punctuation, and which comes
// nearest when none is meant.
package match

import (
	"cmp"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"
)

// Plain reduces words to what people mean by them: letters and digits, in
// small letters, so that "Staff ID", "staff_id" and "STAFF-ID" are one.
func Plain(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.Is(unicode.Mn, r) || unicode.Is(unicode.Mc, r) {
			return unicode.ToLower(r)
		}
		return -1
	}, s)
}

// Bare reduces a text to what people type who look for it: case folded in every
// script, letters without their marks and apostrophes of one shape, so that
// "eabha o'dea" finds "Éabha O’Dea".
func Bare(s string) string {
	if !strings.ContainsFunc(s, func(r rune) bool { return r > unicode.MaxASCII }) {
		return strings.ToLower(s)
	}
	bare := strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Mn, r) {
			return -1
		}
		return r
	}, norm.NFKD.String(s))
	return bareLetters.Replace(norm.NFC.String(cases.Fold().String(bare)))
}

// bareLetters are letters and signs that have no parts, by what keyboards have instead.
var bareLetters = strings.NewReplacer("’", "'", "ʼ", "'", "ø", "o", "ł", "l", "đ", "d")

// Natural compares as people put numbers in order: runs of digits by what they count, so
// that 9 comes before 12 and A2 before A10.
func Natural(a, b string) int {
	x, y := a, b
	for x != "" && y != "" {
		m, n := digits(x), digits(y)
		if m == 0 || n == 0 {
			if x[0] != y[0] {
				return cmp.Compare(x[0], y[0])
			}
			x, y = x[1:], y[1:]
			continue
		}
		p, q := strings.TrimLeft(x[:m], "0"), strings.TrimLeft(y[:n], "0")
		if c := cmp.Or(cmp.Compare(len(p), len(q)), cmp.Compare(p, q)); c != 0 {
			return c
		}
		x, y = x[m:], y[n:]
	}
	return cmp.Or(cmp.Compare(len(x), len(y)), cmp.Compare(a, b))
}

// digits returns the length of the run of digits that a text begins with.
func digits(s string) int {
	if i := strings.IndexFunc(s, func(r rune) bool { return r < '0' || r > '9' }); i >= 0 {
		return i
	}
	return len(s)
}

// Near returns the word of the list that is closest to s when it is close
// enough to be a slip of the pen: at most a third of the letters differ, and
// no other word is as close.
func Near(s string, among []string) (string, bool) {
	key := Plain(s)
	best, bestAt, tie := 1<<30, -1, false
	for i, w := range among {
		d := Distance(key, Plain(w))
		switch {
		case d < best:
			best, bestAt, tie = d, i, false
		case d == best && among[bestAt] != w:
			tie = true
		}
	}
	if bestAt < 0 || tie || best*3 > len([]rune(key)) {
		return "", false
	}
	return among[bestAt], true
}

// Distance counts the letters to insert, delete, change or swap with their
// neighbour to turn a into b (optimal string alignment). Words of more than 64
// letters are as far as can be from any other.
func Distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	if len(x) > 64 || len(y) > 64 { // no heading or code is that long
		return 1 << 20
	}
	var older []int
	old := make([]int, len(y)+1)
	for j := range old {
		old[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row := make([]int, len(y)+1)
		row[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			row[j] = min(old[j]+1, row[j-1]+1, old[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], older[j-2]+1)
			}
		}
		older, old = old, row
	}
	return old[len(y)]
}

// Choices are the values that a cell may hold: codes, each perhaps with a name
// in words. Case, spaces and punctuation do not matter.
type Choices struct {
	codes []string
	plain map[string]string // plain code or name -> code; "" = said by two codes
	hints map[string]string // plain word without marks -> code that it probably means; "" = two
}

// NewChoices takes codes in the order in which people should see them.
func NewChoices(codes ...string) *Choices {
	c := &Choices{plain: map[string]string{}}
	for _, code := range codes {
		c.Add(code, "")
	}
	return c
}

// ChoicesOf takes the codes and names of a list.
func ChoicesOf[E any](list []E, of func(*E) (code, name string)) *Choices {
	c := NewChoices()
	for i := range list {
		c.Add(of(&list[i]))
	}
	return c
}

// Add takes one code and its name, if any.
func (c *Choices) Add(code, name string) {
	c.codes = append(c.codes, code)
	c.learn(code, code)
	if name != "" && Plain(name) != Plain(code) {
		c.learn(name, code)
	}
}

// Learn takes one more word for a code that was added; an empty one is none.
func (c *Choices) Learn(word, code string) {
	if word != "" && Plain(word) != Plain(code) {
		c.learn(word, code)
	}
}

func (c *Choices) learn(word, code string) {
	key := Plain(word)
	if other, taken := c.plain[key]; taken && other != code {
		code = ""
	}
	c.plain[key] = code
}

// Hint notes a word that probably means a code: Nearest returns it, Find does not.
func (c *Choices) Hint(word, code string) {
	code, ok := c.Find(code)
	if !ok {
		return
	}
	if c.hints == nil {
		c.hints = map[string]string{}
	}
	key := Plain(Bare(word))
	if other, taken := c.hints[key]; taken && other != code {
		code = ""
	}
	c.hints[key] = code
}

// Codes returns the codes as they were added.
func (c *Choices) Codes() []string { return c.codes }

// Find returns the code that a cell says.
func (c *Choices) Find(value string) (code string, ok bool) {
	for _, code := range c.codes {
		if code == value {
			return code, true
		}
	}
	code = c.plain[Plain(value)]
	return code, code != ""
}

// Nearest returns the code that comes closest to a value that is none: by a hint, by a slip of the
// pen, or as the only one all of whose words stand in it, as those of navy do in navy blue.
func (c *Choices) Nearest(value string) (code string, ok bool) {
	if value == "" {
		return "", false
	}
	if code := c.hints[Plain(Bare(value))]; code != "" {
		return code, true
	}
	if near, ok := Near(value, c.codes); ok {
		return near, true
	}
	said := words(value)
	for _, x := range c.codes {
		own := words(x)
		if len(own) == 0 || slices.ContainsFunc(own, func(w string) bool { return !slices.Contains(said, w) }) {
			continue
		}
		if ok {
			return "", false
		}
		code, ok = x, true
	}
	return code, ok
}

// words returns the words of a text as Plain has them.
func words(s string) []string {
	return strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return Plain(string(r)) == "" })
}

// listed is the number of choices that an error names.
const listed = 12

// Want ends the sentence about a value that is none of the choices, such as
// "role" for what: it names the nearest or else the choices.
func (c *Choices) Want(what, value string) string {
	if near, ok := c.Nearest(value); ok {
		return "but there is no such " + what + "; " + near + " comes nearest"
	}
	if len(c.codes) == 0 {
		return "but there is no " + what + " yet"
	}
	shown := c.codes[:min(len(c.codes), listed)]
	text := strings.Join(shown, ", ")
	if len(shown) < len(c.codes) {
		text += ", …"
	}
	if value == "" {
		return "the " + what + " is missing; write one of " + text
	}
	return "but there is no such " + what + "; write one of " + text
}
