package inbox

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	message "github.com/emersion/go-message"
	"golang.org/x/net/html"
)

// reader walks the parts of one mail.
type reader struct {
	letter *Letter
	limits Limits
	parts  int
	plain  []string // texts as they were written
	html   []string // and those that were marked up
	status []string // parts of notices of failure (RFC 3464)
	// returned are the headers of mails that came back within a notice.
	returned []string
	report   bool
}

// part reads one part and those within it.
func (r *reader) part(e *message.Entity, depth int) error {
	if r.parts++; r.parts > r.limits.Parts {
		return &Fault{fmt.Sprintf("it has more than %d parts", r.limits.Parts)}
	}
	if depth > r.limits.Depth {
		return &Fault{fmt.Sprintf("its parts lie more than %d deep in one another", r.limits.Depth)}
	}
	kind, params, err := e.Header.ContentType()
	if err != nil {
		kind = "text/plain"
	}
	kind = strings.ToLower(kind)
	switch {
	case kind == "multipart/encrypted", kind == "application/pkcs7-mime" &&
		!strings.HasPrefix(params["smime-type"], "signed"), kind == "application/x-pkcs7-mime":
		r.letter.Closed = "it is encrypted"
		return nil
	case strings.HasPrefix(kind, "multipart/"):
		r.report = r.report || kind == "multipart/report"
		return r.each(e, depth)
	}
	data, err := io.ReadAll(io.LimitReader(e.Body, int64(r.limits.Bytes)))
	if err != nil && len(data) == 0 {
		return nil // a part whose coding is broken says nothing
	}
	return r.leaf(e, kind, name(e, params), data, depth)
}

func (r *reader) each(e *message.Entity, depth int) error {
	mr := e.MultipartReader()
	if mr == nil {
		return nil
	}
	defer func() { _ = mr.Close() }()
	for {
		p, err := mr.NextPart()
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil && p == nil:
			return nil // cut off: what came before it is read
		}
		if err := r.part(p, depth+1); err != nil {
			return err
		}
	}
}

// name returns the file name of an attachment; empty = the part is none.
func name(e *message.Entity, params map[string]string) string {
	_, disposition, err := e.Header.ContentDisposition()
	if err == nil && disposition["filename"] != "" {
		return decoded(disposition["filename"])
	}
	return decoded(params["name"])
}

func (r *reader) leaf(e *message.Entity, kind, name string, data []byte, depth int) error {
	disposition, _, _ := e.Header.ContentDisposition()
	attached := strings.EqualFold(disposition, "attachment") || name != ""
	switch {
	case kind == "message/delivery-status", kind == "message/global-delivery-status":
		r.status = append(r.status, string(data))
	case kind == "text/rfc822-headers", kind == "message/rfc822", kind == "message/global":
		r.returned = append(r.returned, string(data))
		if kind == "text/rfc822-headers" {
			return nil
		}
		// What was forwarded as a whole counts towards the limits, and nothing in it
		// is the sender's word.
		inner := &reader{letter: &Letter{}, limits: r.limits, parts: r.parts}
		head, body := split(data)
		m := &Letter{headers: fields(head)}
		entity, err := message.New(message.Header{Header: m.header()}, strings.NewReader(string(body)))
		if err != nil && entity == nil {
			return nil
		}
		if err := inner.part(entity, depth+1); err != nil {
			return err
		}
		r.parts = inner.parts
	case strings.EqualFold(name, "winmail.dat"), kind == "application/ms-tnef":
		r.letter.Files = append(r.letter.Files, File{Name: "winmail.dat", Data: nil})
	case attached:
		r.letter.Files = append(r.letter.Files, File{Name: name, Data: data})
	case kind == "text/plain":
		r.plain = append(r.plain, text(data))
	case kind == "text/html":
		r.html = append(r.html, unmarked(data))
	}
	return nil
}

// words returns the text of the mail: its plain parts or, where it has none, the text of
// its HTML. A mail with both says the same twice.
func (r *reader) words() string {
	plain := strings.TrimSpace(strings.Join(r.plain, "\n"))
	if plain != "" {
		return plain
	}
	return strings.TrimSpace(strings.Join(r.html, "\n"))
}

// text returns the bytes as valid UTF-8 with \n for line ends.
func text(data []byte) string {
	s := strings.ReplaceAll(string(data), "\r\n", "\n")
	s = strings.ReplaceAll(s, "\u00a0", " ")
	if !utf8.ValidString(s) {
		s = strings.ToValidUTF8(s, "\ufffd")
	}
	return s
}

// mostMarks is the number of tags and texts that are read of one HTML page.
const mostMarks = 200_000

// unmarked returns the text of an HTML page, a line to each block. What stands in a
// blockquote begins with > as in plain mails.
func unmarked(data []byte) string {
	var b strings.Builder
	quoted, silent := 0, 0
	start := true
	line := func() {
		if !start {
			b.WriteByte('\n')
		}
		start = true
	}
	z := html.NewTokenizer(strings.NewReader(text(data)))
	for range mostMarks {
		switch t := z.Next(); t {
		case html.ErrorToken:
			return b.String()
		case html.TextToken:
			words := strings.Join(strings.Fields(string(z.Text())), " ")
			if silent > 0 || words == "" {
				continue
			}
			if start && quoted > 0 {
				b.WriteString("> ")
			} else if !start {
				b.WriteByte(' ')
			}
			b.WriteString(words)
			start = false
		case html.StartTagToken, html.EndTagToken, html.SelfClosingTagToken:
			tag, _ := z.TagName()
			step := 1
			if t == html.EndTagToken {
				step = -1
			}
			switch string(tag) {
			case "blockquote":
				line()
				quoted = max(0, quoted+step)
			case "style", "script", "head", "title":
				if t != html.SelfClosingTagToken {
					silent = max(0, silent+step)
				}
			case "hr":
				line()
				b.WriteString("________________________________\n")
			case "br", "p", "div", "tr", "li", "table", "h1", "h2", "h3", "h4", "body", "ul", "ol", "pre":
				line()
			}
		case html.CommentToken, html.DoctypeToken:
		}
	}
	return b.String()
}
