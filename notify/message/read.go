package message

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

	"github.com/kitmuster/kitmuster/programme"
)

// Read reads a message that Bytes wrote: its contents and its envelope. Kind,
// ID and Warnings are not in it. It is not for the mails of others.
func Read(written []byte) (m Mail, env Envelope, err error) {
	r, err := mail.ReadMessage(bytes.NewReader(written))
	if err != nil {
		return m, env, fmt.Errorf("read message: %w", err)
	}
	var words mime.WordDecoder
	if m.Subject, err = words.DecodeHeader(r.Header.Get("Subject")); err != nil {
		return m, env, fmt.Errorf("read message: %w", err)
	}
	env.MessageID = strings.Trim(r.Header.Get("Message-ID"), "<>")
	m.Draft = r.Header.Get("X-Unsent") != ""
	from, reply := contacts(r.Header, "From"), contacts(r.Header, "Reply-To")
	m.To = contacts(r.Header, "To")
	if len(from) == 0 || len(m.To) == 0 {
		return m, env, fmt.Errorf("read message: %w", ErrNoAddress)
	}
	env.From = from[0]
	if len(reply) > 0 {
		m.ReplyTo = reply[0]
	}
	if env.Date, err = r.Header.Date(); err != nil {
		return m, env, fmt.Errorf("read message: %w", err)
	}
	if err := m.readPart(r.Header.Get, r.Body, 0); err != nil {
		return m, env, fmt.Errorf("read message: %w", err)
	}
	return m, env, nil
}

func contacts(h mail.Header, key string) (all []programme.Contact) {
	list, err := h.AddressList(key)
	if err != nil {
		return nil // not there
	}
	for _, a := range list {
		all = append(all, programme.Contact{Name: a.Name, Email: a.Address})
	}
	return all
}

var errDeep = errors.New("parts are nested too deep")

// readPart reads one part and those within it.
func (m *Mail) readPart(header func(string) string, body io.Reader, depth int) error {
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
			if err := m.readPart(p.Header.Get, p, depth+1); err != nil {
				return err
			}
		}
	}
	switch strings.ToLower(header("Content-Transfer-Encoding")) {
	case "base64":
		body = base64.NewDecoder(base64.StdEncoding, body)
	case "quoted-printable":
		body = quotedprintable.NewReader(body)
	}
	data, err := io.ReadAll(body)
	if err != nil {
		return err
	}
	m.keep(kind, header, data)
	return nil
}

func (m *Mail) keep(kind string, header func(string) string, data []byte) {
	how, params, _ := mime.ParseMediaType(header("Content-Disposition")) // none is that of a text
	part := Part{Name: params["filename"], Type: kind, CID: strings.Trim(header("Content-ID"), "<>"), Data: data}
	switch {
	case how == "attachment":
		part.CID = ""
		m.Attachments = append(m.Attachments, part)
	case part.CID != "":
		m.Inline = append(m.Inline, part)
	case kind == "text/html":
		m.HTML = strings.ReplaceAll(string(data), "\r\n", "\n")
	case kind == "text/plain":
		m.Text = strings.ReplaceAll(string(data), "\r\n", "\n")
	}
}
