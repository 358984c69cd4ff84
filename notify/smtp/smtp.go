// Package smtp hands messages to a mail server (RFC 5321), over TLS unless the
// settings say otherwise, and tells what its answers mean.
package smtp

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"net"
	"strconv"
	"strings"
	"time"

	gomail "github.com/wneessen/go-mail"
	gosmtp "github.com/wneessen/go-mail/smtp"

	"github.com/kitmuster/kitmuster/notify/outbox"
)

// Security names the protection of the connection.
type Security string

// Ways of protection.
const (
	StartTLS Security = "starttls" // RFC 3207, mandatory: without it nothing is sent
	TLS      Security = "tls"      // from the first byte, RFC 8314
	Plain    Security = "none"     // for a server on the same machine
)

// Settings holds the server's address and how to connect to it.
type Settings struct {
	Host     string
	Port     int
	Security Security
	User     string // empty = no login
	Password string
	// Hello is the name given in EHLO; empty = localhost.
	Hello string
	// Step bounds the wait for each answer; 0 = 5 minutes. The answer to a whole
	// message may take twice as long, and each block of one three fifths of it: 10
	// and 3 minutes, as RFC 5321 section 4.5.3.2 asks at least.
	Step time.Duration
	// Most is the greatest size of a message in bytes; 0 = only the server's own
	// limit counts, where it names one (SIZE, RFC 1870).
	Most int
	// Roots replaces the machine's certificate authorities; nil keeps them.
	Roots *x509.CertPool
}

// String says where, without any secret, so that settings may be printed.
func (s Settings) String() string {
	return fmt.Sprintf("%s:%d (%s)", s.Host, s.Port, s.Security)
}

// GoString keeps the password out of %#v too.
func (s Settings) GoString() string { return s.String() }

func (s *Settings) afterDot() time.Duration { return 2 * s.Step }
func (s *Settings) block() time.Duration    { return s.Step * 3 / 5 }

// Sender is a mail server as a transport.
type Sender struct{ settings Settings }

// New returns a sender; it connects at Open.
func New(s Settings) *Sender {
	if s.Step <= 0 {
		s.Step = 5 * time.Minute
	}
	if s.Hello == "" {
		s.Hello = "localhost"
	}
	return &Sender{s}
}

// Name returns the word for this transport in records.
func (*Sender) Name() string { return "smtp" }

// Open connects, protects the connection and logs in. Its errors are Results:
// outbox.BadLogin when the server refuses user or password, and
// outbox.Unreachable for all else. Cancelling ctx ends the try at once; the
// session that it returns is ended by the contexts of its messages alone, so
// that a message in hand can be finished.
func (s *Sender) Open(ctx context.Context) (outbox.Session, error) {
	raw := &wire{ctx: ctx, block: s.settings.block(), connect: min(s.settings.Step, longestConnect)}
	client, err := gomail.NewClient(s.settings.Host, s.options(raw)...)
	if err != nil {
		return nil, s.unreachable("set up", err)
	}
	conn, err := client.DialToSMTPClientWithContext(ctx)
	if err != nil {
		raw.close()
		return nil, s.unreachable("connect to", err)
	}
	if s.settings.User != "" {
		if err := s.login(conn); err != nil {
			raw.close()
			return nil, err
		}
	}
	raw.stop()
	return &session{sender: s, conn: conn, wire: raw}, nil
}

