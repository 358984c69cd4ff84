package page

import (
	"io"
	"strings"

	"golang.org/x/text/width"
)

const (
	// mailWidth is the most letters in a line of a plain mail.
	mailWidth = 74
	// ScreenWidth is the most letters in a line of a paragraph on a terminal; a table may be wider.
	ScreenWidth = 100
)

// PlainText draws the page for a plain mail.
func PlainText(p Page) string { return plain{width: mailWidth, table: mailWidth}.page(p) }

// Terminal draws the page for a terminal of so many columns; with 0 columns nothing
// bounds its tables, as in a pipe.
func Terminal(w io.Writer, p Page, columns int) error {
	d := plain{width: ScreenWidth, screen: true, table: columns}
	if columns > 0 {
		d.width = min(columns, ScreenWidth)
	}
	_, err := io.WriteString(w, d.page(p))
	return err
}

// plain draws pages as lines of letters of one width.
type plain struct {
	width  int
	screen bool // a line stands under the heading of a table
	table  int  // the width of a table on a screen; 0 = as wide as it needs
}

func (d plain) page(p Page) string {
	var out []string
	for i, b := range p.Blocks {
		if i > 0 && !tight(p.Blocks[i-1], b) {
			out = append(out, "")
		}
		out = append(out, d.block(b))
	}
	return tidy(strings.Join(out, "\n"))
}

// tight reports whether nothing stands between two blocks: a title of a section
// within a section and what it is the title of, and paragraphs in small type.
func tight(a, b Block) bool {
	h, ok := a.(Heading)
	if ok && h.Level == 3 {
		return true
	}
	p, ok := b.(Paragraph)
	return ok && len(p.Words) > 0 && p.Words[0].Style == Small
}

func (d plain) block(b Block) string {
	switch b := b.(type) {
	case Heading:
		return d.heading(b)
	case Paragraph:
		return d.fold(b.Words.String(), "")
	case Caution:
		return d.fold(b.Words, "")
	case Bullets:
		return d.bullets(b)
	case Facts:
		return d.facts(b)
	case Picture:
		return d.fold(b.Text, "")
	case Answers:
		return d.answers(b)
	case Rule:
		return strings.Repeat("-", d.width)
	case Table:
		return d.drawTable(b)
	case Card:
		return d.page(Page{Blocks: append([]Block{Heading{3, b.Title.String()}}, b.Body...)})
	case Form, Fields:
		return "" // nobody answers on paper
	}
	panic("page: a block of a type that is not of this package")
}

func (d plain) heading(h Heading) string {
	switch h.Level {
	case 1:
		return d.fold(h.Words, "")
	case 2:
		return h.Words + "\n" + strings.Repeat("-", cells(h.Words))
	}
	return d.fold("* "+h.Words, "  ")
}

func (d plain) bullets(b Bullets) string {
	var out []string
	for _, t := range b.Items {
		out = append(out, d.fold("- "+t.String(), "  "))
	}
	return strings.Join(out, "\n")
}

func (d plain) facts(f Facts) string {
	wide := 0
	for _, p := range f.Pairs {
		wide = max(wide, cells(p.Label))
	}
	var out []string
	for _, p := range f.Pairs {
		label := p.Label + ":" + strings.Repeat(" ", wide-cells(p.Label)+1)
		out = append(out, label+d.fold(p.Value, strings.Repeat(" ", min(wide+2, d.width/2))))
	}
	return strings.Join(out, "\n")
}

// answers says in words what the links do.
func (d plain) answers(a Answers) string {
	var out []string
	for _, x := range a.List {
		attach := ""
		if x.Attach != "" {
			attach = ", and attach " + x.Attach
		}
		out = append(out, d.fold("- "+x.Words+": write to "+x.To+" with the subject “"+x.Subject+"”"+attach+".", "  "))
	}
	return strings.Join(out, "\n")
}

// fold breaks lines at spaces where they are too long; lines after the first
// begin with the indent. A line break of the text stays.
func (d plain) fold(s, indent string) string {
	var out []string
	for line := range strings.SplitSeq(s, "\n") {
		out = append(out, d.foldLine(line, indent))
	}
	return strings.Join(out, "\n"+indent)
}

