package message

import (
	"fmt"
	"strings"

	"github.com/emersion/go-message/mail"

	"github.com/kitmuster/kitmuster/notify/parts"
	"github.com/kitmuster/kitmuster/programme"
)

// Read reads a message that Bytes wrote: its contents and its envelope. Kind,
// ID and Warnings are not in it. It is not for the mails of others.
func Read(written []byte) (m Mail, env Envelope, err error) {
	header, err := parts.Read(written, m.keep)
	if err != nil {
		return m, env, err
	}
	if m.Subject, err = header.Subject(); err != nil {
		return m, env, fmt.Errorf("read message: %w", err)
	}
	env.MessageID = strings.Trim(header.Get("Message-ID"), "<>")
	m.Draft = header.Get("X-Unsent") != ""
	from, reply := contacts(header, "From"), contacts(header, "Reply-To")
	m.To = contacts(header, "To")
	if len(from) == 0 || len(m.To) == 0 {
		return m, env, fmt.Errorf("read message: %w", ErrNoAddress)
	}
	env.From = from[0]
	if len(reply) > 0 {
		m.ReplyTo = reply[0]
	}
	if env.Date, err = header.Date(); err != nil {
		return m, env, fmt.Errorf("read message: %w", err)
	}
	return m, env, nil
}

func contacts(h mail.Header, key string) (all []programme.Contact) {
	list, _ := h.AddressList(key) // an address that does not read is none
	for _, a := range list {
		all = append(all, programme.Contact{Name: a.Name, Email: a.Address})
	}
	return all
}

func (m *Mail) keep(p parts.Part) {
	how, params, _ := p.Header.ContentDisposition() // texts have none
	part := Part{Name: params["filename"], Type: p.Kind, CID: strings.Trim(p.Header.Get("Content-ID"), "<>"),
		Data: p.Data}
	switch {
	case how == "attachment":
		part.CID = ""
		m.Attachments = append(m.Attachments, part)
	case part.CID != "":
		m.Inline = append(m.Inline, part)
	case p.Kind == "text/html":
		m.HTML = strings.ReplaceAll(string(p.Data), "\r\n", "\n")
	case p.Kind == "text/plain":
		m.Text = strings.ReplaceAll(string(p.Data), "\r\n", "\n")
	}
}
