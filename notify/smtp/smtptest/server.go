// Package smtptest runs a mail server on loopback for tests: TLS with a made-up
// certificate, login, and answers chosen by recipient.
package smtptest

import (
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io"
	"math/big"
	"net"
	"sync"
	"testing"
	"time"

	"github.com/emersion/go-sasl"
	gosmtp "github.com/emersion/go-smtp"
	"github.com/stretchr/testify/require"
)

// User and Password are what the server takes.
const (
	User     = "shop"
	Password = "correct-horse-battery"
)

// Received is one accepted message.
type Received struct {
	From, To string
	Bytes    []byte
}

// Server is a running mail server.
type Server struct {
	Host  string
	Port  int
	Roots *x509.CertPool

	server   *gosmtp.Server
	listener net.Listener

	mu       sync.Mutex
	received []Received
	accepts  int
	logins   int
	answers  map[string]error
	silent   bool
	held     *held
	hangs    string
	most     int
}

// Start runs a server until the test ends; protect is "starttls" or "tls".
func Start(t testing.TB, protect string) *Server {
	t.Helper()
	cert, roots := certificate(t)
	s := &Server{Host: "localhost", Roots: roots, answers: map[string]error{}}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	s.Port = l.Addr().(*net.TCPAddr).Port
	s.server = gosmtp.NewServer(gosmtp.BackendFunc(func(c *gosmtp.Conn) (gosmtp.Session, error) {
		return &talk{server: s, conn: c}, nil
	}))
	s.server.Domain = "localhost"
	s.server.MaxLineLength = 1 << 16
	s.server.ErrorLog = quiet{}
	s.listener = counting{l, s}
	switch protect {
	case "tls":
		s.listener = tls.NewListener(s.listener, &tls.Config{Certificates: []tls.Certificate{cert}})
	case "starttls":
		s.server.TLSConfig = &tls.Config{Certificates: []tls.Certificate{cert}}
	default:
		s.server.AllowInsecureAuth = true
	}
	go func() { _ = s.server.Serve(s.listener) }()
	t.Cleanup(s.Stop)
	return s
}

// Stop ends the server and its conversations.
func (s *Server) Stop() {
	_ = s.listener.Close()
	_ = s.server.Close()
}

// Answer makes the server refuse what is for a recipient with a code, until
// code 0 takes it again.
func (s *Server) Answer(to string, code int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if code == 0 {
		delete(s.answers, to)
		return
	}
	s.answers[to] = &gosmtp.SMTPError{Code: code, EnhancedCode: gosmtp.EnhancedCode{code / 100, 1, 1},
		Message: "as asked by the test"}
}

// Limit makes the server refuse larger messages with 552 after their bytes; it
// says so beforehand only where announced. To be called before anybody connects.
func (s *Server) Limit(most int, announced bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.most = most
	if announced {
		s.server.MaxMessageBytes = int64(most)
	}
}

// HangUpOn makes the server cut the connection when it hears of a recipient.
func (s *Server) HangUpOn(to string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.hangs = to
}

// SilentAfterData makes the server store messages and never say so.
func (s *Server) SilentAfterData(on bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.silent = on
}

// held is a message that waits for its answer.
type held struct{ begun, released chan struct{} }

// HoldData makes the next message wait for its answer: begun is closed when the
// server has its bytes, and release lets it take the message.
func (s *Server) HoldData() (begun <-chan struct{}, release func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	h := &held{make(chan struct{}), make(chan struct{})}
	s.held = h
	return h.begun, sync.OnceFunc(func() { close(h.released) })
}

// wait holds the conversation up where a test asked for it.
func (s *Server) wait() {
	s.mu.Lock()
	h := s.held
	s.held = nil
	s.mu.Unlock()
	if h != nil {
		close(h.begun)
		<-h.released
	}
}

// Received returns what was accepted, in order.
func (s *Server) Received() []Received {
	s.mu.Lock()
	defer s.mu.Unlock()
	return append([]Received(nil), s.received...)
}

// For returns the bytes accepted for a recipient.
func (s *Server) For(to string) [][]byte {
	var all [][]byte
	for _, r := range s.Received() {
		if r.To == to {
			all = append(all, r.Bytes)
		}
	}
	return all
}

// Connections returns how many connections and how many tries to log in there were.
func (s *Server) Connections() (accepts, logins int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.accepts, s.logins
}

type counting struct {
	net.Listener
	s *Server
}

func (l counting) Accept() (net.Conn, error) {
	c, err := l.Listener.Accept()
	if err == nil {
		l.s.mu.Lock()
		l.s.accepts++
		l.s.mu.Unlock()
	}
	return c, err
}

type quiet struct{}

func (quiet) Printf(string, ...any) {}
func (quiet) Println(...any)        {}

// talk is one conversation.
type talk struct {
	server   *Server
	conn     *gosmtp.Conn
	from, to string
}

var errLogin = &gosmtp.SMTPError{Code: 535, EnhancedCode: gosmtp.EnhancedCode{5, 7, 8},
	Message: "wrong user or password"}

func (*talk) AuthMechanisms() []string { return []string{sasl.Plain} }

func (c *talk) Auth(string) (sasl.Server, error) {
	return sasl.NewPlainServer(func(_, user, password string) error {
		c.server.mu.Lock()
		c.server.logins++
		c.server.mu.Unlock()
		if user != User || password != Password {
			return errLogin
		}
		return nil
	}), nil
}

func (c *talk) Reset()        { c.from, c.to = "", "" }
func (c *talk) Logout() error { return nil }

func (c *talk) Mail(from string, _ *gosmtp.MailOptions) error {
	c.from = from
	return nil
}

func (c *talk) Rcpt(to string, _ *gosmtp.RcptOptions) error {
	c.server.mu.Lock()
	defer c.server.mu.Unlock()
	if c.server.hangs == to {
		_ = c.conn.Conn().Close()
		return errors.New("hung up")
	}
	if err := c.server.answers[to]; err != nil {
		return err
	}
	c.to = to
	return nil
}

func (c *talk) Data(r io.Reader) error {
	b, err := io.ReadAll(r)
	if err != nil {
		return err
	}
	c.server.wait()
	c.server.mu.Lock()
	if c.server.most > 0 && len(b) > c.server.most {
		c.server.mu.Unlock()
		return &gosmtp.SMTPError{Code: 552, EnhancedCode: gosmtp.EnhancedCode{5, 3, 4}, Message: "message too big"}
	}
	c.server.received = append(c.server.received, Received{c.from, c.to, b})
	silent := c.server.silent
	c.server.mu.Unlock()
	if silent {
		time.Sleep(5 * time.Second)
		return errors.New("too late")
	}
	return nil
}

func certificate(t testing.TB) (tls.Certificate, *x509.CertPool) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	template := &x509.Certificate{SerialNumber: big.NewInt(1), DNSNames: []string{"localhost"},
		IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		NotBefore:   time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), IsCA: true,
		BasicConstraintsValid: true,
		KeyUsage:              x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	require.NoError(t, err)
	parsed, err := x509.ParseCertificate(der)
	require.NoError(t, err)
	roots := x509.NewCertPool()
	roots.AddCert(parsed)
	return tls.Certificate{Certificate: [][]byte{der}, PrivateKey: key}, roots
}