// options builds the client without login: it would leave the connection open
// when the server refuses, and hide the reply code.
func (s *Sender) options(raw *wire) []gomail.Option {
	tlsConfig := &tls.Config{ServerName: s.settings.Host, MinVersion: tls.VersionTLS12, RootCAs: s.settings.Roots}
	policy := gomail.NoTLS
	if s.settings.Security == StartTLS {
		policy = gomail.TLSMandatory
	}
	dial := raw.dial
	if s.settings.Security == TLS {
		dial = func(ctx context.Context, network, address string) (net.Conn, error) {
			conn, err := raw.dial(ctx, network, address)
			if err != nil {
				return nil, err
			}
			protected := tls.Client(conn, tlsConfig)
			return protected, protected.HandshakeContext(ctx)
		}
	}
	return []gomail.Option{
		gomail.WithPort(s.settings.Port), gomail.WithTimeout(s.settings.Step), gomail.WithTLSPolicy(policy),
		gomail.WithTLSConfig(tlsConfig),
		gomail.WithHELO(s.settings.Hello), gomail.WithDialContextFunc(dial), gomail.WithoutNoop(),
		gomail.WithoutSMTPUTF8(),
	}
}

// login takes the strongest way that both sides know. Ways that show the
// password to the server are used over TLS alone, which the library enforces
// for every host but localhost.
func (s *Sender) login(conn *gosmtp.Client) error {
	ok, offered := conn.Extension("AUTH")
	if !ok {
		return s.unreachable("log in at", fmt.Errorf("the server offers no login, but a user is set"))
	}
	u, p, host := s.settings.User, s.settings.Password, s.settings.Host
	ways := []struct {
		name string
		auth func() gosmtp.Auth
	}{
		{"SCRAM-SHA-256", func() gosmtp.Auth { return gosmtp.ScramSHA256Auth(u, p) }},
		{"SCRAM-SHA-1", func() gosmtp.Auth { return gosmtp.ScramSHA1Auth(u, p) }},
		{"PLAIN", func() gosmtp.Auth { return gosmtp.PlainAuth("", u, p, host, false) }},
		{"LOGIN", func() gosmtp.Auth { return gosmtp.LoginAuth(u, p, host, false) }},
		{"CRAM-MD5", func() gosmtp.Auth { return gosmtp.CRAMMD5Auth(u, p) }},
	}
	for _, way := range ways {
		for name := range strings.FieldsSeq(offered) {
			if strings.EqualFold(name, way.name) {
				if err := conn.UpdateDeadline(s.settings.Step); err != nil {
					return s.unreachable("log in at", err)
				}
				return s.loginResult(conn.Auth(way.auth()))
			}
		}
	}
	return s.unreachable("log in at", fmt.Errorf("the server offers only %s", offered))
}

// wire holds the connection under the protocol, so that a cancelled context
// can end a conversation in which the server says nothing.
type wire struct {
	ctx     context.Context
	connect time.Duration // bounds making the connection
	block   time.Duration // bounds each write
	conn    net.Conn
	stop    func() bool
}

// longestConnect is the longest a machine may take to take a connection; who is
// there answers in a second, and nobody should wait for who is not.
const longestConnect = 30 * time.Second

// blocks is a connection on which every block of at most blockSize bytes has its
// own time: a long message over a slow line is no silence.
type blocks struct {
	net.Conn
	each time.Duration
}

const blockSize = 32 << 10

func (b blocks) Write(data []byte) (n int, err error) {
	for len(data) > 0 && err == nil {
		var m int
		if err = b.SetWriteDeadline(time.Now().Add(b.each)); err == nil {
			m, err = b.Conn.Write(data[:min(len(data), blockSize)])
		}
		n, data = n+m, data[m:]
	}
	return n, err
}

func (w *wire) dial(ctx context.Context, network, address string) (net.Conn, error) {
	conn, err := (&net.Dialer{Timeout: w.connect}).DialContext(ctx, network, address)
	if err != nil {
		return nil, err
	}
	conn = blocks{conn, w.block}
	w.conn = conn
	w.stop = context.AfterFunc(w.ctx, func() { _ = conn.Close() })
	return conn, nil
}

func (w *wire) close() {
	if w.conn != nil {
		w.stop()
		_ = w.conn.Close()
	}
}

func address(s Settings) string { return net.JoinHostPort(s.Host, strconv.Itoa(s.Port)) }
