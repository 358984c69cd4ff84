package smtp

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"net"
	"net/textproto"
	"os"
	"strconv"
	"strings"
	"syscall"
	"time"

	gosmtp "github.com/wneessen/go-mail/smtp"

	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme/clean"
)

// session is one conversation with the server; it takes many messages.
type session struct {
	sender *Sender
	conn   *gosmtp.Client
	wire   *wire
	used   bool
}

// Send delivers a letter to one recipient: exactly its stored bytes, with line
// ends as the protocol wants them.
func (s *session) Send(ctx context.Context, l *outbox.Letter, to string) error {
	if most := s.most(); most > 0 && len(l.Bytes) > most {
		return s.sender.tooLarge(len(l.Bytes), most)
	}
	if err := ctx.Err(); err != nil { // the wire closes in a goroutine of its own, perhaps after the last step
		return s.sender.refusal("MAIL", l.From, err)
	}
	stop := context.AfterFunc(ctx, s.wire.close)
	defer stop()
	steps := []struct {
		name, of string
		do       func() error
	}{
		{"RSET", "", s.reset},
		{"MAIL", l.From, func() error { return s.conn.Mail("<" + l.From + ">") }},
		{"RCPT", to, func() error { return s.conn.Rcpt("<" + to + ">") }},
	}
	for _, step := range steps {
		if err := s.step(step.do); err != nil {
			return s.sender.refusal(step.name, step.of, err)
		}
	}
	return s.data(l, to)
}

// most returns the greatest message that may be sent, 0 = not known: what the settings
// allow and what the server has said that it takes (RFC 1870).
func (s *session) most() int {
	most := s.sender.settings.Most
	if ok, said := s.conn.Extension("SIZE"); ok {
		if n, err := strconv.Atoi(strings.TrimSpace(said)); err == nil && n > 0 && (most == 0 || n < most) {
			most = n
		}
	}
	return most
}

// tooLarge is the result of a message that is not even offered to the server.
func (s *Sender) tooLarge(size, most int) error {
	return &outbox.Result{Outcome: outbox.Permanent, Code: 552, TooLarge: true, Most: most,
		Says: fmt.Sprintf("the message has %.1f MB, and no more than %.1f MB may go to the mail server %s",
			float64(size)/1e6, float64(most)/1e6, s.settings.Host)}
}

// tooLarge reports whether a reply refuses a message for its size (RFC 1870
// section 6, RFC 3463 5.3.4), and not, with the same code, a full mailbox.
func tooLarge(step string, reply *textproto.Error) bool {
	return step != "RSET" && step != "RCPT" &&
		(reply.Code == 552 && !strings.HasPrefix(reply.Msg, "5.2.2") ||
			reply.Code >= 500 && strings.HasPrefix(reply.Msg, "5.3.4"))
}

func (s *session) step(do func() error) error {
	if err := s.conn.UpdateDeadline(s.sender.settings.Step); err != nil {
		return err
	}
	return do()
}

// reset forgets what a refused message left behind.
func (s *session) reset() error {
	if !s.used {
		s.used = true
		return nil
	}
	return s.conn.Reset()
}

// data hands the bytes over. Without the dot at their end the server has no
// message (RFC 5321 section 4.1.1.4); after it a silence means that the server
// may have stored one.
func (s *session) data(l *outbox.Letter, to string) error {
	var w io.WriteCloser
	open := func() (err error) {
		w, err = s.conn.Data()
		return err
	}
	if err := s.step(open); err != nil {
		return s.sender.refusal("DATA", to, err)
	}
	_, err := w.Write(l.Bytes)
	if err == nil {
		err = s.conn.UpdateDeadline(s.sender.settings.afterDot())
	}
	if err != nil {
		return s.sender.refusal("DATA", to, err)
	}
	if err := w.Close(); err != nil {
		return s.sender.refusal(afterDot, to, err)
	}
	return nil
}

// afterDot names the step of the answer to a whole message.
const afterDot = "the end of DATA"

// goodbye bounds the wait for the answer to QUIT: nothing depends on it, and a
// daemon that is told to stop has little time.
const goodbye = 500 * time.Millisecond

// Close says goodbye and ends the connection.
func (s *session) Close() error {
	err := s.conn.UpdateDeadline(min(goodbye, s.sender.settings.Step))
	if err == nil {
		err = s.conn.Quit()
	}
	s.wire.close()
	return err
}

