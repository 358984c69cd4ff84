package folder

import (
	"bytes"
	"encoding/base64"
	"errors"
	"fmt"
	"html"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net/mail"
	"strings"
)

// errDeep says that a message nests its parts deeper than any of ours.
var errDeep = errors.New("parts are nested too deep")

// found holds the parts of a mail that a page is made of.
type found struct {
	html, text string
	pictures   map[string]string // content ID -> data URL
}

// Preview returns a message's HTML as a page for the browser, its pictures
// inside; a message without HTML shows its text. It loads nothing from elsewhere.
func Preview(message []byte) ([]byte, error) {
	m, err := mail.ReadMessage(bytes.NewReader(message))
	if err != nil {
		return nil, fmt.Errorf("read message: %w", err)
	}
	f := found{pictures: map[string]string{}}
	if err := f.walk(m.Header.Get, m.Body, 0); err != nil {
		return nil, fmt.Errorf("read message: %w", err)
	}
	if f.html == "" {
		return []byte("<!doctype html><meta charset=\"utf-8\"><pre>" + html.EscapeString(f.text) + "</pre>\n"), nil
	}
	page := f.html
	for cid, url := range f.pictures {
		page = strings.ReplaceAll(page, `"cid:`+cid+`"`, `"`+url+`"`)
	}
	return []byte(page), nil
}

// Text returns a message's plain text.
func Text(message []byte) (string, error) {
	m, err := mail.ReadMessage(bytes.NewReader(message))
	if err != nil {
		return "", fmt.Errorf("read message: %w", err)
	}
	f := found{pictures: map[string]string{}}
	if err := f.walk(m.Header.Get, m.Body, 0); err != nil {
		return "", fmt.Errorf("read message: %w", err)
	}
	return strings.ReplaceAll(f.text, "\r\n", "\n"), nil
}

// walk collects from one part and those within it.
func (f *found) walk(header func(string) string, body io.Reader, depth int) error {
	if depth > 8 {
		return errDeep
	}
	kind, params, err := mime.ParseMediaType(header("Content-Type"))
	if err != nil {
		kind = "text/plain"
	}
	if strings.HasPrefix(kind, "multipart/") {
		parts := multipart.NewReader(body, params["boundary"])
		for {
			p, err := parts.NextRawPart()
			if errors.Is(err, io.EOF) {
				return nil
			}
			if err != nil {
				return err
			}
			if err := f.walk(p.Header.Get, p, depth+1); err != nil {
				return err
			}
		}
	}
	if strings.HasPrefix(strings.ToLower(header("Content-Disposition")), "attachment") {
		return nil
	}
	data, err := io.ReadAll(decoded(header("Content-Transfer-Encoding"), body))
	if err != nil {
		return err
	}
	f.keep(kind, strings.Trim(header("Content-ID"), "<>"), data)
	return nil
}

func (f *found) keep(kind, cid string, data []byte) {
	switch {
	case kind == "text/html" && f.html == "":
		f.html = string(data)
	case kind == "text/plain" && f.text == "":
		f.text = string(data)
	case strings.HasPrefix(kind, "image/") && cid != "":
		f.pictures[cid] = "data:" + kind + ";base64," + base64.StdEncoding.EncodeToString(data)
	}
}

func decoded(encoding string, r io.Reader) io.Reader {
	switch strings.ToLower(strings.TrimSpace(encoding)) {
	case "base64":
		return base64.NewDecoder(base64.StdEncoding, r)
	case "quoted-printable":
		return quotedprintable.NewReader(r)
	default:
		return r
	}
}
