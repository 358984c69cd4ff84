// Package parts reads the parts of mails that this house wrote.
package parts

import (
	"bytes"
	"fmt"
	"io"
	"strings"

	"github.com/emersion/go-message"
	"github.com/emersion/go-message/mail"
)

// Part is one part of a message that has no parts itself.
type Part struct {
	Kind   string // media type; text/plain where the header says none
	Header message.Header
	Data   []byte // decoded (RFC 2045 section 6)
}

// Read parses a message and gives each of its parts to keep, in the order in which they stand.
func Read(written []byte, keep func(Part)) (mail.Header, error) {
	whole, err := message.Read(bytes.NewReader(written))
	if err != nil {
		return mail.Header{}, fmt.Errorf("read message: %w", err)
	}
	err = whole.Walk(func(_ []int, e *message.Entity, err error) error {
		if err != nil {
			return err
		}
		kind, _, err := e.Header.ContentType()
		if err != nil {
			kind = "text/plain"
		}
		if strings.HasPrefix(kind, "multipart/") {
			return nil
		}
		data, err := io.ReadAll(e.Body)
		if err == nil {
			keep(Part{kind, e.Header, data})
		}
		return err
	})
	if err != nil {
		return mail.Header{}, fmt.Errorf("read message: %w", err)
	}
	return mail.Header{Header: whole.Header}, nil
}
