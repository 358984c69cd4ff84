// Package inbox reads mail that comes back: who it is from and whether that can be
// believed, which question it answers, what it says in its first line, which files
// are attached, and which of our own mails a server could not deliver. It decides
// nothing: package replies does.
package inbox

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/mail"
	"regexp"
	"slices"
	"strings"

	message "github.com/emersion/go-message"
	_ "github.com/emersion/go-message/charset" // mails are written in many character sets
	"github.com/emersion/go-message/textproto"
)

// Limits bound what is read of one mail.
type Limits struct {
	Bytes int // of the whole mail as it came
	Parts int
	Depth int // of parts within parts
}

// DefaultLimits are the limits that the daemon uses: a list or a form is far below them.
var DefaultLimits = Limits{Bytes: 10 << 20, Parts: 50, Depth: 8}

// Letter is one mail as it was read.
type Letter struct {
	// From are the addresses of all From headers, in lower case. A mail that can be
	// believed has one.
	From []string
	// Name is the display name of the sender in the first of them.
	Name    string
	Subject string
	// ID is the Message-ID without brackets.
	ID string
	// Tokens are the marks in the subject and in the addresses it went to.
	Tokens []Written
	// Automatic reports that a machine wrote it: never answered, never acted on.
	Automatic bool
	// Text is the whole text; Said are the sender's own lines of it, without what is
	// quoted or forwarded below or above.
	Text string
	Said []string
	// Files are the attachments that have a name.
	Files []File
	// Bounce tells of mails of ours that were not delivered; nil = it is no such notice.
	Bounce *Bounce
	// Closed says why nothing of the text can be read: encrypted, for instance; empty = it can.
	Closed string
	// headers are the header fields as they stand, for the questions of trust.
	headers []field
	raw     []byte
}

// File is an attachment.
type File struct {
	Name string
	Data []byte
}

// Fault says why a mail is not read at all. It is a sentence for the owner.
type Fault struct{ Why string }

// Error returns the sentence.
func (f *Fault) Error() string { return f.Why }

// field is one header field, unfolded.
type field struct{ name, value string }

// Read reads a mail as it came over the wire (RFC 5322, MIME). A mail beyond the
// limits is a *Fault. One with malformed headers is read as far as it goes: what
// is no header field is left out.
func Read(raw []byte, lim Limits) (*Letter, error) {
	if len(raw) > lim.Bytes {
		return nil, &Fault{fmt.Sprintf("it is larger than %d MB", lim.Bytes>>20)}
	}
	l := &Letter{raw: raw}
	head, body := split(raw)
	l.headers = fields(head)
	if len(l.headers) == 0 {
		return nil, &Fault{"it has no headers, so it is no mail"}
	}
	l.addresses()
	l.Subject = decoded(l.first("Subject"))
	l.ID = strings.Trim(strings.TrimSpace(l.first("Message-ID")), "<>")
	where := l.Subject
	for _, name := range []string{"To", "Cc", "Delivered-To", "X-Original-To"} {
		for _, v := range l.all(name) {
			where += "\n" + v
		}
	}
	l.Tokens = findTokens(where)
	l.Automatic = l.automatic()
	r := &reader{letter: l, limits: lim}
	entity, err := message.New(message.Header{Header: l.header()}, bytes.NewReader(body))
	if err != nil && !message.IsUnknownCharset(err) && !message.IsUnknownEncoding(err) {
		return nil, &Fault{"its parts cannot be told apart: " + err.Error()}
	}
	if err := r.part(entity, 0); err != nil {
		return nil, err
	}
	l.Text = r.words()
	l.Said = said(l.Text)
	l.findBounce(r)
	return l, nil
}

// split parts a mail at its first empty line.
func split(raw []byte) (head, body []byte) {
	for at := 0; at < len(raw); {
		end := bytes.IndexByte(raw[at:], '\n')
		if end < 0 {
			break
		}
		if line := raw[at : at+end]; len(line) == 0 || len(line) == 1 && line[0] == '\r' {
			return raw[:at], raw[at+end+1:]
		}
		at += end + 1
	}
	return raw, nil
}

var fieldName = regexp.MustCompile(`^[!-9;-~]+$`) // RFC 5322, 3.6.8

