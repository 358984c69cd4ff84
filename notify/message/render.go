package message

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"strings"
	texttemplate "text/template"

	"golang.org/x/text/width"
)

//go:embed templates/*.html templates/*.txt
var files embed.FS

var (
	pages = template.Must(template.New("").Funcs(template.FuncMap{"even": even}).ParseFS(files, "templates/*.html"))
	texts = texttemplate.Must(texttemplate.New("").Funcs(texttemplate.FuncMap{
		"heading": heading, "fold": fold, "sizes": sizeText, "columns": columns, "bullet": bullet,
	}).ParseFS(files, "templates/*.txt"))
)

// render writes the HTML and the text of a mail from one view.
func render(name string, view any) (html, text string, err error) {
	var h, t bytes.Buffer
	if err := pages.ExecuteTemplate(&h, name+".html", view); err != nil {
		return "", "", fmt.Errorf("write %s: %w", name, err)
	}
	if err := texts.ExecuteTemplate(&t, name+".txt", view); err != nil {
		return "", "", fmt.Errorf("write %s: %w", name, err)
	}
	return squeeze(h.String()), tidy(t.String()), nil
}

// squeeze takes out the indentation of the templates: a mail of more than
// 100 kB is cut short by some mail programs.
func squeeze(s string) string {
	var b strings.Builder
	for line := range strings.Lines(s) {
		if line = strings.TrimSpace(line); line != "" {
			b.WriteString(line)
			b.WriteByte('\n')
		}
	}
	return b.String()
}

// tidy ends lines cleanly and leaves one empty line where templates left more.
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

func even(i int) bool { return i%2 == 0 }

// heading underlines a title.
func heading(s string) string { return s + "\n" + strings.Repeat("-", cells(s)) }

const textWidth = 74

// fold breaks a paragraph at spaces so that no line is longer than a mail reader shows.
func fold(s string) string { return foldTo(s, "") }

// bullet writes a paragraph as an item of a list.
func bullet(s string) string { return "- " + foldTo(s, "  ") }

func foldTo(s, indent string) string {
	var b strings.Builder
	at := 0
	for i, w := range strings.Fields(s) {
		n := cells(w)
		switch {
		case i == 0:
		case at+1+n > textWidth-len(indent):
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

// sizeText writes a size table for a text mail.
func sizeText(t sizeTable) string {
	name, above := t.Garment, ""
	if cells(name) > longestHead {
		name, above = "", foldTo(name, "  ")+"\n"
	}
	head := append([]string{name}, t.Sizes...)
	rows := [][]string{append(head, "pieces")}
	for _, r := range t.Rows {
		row := append([]string{"  " + r.Colour}, r.Cells...)
		rows = append(rows, append(row, fmt.Sprint(r.Total)))
	}
	return above + align(rows, true)
}

// longestHead is the letters of a garment's name that leave room for its sizes
// in a line of text; a longer one stands above them.
const longestHead = 36

// columns writes rows of a table, all columns to the left.
func columns(rows [][]string) string { return align(rows, false) }

// align pads cells to columns; with numbers, all but the first column are set to the right.
func align(rows [][]string, numbers bool) string {
	widths := map[int]int{}
	for _, r := range rows {
		for i, c := range r {
			widths[i] = max(widths[i], cells(c))
		}
	}
	var b strings.Builder
	for _, r := range rows {
		for i, c := range r {
			pad := strings.Repeat(" ", widths[i]-cells(c))
			switch {
			case i == 0:
				b.WriteString(c + pad)
			case numbers:
				b.WriteString("  " + pad + c)
			default:
				b.WriteString("  " + c + pad)
			}
		}
		b.WriteByte('\n')
	}
	return strings.TrimRight(b.String(), "\n")
}