func (d plain) foldLine(s, indent string) string {
	var b strings.Builder
	at := 0
	for i, w := range strings.Fields(s) {
		n := cells(w)
		switch {
		case i == 0:
		case at+1+n > d.width-len(indent):
			b.WriteString("\n" + indent)
			at = 0
		default:
			b.WriteByte(' ')
			at++
		}
		b.WriteString(w)
		at += n
	}
	return b.String()
}

// Unwrap joins the lines of each paragraph, so that a screen of another width can fold it.
// A line that begins with a space is no running text and stays by itself.
func Unwrap(text string) string {
	var b strings.Builder
	var before string
	for line := range strings.SplitSeq(text, "\n") {
		switch {
		case b.Len() == 0:
		case before == "" || line == "" || before[0] == ' ' || line[0] == ' ':
			b.WriteByte('\n')
		default:
			b.WriteByte(' ')
		}
		b.WriteString(line)
		before = line
	}
	return b.String()
}

// Folder folds running text that is wider than a screen at its spaces, as it is written
// piece by piece. What follows hangs under the text of its line: under what stands behind
// its indent or the gap of two spaces that ends its label. A command to copy stays whole.
type Folder struct {
	Columns int
	at      int // the column at which the next piece begins
	hang    int // where its lines go on
	whole   bool
}

// Fold returns the next piece with the line breaks that it needs.
func (f *Folder) Fold(text string) string {
	var b strings.Builder
	for line := range strings.Lines(text) {
		words, ends := strings.CutSuffix(line, "\n")
		if f.at == 0 {
			f.hang = hangOf(words, f.Columns)
			f.whole = strings.HasPrefix(strings.TrimLeft(words, " "), "kitmuster ")
		}
		f.line(&b, words)
		if ends {
			b.WriteByte('\n')
			f.at = 0
		}
	}
	return b.String()
}

func (f *Folder) line(b *strings.Builder, words string) {
	if wide := cells(words); f.whole || f.at+wide <= f.Columns {
		b.WriteString(words)
		f.at += wide
		return
	}
	if f.at == 0 {
		b.WriteString(words[:f.hang])
		words = words[f.hang:]
		f.at = f.hang
	}
	apart := strings.HasPrefix(words, " ")
	for _, w := range unbroken(words) {
		wide := cells(w)
		switch {
		case !apart:
		case f.at+1+wide > f.Columns:
			b.WriteString("\n" + strings.Repeat(" ", f.hang))
			f.at = f.hang
		default:
			b.WriteByte(' ')
			f.at++
		}
		b.WriteString(w)
		f.at += wide
		apart = true
	}
	if strings.HasSuffix(words, " ") {
		b.WriteByte(' ')
		f.at++
	}
}

// hangOf returns the length of what stands before the text of a line: its indent, or with
// it a label and the gap behind that, which lie within the first half of the columns.
func hangOf(line string, columns int) int {
	hang := len(line) - len(strings.TrimLeft(line, " "))
	for i := hang; i < len(line); i++ {
		gap := len(line[i:]) - len(strings.TrimLeft(line[i:], " "))
		if i += gap; gap > 1 && i <= columns/2 && i < len(line) {
			hang = i
		}
	}
	if cells(line[:hang]) != hang { // a label of letters of other widths
		return 0
	}
	return hang
}

// unbroken parts a text at its spaces, except inside commands between quotes.
func unbroken(s string) []string {
	var out []string
	quoted := false
	for w := range strings.FieldsSeq(s) {
		if quoted {
			out[len(out)-1] += " " + w
		} else {
			out = append(out, w)
		}
		if strings.Contains(w, "'kitmuster") {
			quoted = true
		}
		if at := strings.LastIndexByte(w, '\''); at >= 0 && !strings.HasPrefix(w[at:], "'kitmuster") {
			quoted = false
		}
	}
	return out
}

// cells counts the columns that s takes on a terminal: wide letters take two.
func cells(s string) int {
	n := 0
	for _, r := range s {
		n++
		if k := width.LookupRune(r).Kind(); k == width.EastAsianWide || k == width.EastAsianFullwidth {
			n++
		}
	}
	return n
}

// tidy ends lines cleanly and leaves one empty line where blocks left more.
func tidy(s string) string {
	var out []string
	for line := range strings.Lines(s) {
		line = strings.TrimRight(line, " \t\r\n")
		if line == "" && (len(out) == 0 || out[len(out)-1] == "") {
			continue
		}
		out = append(out, line)
	}
	return strings.TrimRight(strings.Join(out, "\n"), "\n") + "\n"
}