// refusal reads what went wrong with a message at a step that named an address.
// From the recipient on it is counted against the message: a server that hangs
// up on one address must not hold up the mail to all others. Before that it is of
// the connection, and the sentence leaves the address out: it is the same for
// all of them, and it is logged.
func (s *Sender) refusal(step, of string, err error) error {
	ofMessage := step != "RSET" && step != "MAIL"
	r := &outbox.Result{Err: err, Outcome: outbox.Unreachable, Broken: true}
	if reply, ok := errors.AsType[*textproto.Error](err); ok {
		r.Code = reply.Code
		r.Says = fmt.Sprintf("the mail server %s answered %d %s to %s", s.settings.Host, reply.Code,
			oneLine(reply.Msg), step)
		r.Outcome, r.Broken = s.outcome(step, reply.Code, ofMessage)
		r.TooLarge = r.Outcome == outbox.Permanent && tooLarge(step, reply)
		r.Sender = r.Outcome == outbox.Permanent && step == "MAIL" && !r.TooLarge
		if !r.Broken || ofMessage {
			r.Says += " for " + of
		}
		return r
	}
	r.Says = fmt.Sprintf("the mail server %s went silent at %s: %s", s.settings.Host, step, plain(err))
	switch {
	case step == afterDot:
		r.Outcome = outbox.Unknown
	case ofMessage:
		r.Outcome = outbox.Temporary
	}
	return r
}

// outcome reads a reply code (RFC 5321 section 4.2.1, RFC 4954 section 6).
func (s *Sender) outcome(step string, code int, ofMessage bool) (o outbox.Outcome, broken bool) {
	wantsLogin := code == 530 || code == 535 || code == 538
	switch {
	case code == 421 && ofMessage: // it closes the connection
		return outbox.Temporary, true
	case code == 421, step == "RSET":
		return outbox.Unreachable, true
	case wantsLogin && !ofMessage:
		return outbox.BadLogin, true
	case wantsLogin && s.settings.User == "": // to this address it would take a login to send
		return outbox.Temporary, false
	case code >= 500:
		return outbox.Permanent, false
	}
	return outbox.Temporary, false
}

// loginResult reads the answer to a login: 4xx is the server's trouble, 5xx ours.
func (s *Sender) loginResult(err error) error {
	if err == nil {
		return nil
	}
	var reply *textproto.Error
	if errors.As(err, &reply) && reply.Code >= 500 {
		return &outbox.Result{Outcome: outbox.BadLogin, Code: reply.Code, Broken: true, Err: err,
			Says: fmt.Sprintf("the mail server %s answered %d %s to the login of %s", address(s.settings), reply.Code,
				oneLine(reply.Msg), s.settings.User)}
	}
	return s.unreachable("log in at", err)
}

func (s *Sender) unreachable(doing string, err error) error {
	r := &outbox.Result{Outcome: outbox.Unreachable, Broken: true, Err: err}
	if reply, ok := errors.AsType[*textproto.Error](err); ok {
		r.Code = reply.Code
	}
	r.Says = fmt.Sprintf("could not %s the mail server %s: %s", doing, address(s.settings), plain(err))
	return r
}

// plain says what happened in the same words at every try: no port numbers
// that change, no nesting.
func plain(err error) string {
	var certificate *tls.CertificateVerificationError
	var dns *net.DNSError
	var reply *textproto.Error
	switch {
	case errors.Is(err, os.ErrDeadlineExceeded), errors.Is(err, context.DeadlineExceeded):
		return "no answer in time"
	case errors.Is(err, syscall.ECONNREFUSED):
		return "connection refused; is the port right and the server running?"
	case errors.Is(err, syscall.ECONNRESET), errors.Is(err, syscall.EPIPE):
		return "the connection was cut"
	case errors.Is(err, net.ErrClosed), errors.Is(err, context.Canceled):
		return "stopped while waiting for the server"
	case errors.As(err, &certificate):
		return "its certificate is not right, so nothing is sent: " + oneLine(certificate.Err.Error())
	case errors.As(err, &dns):
		return "its name " + dns.Name + " could not be found"
	case errors.As(err, &reply):
		return fmt.Sprintf("it answered %d %s", reply.Code, oneLine(reply.Msg))
	case err.Error() == "EOF":
		return "it closed the connection"
	case strings.Contains(err.Error(), "does not support STARTTLS"): // the library has no error of its own for it
		return "it offers no STARTTLS, so nothing is sent; ask the mail provider for port and security"
	}
	return oneLine(err.Error())
}

// oneLine keeps a server's words to one line of a reasonable length.
func oneLine(s string) string { return clean.Cut(clean.Line(s), 300) }