// mostFields is more than honest mails have after many servers.
const mostFields = 500

// fields reads header fields and leaves out lines that are none.
func fields(head []byte) []field {
	var out []field
	sc := bufio.NewScanner(bytes.NewReader(head))
	sc.Buffer(nil, len(head)+1)
	open := false
	for sc.Scan() && len(out) < mostFields {
		line := strings.TrimRight(sc.Text(), "\r")
		if line != "" && (line[0] == ' ' || line[0] == '\t') {
			if open {
				out[len(out)-1].value += " " + strings.TrimSpace(line)
			}
			continue
		}
		name, value, ok := strings.Cut(line, ":")
		name = strings.TrimRight(name, " \t")
		if open = ok && fieldName.MatchString(name); open {
			out = append(out, field{name, strings.TrimSpace(value)})
		}
	}
	return out
}

func (l *Letter) all(name string) []string {
	var out []string
	for _, f := range l.headers {
		if strings.EqualFold(f.name, name) {
			out = append(out, f.value)
		}
	}
	return out
}

// first returns the topmost field of that name, which the last server wrote.
func (l *Letter) first(name string) string {
	if all := l.all(name); len(all) > 0 {
		return all[0]
	}
	return ""
}

// header returns the headers that the MIME reader needs, without those that would make it fail.
func (l *Letter) header() textproto.Header {
	var h textproto.Header
	for _, f := range slices.Backward(l.headers) {
		if strings.HasPrefix(strings.ToLower(f.name), "content-") {
			h.Add(f.name, f.value)
		}
	}
	return h
}

// addresses reads who a mail says it is from. A From that cannot be read is
// nobody, which no list of addresses holds.
func (l *Letter) addresses() {
	parser := mail.AddressParser{WordDecoder: words}
	for _, v := range l.all("From") {
		list, err := parser.ParseList(v)
		if err != nil {
			l.From = append(l.From, "")
			continue
		}
		for _, a := range list {
			if l.Name == "" {
				l.Name = a.Name
			}
			l.From = append(l.From, strings.ToLower(a.Address))
		}
	}
}

// Content returns the SHA-256 hash of what the sender wrote: From, Date, Subject, text and files, and
// of a notice of failure the mail that it is about. Servers on the way add to the rest,
// and so may somebody who sends a mail once more.
func (l *Letter) Content() []byte {
	h := sha256.New()
	parts := []string{l.Sender(), l.first("Date"), l.Subject, l.Text}
	for _, f := range l.Files {
		parts = append(parts, f.Name, string(f.Data))
	}
	if l.Bounce != nil {
		parts = append(parts, l.Bounce.MessageID)
	}
	for _, part := range parts {
		fmt.Fprintf(h, "%d:%s", len(part), part)
	}
	return h.Sum(nil)
}

// Sender returns the address in From; empty where there is none or more than one.
func (l *Letter) Sender() string {
	if len(l.From) != 1 {
		return ""
	}
	return l.From[0]
}

// automatic reports whether a machine sent the mail: it says so in a header (RFC 3834,
// section 2; RFC 2076, section 3.9) or, like a notice of failure, has no sender in its envelope.
func (l *Letter) automatic() bool {
	if v := strings.ToLower(l.first("Auto-Submitted")); v != "" && !strings.HasPrefix(v, "no") {
		return true
	}
	switch strings.ToLower(l.first("Precedence")) {
	case "bulk", "list", "junk", "auto_reply":
		return true
	}
	for _, name := range []string{"List-Id", "List-Unsubscribe", "X-Autoreply", "X-Autorespond"} {
		if l.first(name) != "" {
			return true
		}
	}
	return strings.ReplaceAll(l.first("Return-Path"), " ", "") == "<>"
}

var words = &mime.WordDecoder{CharsetReader: charsetReader}

func charsetReader(charset string, r io.Reader) (io.Reader, error) {
	if message.CharsetReader == nil {
		return nil, errors.New("unknown character set")
	}
	return message.CharsetReader(charset, r)
}

func decoded(s string) string {
	if d, err := words.DecodeHeader(s); err == nil {
		return d
	}
	return s
}
