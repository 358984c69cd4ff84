package folder

import (
	"encoding/base64"
	"html"
	"strings"

	"github.com/kitmuster/kitmuster/notify/parts"
)

// found holds the parts of a mail that a page is made of.
type found struct {
	html, text string
	pictures   map[string]string // content ID -> data URL
}

// Preview returns a message's HTML as a page for the browser, its pictures
// inside; a message without HTML shows its text. It loads nothing from elsewhere.
func Preview(message []byte) ([]byte, error) {
	f, err := find(message)
	if err != nil {
		return nil, err
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
	f, err := find(message)
	if err != nil {
		return "", err
	}
	return strings.ReplaceAll(f.text, "\r\n", "\n"), nil
}

func find(message []byte) (found, error) {
	f := found{pictures: map[string]string{}}
	_, err := parts.Read(message, f.keep)
	return f, err
}

func (f *found) keep(p parts.Part) {
	cid := strings.Trim(p.Header.Get("Content-ID"), "<>")
	switch {
	case strings.HasPrefix(strings.ToLower(p.Header.Get("Content-Disposition")), "attachment"):
	case p.Kind == "text/html" && f.html == "":
		f.html = string(p.Data)
	case p.Kind == "text/plain" && f.text == "":
		f.text = string(p.Data)
	case strings.HasPrefix(p.Kind, "image/") && cid != "":
		f.pictures[cid] = "data:" + p.Kind + ";base64," + base64.StdEncoding.EncodeToString(p.Data)
	}
}
