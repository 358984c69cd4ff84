package message

import (
	"cmp"
	"fmt"
	"html"
	"regexp"
	"slices"
	"strings"
)

// Fit returns the mail with as much of it left as fits into most bytes when it
// is written, and what was taken out: the largest attachments first, then the
// largest pictures. Text and HTML name what was taken out by the place that it
// gets. Where nothing is left to take out the mail may still be larger.
func (m Mail) Fit(most int, place func(Part) string) (small Mail, out []Part) {
	small = m
	small.Attachments, small.Inline = slices.Clone(m.Attachments), slices.Clone(m.Inline)
	for {
		small.Text, small.HTML = m.Text, m.HTML
		if len(out) > 0 {
			small.say(out, place)
		}
		if small.size() <= most {
			return small, out
		}
		from := &small.Attachments
		if len(*from) == 0 {
			from = &small.Inline
		}
		if len(*from) == 0 {
			return small, out
		}
		largest := slices.MaxFunc(*from, func(a, b Part) int { return cmp.Compare(len(a.Data), len(b.Data)) })
		*from = slices.DeleteFunc(*from, func(p Part) bool { return p.Name == largest.Name && p.CID == largest.CID })
		out = append(out, largest)
	}
}

// say adds to text and HTML where the parts lie that were taken out.
func (m *Mail) say(out []Part, place func(Part) string) {
	const why = "Too large for this mail; it lies in the shop's folder:"
	text, page := "\n"+why+"\n", `<div style="padding:14px 0 4px">`+why+`</div><ul style="padding-left:20px">`
	for _, p := range out {
		line := fmt.Sprintf("%s (%s)", place(p), megabytes(len(p.Data)))
		text += "- " + line + "\n"
		page += "<li>" + html.EscapeString(line) + "</li>"
		if p.CID != "" {
			m.HTML = picture(p.CID).ReplaceAllString(m.HTML, "<i>$1</i>")
		}
	}
	m.Text = strings.TrimRight(m.Text, "\n") + "\n" + text
	at := len(m.HTML)
	for _, end := range []string{pageEnd, "</body>"} {
		if i := strings.LastIndex(m.HTML, end); i >= 0 {
			at = i
			break
		}
	}
	m.HTML = m.HTML[:at] + page + "</ul>\n" + m.HTML[at:]
}

// pageEnd closes the two tables that a page's HTML stands in.
const pageEnd = "</td></tr></table>\n</td></tr></table>\n</body>"

// picture finds the picture of a content ID; its words are what it shows.
func picture(cid string) *regexp.Regexp {
	return regexp.MustCompile(`<img src="cid:` + regexp.QuoteMeta(cid) + `"[^>]*?alt="([^"]*)"[^>]*>`)
}

func megabytes(n int) string { return fmt.Sprintf("%.1f MB", float64(n)/1e6) }

// size returns at least how many bytes the mail has when it is written: base64 turns
// 57 bytes into a line of 78 (RFC 2045 section 6.8), and quoted-printable one
// byte into three at most (section 6.7).
func (m *Mail) size() int {
	const headers, ofPart = 2000, 500
	n := headers + quoted(m.Text) + quoted(m.HTML)
	for _, list := range [][]Part{m.Inline, m.Attachments} {
		for _, p := range list {
			n += ofPart + (len(p.Data)+56)/57*78
		}
	}
	if m.Forward != nil {
		n += ofPart + m.Forward.size()
	}
	return n
}

// quoted returns at least the size of a text as quoted-printable.
func quoted(s string) int {
	n := 0
	for i := range len(s) {
		switch b := s[i]; {
		case b == '\n':
			n += 2
		case b > '~' || b == '=' || b < ' ':
			n += 3
		default:
			n++
		}
	}
	return n + n/72*3
}
