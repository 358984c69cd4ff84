package message

import (
	"bytes"
	"errors"
	"fmt"
	"net/mail"
	"strings"
	"time"

	gomail "github.com/wneessen/go-mail"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// Envelope holds what a message needs besides its contents to be sent.
type Envelope struct {
	From programme.Contact
	// To replaces the message's own addresses, since one refused recipient
	// would stop a message for all: the outbox keeps one copy for each.
	To []programme.Contact
	// Date of the header, in the zone that people read.
	Date time.Time
	// MessageID without brackets; empty = the mail's ID at the sender's domain.
	MessageID string
}

// ErrNoAddress says that a message has no usable address.
var ErrNoAddress = errors.New("no usable mail address")

// Bytes writes the message as it goes over the wire (RFC 5322, MIME). Two
// calls differ only in the boundaries between the parts: keep what was written
// once and send that.
func (m Mail) Bytes(env Envelope) ([]byte, error) {
	msg := gomail.NewMsg(gomail.WithNoDefaultUserAgent())
	if err := m.address(msg, env); err != nil {
		return nil, fmt.Errorf("write message %s: %w", m.ID, err)
	}
	msg.SetDateWithValue(env.Date)
	id := env.MessageID
	if id == "" {
		id = m.MessageID(env.From, "")
	}
	msg.SetMessageIDWithValue(id)
	msg.Subject(clean.Line(m.Subject))
	m.automatic(msg)
	msg.SetBodyString(gomail.TypeTextPlain, m.Text)
	msg.AddAlternativeString(gomail.TypeTextHTML, m.HTML)
	m.attach(msg)
	if err := m.attachForward(msg, env); err != nil {
		return nil, fmt.Errorf("write message %s: %w", m.ID, err)
	}
	var b bytes.Buffer
	b.Grow(m.size())
	if _, err := msg.WriteTo(&b); err != nil {
		return nil, fmt.Errorf("write message %s: %w", m.ID, err)
	}
	return b.Bytes(), nil
}

// automatic says that no person wrote the message, so that no holiday reply comes
// back (RFC 3834, section 5). A draft is a person's.
func (m Mail) automatic(msg *gomail.Msg) {
	switch {
	case m.Draft:
		msg.SetGenHeader("X-Unsent", "1") // mail programs open such a file for editing
	case m.InReplyTo != "":
		msg.SetGenHeader("Auto-Submitted", "auto-replied")
		answered := "<" + clean.Line(m.InReplyTo) + ">"
		msg.SetGenHeader("In-Reply-To", answered)
		msg.SetGenHeader("References", answered)
	default:
		msg.SetGenHeader("Auto-Submitted", "auto-generated")
	}
}

// MessageID returns an ID for the message when it comes from there: its own ID,
// after a dot the mark if there is one, and the sender's domain.
func (m Mail) MessageID(from programme.Contact, mark string) string {
	_, domain, ok := strings.Cut(from.Email, "@")
	if !ok || domain == "" {
		domain = "kitmuster.invalid"
	}
	local := m.ID
	if mark != "" {
		local += "." + mark
	}
	return local + "@" + domain
}

func (m Mail) address(msg *gomail.Msg, env Envelope) error {
	to := env.To
	if len(to) == 0 {
		to = m.To
	}
	if len(to) == 0 {
		return fmt.Errorf("to nobody: %w", ErrNoAddress)
	}
	if err := CheckAddress(env.From.Email); err != nil {
		return err
	}
	if err := msg.From(written(env.From)); err != nil {
		return err
	}
	for _, c := range to {
		if err := CheckAddress(c.Email); err != nil {
			return err
		}
		if err := msg.AddTo(written(c)); err != nil {
			return err
		}
	}
	if m.ReplyTo.Email == "" || m.ReplyTo.Email == env.From.Email {
		return nil
	}
	if err := CheckAddress(m.ReplyTo.Email); err != nil {
		return err
	}
	return msg.ReplyTo(written(m.ReplyTo))
}

// written returns a contact as it stands in a header, with its name quoted or
// encoded as it needs to be: a name may hold quotes and commas.
func written(c programme.Contact) string {
	return (&mail.Address{Name: clean.Short(c.Name), Address: c.Email}).String()
}

// CheckAddress refuses what is not one plain address with a domain, in ASCII:
// servers without SMTPUTF8 would refuse others.
func CheckAddress(s string) error {
	a, err := mail.ParseAddress(s)
	_, domain, _ := strings.Cut(s, "@")
	ascii := strings.IndexFunc(s, func(r rune) bool { return r > 126 || r <= ' ' }) < 0
	if err != nil || a.Address != s || !ascii || !strings.Contains(strings.Trim(domain, "."), ".") {
		if !ascii && strings.Contains(s, "@") {
			return fmt.Errorf("%q has letters beyond plain ASCII: write the part after the @ as mail servers know it, such as xn--mller-kva.example for müller.example, and before the @ plain letters alone: %w",
				clean.Short(s), ErrNoAddress)
		}
		return fmt.Errorf("%q is not a mail address such as anna@example.com: %w", clean.Short(s), ErrNoAddress)
	}
	return nil
}

func (m Mail) attach(msg *gomail.Msg) {
	for _, p := range m.Inline {
		msg.EmbedReadSeeker(p.Name, bytes.NewReader(p.Data),
			gomail.WithFileContentType(gomail.ContentType(p.Type)), gomail.WithFileContentID("<"+p.CID+">"))
	}
	for _, p := range m.Attachments {
		msg.AttachReadSeeker(p.Name, bytes.NewReader(p.Data), gomail.WithFileContentType(gomail.ContentType(p.Type)))
	}
}

// attachForward attaches what is to be sent on as a message of its own, from
// whoever sends it on; it opens for sending (RFC 2046, 5.2.1: without base64).
func (m Mail) attachForward(msg *gomail.Msg, env Envelope) error {
	if m.Forward == nil || len(m.To) == 0 {
		return nil
	}
	draft, err := m.AsDraft().Bytes(Envelope{From: m.To[0], Date: env.Date})
	if err != nil {
		return fmt.Errorf("draft to forward: %w", err)
	}
	msg.AttachReadSeeker(m.Forward.ID+"-to-forward.eml", bytes.NewReader(draft),
		gomail.WithFileContentType("message/rfc822"), gomail.WithFileEncoding(gomail.NoEncoding))
	return nil
}
