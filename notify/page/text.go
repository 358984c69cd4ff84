package page

import (
	"slices"
	"strings"
)

// Style says how a part of a text is set.
type Style int

// Styles of a part of a text.
const (
	Normal  Style = iota
	Bold          // what the eye should find
	Small         // what most readers pass over
	Warning       // what is wrong
)

// Span is words of one style. A span that is Down begins a new line. To and Field are
// for screens: the address that the words lead to, and a field that stands in their
// place; all else shows the words alone.
type Span struct {
	Words string
	Style Style
	Down  bool
	To    string
	Field *Field
}

// Text is a line or a paragraph of spans.
type Text []Span

// Plain returns words as they are.
func Plain(s string) Text { return Text{{Words: s}} }

// Strong returns words that the eye should find.
func Strong(s string) Text { return Text{{Words: s, Style: Bold}} }

// Quiet returns words in small type.
func Quiet(s string) Text { return Text{{Words: s, Style: Small}} }

// Alarm returns words in the colour of a warning.
func Alarm(s string) Text { return Text{{Words: s, Style: Warning}} }

// Leading returns words that lead to another page of the screen.
func Leading(words, to string) Text { return Text{{Words: words, To: to}} }

// Asking returns a field in the place of words.
func Asking(f *Field) Text { return Text{{Words: f.Value, Field: f}} }

// And puts a text behind this one, with nothing between them.
func (t Text) And(more Text) Text { return append(slices.Clip(t), more...) }

// Below puts a text on a new line under this one; an empty one adds nothing.
func (t Text) Below(more Text) Text {
	if more.String() == "" {
		return t
	}
	if len(t) > 0 {
		more = append(Text(nil), more...)
		more[0].Down = true
	}
	return t.And(more)
}

// String returns the words without styles; a new line is a line break.
func (t Text) String() string {
	var b strings.Builder
	for _, s := range t {
		if s.Down {
			b.WriteByte('\n')
		}
		b.WriteString(s.Words)
	}
	return b.String()
}
