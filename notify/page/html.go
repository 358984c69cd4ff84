package page

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"net/url"
	"strings"
)

//go:embed templates/page.html
var files embed.FS

var html = template.Must(template.New("page.html").Funcs(template.FuncMap{
	"kind": kind, "link": Answer.Link, "class": Style.class,
}).ParseFS(files, "templates/page.html"))

// HTML draws the page for mail programs and browsers: tables, attributes and
// inline styles carry the layout, so that a program which drops the style sheet
// loses dark mode and nothing else. Nothing is loaded from outside.
func HTML(p Page) (string, error) {
	var b bytes.Buffer
	if err := html.Execute(&b, p); err != nil {
		return "", fmt.Errorf("draw page %q: %w", p.Title, err)
	}
	return squeeze(b.String()), nil
}

// kind names the template of a block.
func kind(b Block) string {
	return strings.ToLower(strings.TrimPrefix(fmt.Sprintf("%T", b), "page."))
}

func (s Style) class() string {
	switch s {
	case Bold:
		return "strong"
	case Small:
		return "small"
	case Warning:
		return "warning"
	case Normal:
	}
	return ""
}

// Link opens a mail with its subject and text filled in (RFC 6068).
func (a Answer) Link() string {
	q := "subject=" + url.PathEscape(a.Subject) + "&body=" + url.PathEscape(strings.ReplaceAll(a.Body, "\n", "\r\n"))
	return "mailto:" + url.PathEscape(a.To) + "?" + strings.ReplaceAll(q, "+", "%2B")
}

// squeeze takes out the indentation of the template: some mail programs cut a
// mail of more than 100 kB short.
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

// cell is a cell with its column, as the template needs them side by side.
type cell struct {
	Column
	Text Text
	Over int // columns, where it is more than one
}

// Cells pairs the cells of a row with their columns.
func (t Table) Cells(row []Text) []cell {
	if t.Spans(row) {
		return []cell{{Text: row[0], Over: len(t.Columns)}}
	}
	out := make([]cell, len(row))
	for i := range row {
		out[i] = cell{Column: t.Columns[i], Text: row[i]}
	}
	return out
}
