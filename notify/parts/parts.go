// Package parts reads the parts of mails that this house wrote.
package parts

import (
	"bytes"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"mime/quotedprintable"
	"net/mail"
	"strings"
)

// Part is one part of a message that has no parts itself.
type Part struct {
	Kind   string // media type; text/plain where the header says none
	Header func(key string) string
	Data   []byte // decoded (RFC 2045 section 6)
}

// deepest is the depth of nesting up to which parts are read; ours nest three deep.
const deepest = 8

// Read parses a message and gives each of its parts to keep, in the order in which they stand.
func Read(message []byte, keep func(Part)) (mail.Header, error) {
	m, err := mail.ReadMessage(bytes.NewReader(message))
	if err != nil {
		return nil, fmt.Errorf("read message: %w", err)
	}
	if err := walk(m.Header.Get, m.Body, 0, keep); err != nil {
		return nil, fmt.Errorf("read message: %w", err)
	}
	return m.Header, nil
}

// walk reads one part and those within it.
func walk(header func(string) string, body io.Reader, depth int, keep func(Part)) error {
	if depth > deepest {
		return errors.New("parts are nested too deep")
	}
	kind, params, err := mime.ParseMediaType(header("Content-Type"))
	if err != nil {
		kind = "text/plain"
	}
	if strings.HasPrefix(kind, "multipart/") {
		list := multipart.NewReader(body, params["boundary"])
		for {
			p, err := list.NextRawPart()
			if errors.Is(err, io.EOF) {
				return nil
			}
			if err != nil {
				return err
			}
			if err := walk(p.Header.Get, p, depth+1, keep); err != nil {
				return err
			}
		}
	}
	switch strings.ToLower(strings.TrimSpace(header("Content-Transfer-Encoding"))) {
	case "base64":
		body = base64.NewDecoder(base64.StdEncoding, body)
	case "quoted-printable":
		body = quotedprintable.NewReader(body)
	}
	data, err := io.ReadAll(body)
	if err != nil {
		return err
	}
	keep(Part{kind, header, data})
	return nil
}
