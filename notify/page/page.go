// Package page holds what a mail, a paper or a screen says, once: headings,
// sentences, facts, tables, pictures and links that answer. Three renderers draw
// it: HTML for mail programs, PlainText for plain mail, and Terminal for commands;
// papers (package document) draw the same tables. A fourth, Screen.HTML, draws it for a
// browser in which somebody works: there, cards, forms and fields are parts of a page as well.
//
// Whoever fills a page gives words alone. Escaping, widths and colours are the
// renderers' business.
package page

import "fmt"

// Page holds what one message or screen says, in order.
type Page struct {
	// Title names the page in a browser; it is not shown on it.
	Title  string
	Blocks []Block
}

// Block is one part of a page. The types of this package are all there are.
type Block interface{ block() }

// Heading is a title; Level is 1 for the page, 2 for a section, 3 within it.
type Heading struct {
	Level int
	Words string
}

// Paragraph is sentences that stand together.
type Paragraph struct{ Words Text }

// Caution is a paragraph that must be seen: what can hurt or cannot be undone.
type Caution struct{ Words string }

// Bullets is a list without numbers.
type Bullets struct{ Items []Text }

// Facts are labels with values, one to a row, label first.
type Facts struct{ Pairs []Fact }

// Fact is a label with its value. A strong one is what the reader looks for.
type Fact struct {
	Label, Value string
	Strong       bool
}

// Picture is an inline picture of the message, by its content ID.
type Picture struct {
	CID string
	// Alt says in words what it shows, where a picture is drawn. Text is what a plain text, which draws none,
	// says in its place; none where the page says it in other words anyway.
	Alt, Text     string
	Width, Height int // as shown, in pixels
	// Lines says that it is lines on a plain ground, which dark mode turns round.
	Lines bool
}

// Answers are ways to answer, each a link that opens a filled-in mail (RFC 6068); a plain text, which has no
// links, says whom to write to with which subject. Links stands in small type below them where they are links.
type Answers struct {
	List  []Answer
	Links string
}

// Answer is one of them. The first of a list is drawn as a button. Attach is the file to go with it, such as "the
// filled form"; the links do not know it.
type Answer struct {
	Words, To, Subject, Body string
	Attach                   string
}

// Rule is a line across the page.
type Rule struct{}

func (Heading) block()   {}
func (Paragraph) block() {}
func (Caution) block()   {}
func (Bullets) block()   {}
func (Facts) block()     {}
func (Picture) block()   {}
func (Answers) block()   {}
func (Rule) block()      {}
func (Table) block()     {}

// Add puts blocks at the end of the page.
func (p *Page) Add(blocks ...Block) { p.Blocks = append(p.Blocks, blocks...) }

// Heading adds a title of a level.
func (p *Page) Heading(level int, words string) { p.Add(Heading{level, words}) }

// Say adds a paragraph, in the manner of fmt.Sprintf.
func (p *Page) Say(format string, args ...any) { p.Add(Paragraph{Plain(sprintf(format, args))}) }

// Aside adds a paragraph in small type, for what most readers pass over.
func (p *Page) Aside(format string, args ...any) { p.Add(Paragraph{Quiet(sprintf(format, args))}) }

// Warn adds a paragraph in the colour of a warning.
func (p *Page) Warn(format string, args ...any) { p.Add(Paragraph{Alarm(sprintf(format, args))}) }

// List adds a list of plain sentences; an empty one adds nothing.
func (p *Page) List(items []string) {
	var b Bullets
	for _, s := range items {
		b.Items = append(b.Items, Plain(s))
	}
	if len(b.Items) > 0 {
		p.Add(b)
	}
}

// sprintf leaves a format without arguments as it is, so that a percent sign of
// the data is no verb.
func sprintf(format string, args []any) string {
	if len(args) == 0 {
		return format
	}
	return fmt.Sprintf(format, args...)
}
