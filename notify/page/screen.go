package page

import (
	"embed"
	"fmt"
	"html/template"
	"io"
	"strings"
)

// Screen is a page in a browser in which somebody works, with what stands around it
// on every page. It needs no scripts, and loads nothing but the style sheet.
type Screen struct {
	Page
	// Shop is the name that leads to the first page.
	Shop string
	// Menu leads to the pages that can always be reached; Here is the address of this one.
	Menu []Link
	Here string
	// Finder is the form that looks for somebody; nil = there is none.
	Finder *Form
	// Notice tells what came of the form before; nil = nothing.
	Notice *Notice
	// Foot is the form at the end of the page, such as that for leaving; nil = none.
	Foot *Form
	// Style is the address of the style sheet, which is StyleSheet.
	Style string
}

// Link leads to another page.
type Link struct{ Words, To string }

// Notice tells what came of a form.
type Notice struct {
	// Bad says that nothing was done, and the words why.
	Bad   bool
	Words string
	Notes []string
	// Then is the form for what can be done about it, such as to take it back; nil = nothing.
	Then *Form
}

// Card is a part of a page about one thing, such as a piece of work or a garment.
type Card struct {
	// Level is the heading level of its title, 1 to 6.
	Level int
	Title Text
	Body  []Block
}

// Form holds fields that somebody fills in and sends.
type Form struct {
	// Name tells the forms of a page apart.
	Name string
	// Action is the address it is sent to; Get says that it only asks, and changes nothing.
	Action string
	Get    bool
	Hidden []Hidden
	Body   []Block
	// Buttons send it, one of them at least. Where none of them is the main one, the
	// key that sends a form does nothing: it must be said which.
	Buttons []Button
}

// Chosen reports whether the key that sends a form means one of the buttons.
func (f Form) Chosen() bool {
	return len(f.Buttons) == 1 || len(f.Buttons) > 0 && f.Buttons[0].Main
}

// Hidden is a value that goes with a form.
type Hidden struct{ Name, Value string }

// Button sends its form, with a value of its own where it has a name.
type Button struct {
	Words       string
	Name, Value string
	// Main marks the button that most people will want; Grave one that nobody should press by accident.
	Main, Grave bool
	// About completes the words for those who hear the page: "Worn" of which garment.
	About string
}

// Fields are fields side by side, as far as there is room.
type Fields struct{ List []*Field }

// Ask is the kind of answer that a field takes.
type Ask string

// Kinds of answers.
const (
	AskText   Ask = "text"
	AskNumber Ask = "number"
	AskDay    Ask = "date"
	AskMail   Ask = "email"
	AskChoice Ask = "choice"
	AskTick   Ask = "tick"
	AskSearch Ask = "search"
)

// Field is one thing that a form asks.
type Field struct {
	Name, Label string
	Ask         Ask
	Value       string
	// Hint says what is wanted, or what stays when it is left empty.
	Hint string
	// Least and Most bound a number or a day; empty = nothing does.
	Least, Most string
	Needed      bool
	Choices     []Choice
	// Ticked is for a tick, whose Value is what is sent with it.
	Ticked bool
	// Bare shows no label, where the heading of a table says it; it is heard all the same.
	Bare bool
	id   string
}

// Choice is one of the answers of a field.
type Choice struct{ Value, Words string }

func (Card) block()   {}
func (Form) block()   {}
func (Fields) block() {}

//go:embed templates/screen.html templates/screen.css
var screenFiles embed.FS

var screen = template.Must(template.New("screen.html").Funcs(template.FuncMap{
	"kind": kind, "class": Style.class, "link": Answer.Link, "input": Field.input,
	"id": func(f *Field) string { return f.id },
}).ParseFS(screenFiles, "templates/screen.html"))

// StyleSheet returns the looks of every screen.
func StyleSheet() []byte {
	css, err := screenFiles.ReadFile("templates/screen.css")
	if err != nil {
		panic("page: the style sheet is not embedded: " + err.Error())
	}
	return css
}

// HTML draws the screen.
func (s *Screen) HTML(w io.Writer) error {
	n := 0
	s.EachField(func(_ *Form, f *Field) {
		n++
		f.id = fmt.Sprintf("f%d-%s", n, f.Name)
	})
	var b strings.Builder
	if err := screen.Execute(&b, s); err != nil {
		return fmt.Errorf("draw page %q: %w", s.Title, err)
	}
	_, err := io.WriteString(w, squeeze(b.String()))
	return err
}

// EachField calls f with every field of the screen and the form that it stands in.
func (s *Screen) EachField(f func(*Form, *Field)) {
	forms := []*Form{s.Finder, s.Foot}
	if s.Notice != nil {
		forms = append(forms, s.Notice.Then)
	}
	for _, form := range forms {
		if form != nil {
			eachField(form, form.Body, f)
		}
	}
	eachField(nil, s.Blocks, f)
}

func eachField(in *Form, blocks []Block, f func(*Form, *Field)) {
	for _, b := range blocks {
		switch b := b.(type) {
		case Card:
			eachField(in, b.Body, f)
		case Form:
			eachField(&b, b.Body, f)
		case Fields:
			for _, x := range b.List {
				f(in, x)
			}
		case Table:
			for _, row := range b.Rows {
				for _, cell := range row {
					for _, span := range cell {
						if span.Field != nil {
							f(in, span.Field)
						}
					}
				}
			}
		}
	}
}

// input is the type of input that a browser shows.
func (f Field) input() string {
	switch f.Ask {
	case AskTick:
		return "checkbox"
	case AskChoice, AskText, AskNumber, AskDay, AskMail, AskSearch:
	}
	return string(f.Ask)
}
