package inbox

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"net"
	"slices"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"github.com/emersion/go-imap/v2"
	"github.com/emersion/go-imap/v2/imapclient"
)

// Mailbox is a folder of mails at a server, read over IMAP (RFC 9051). What is read
// stays there as it is, unread, unless Done names a folder to move it to.
type Mailbox struct {
	Host     string
	Port     int
	Security Security
	User     string
	Password string
	Folder   string // INBOX, usually
	Done     string // empty = nothing is moved
	// Step is the longest time that the server may be silent while it owes an answer.
	Step time.Duration
	// Roots are the certificates that vouch for the server; nil = the system's.
	Roots *x509.CertPool
}

// Security names the protection of the connection to a mailbox.
type Security string

// Ways to protect it.
const (
	TLS      Security = "tls"
	StartTLS Security = "starttls"
	Plain    Security = "none" // for a server on this machine alone
)

// Position marks how far a mailbox has been read. A number of a mail means something
// together with the validity that the server gave it; with another one all is new.
type Position struct{ Validity, Last uint32 }

// How many days of mail are looked through at the first contact, and where the server
// has numbered its mails anew: mails of that time that are known come to nothing.
const (
	firstDays = 7
	anewDays  = 60
)

// LoginError says that the server does not let the user in. Trying again does not help.
type LoginError struct {
	User, Host string
	Err        error
}

func (e *LoginError) Error() string {
	return fmt.Sprintf("the mail server %s does not let %s in: %v", e.Host, e.User, e.Err)
}

// Unwrap returns what the server said.
func (e *LoginError) Unwrap() error { return e.Err }

// Take hands each mail after a position to keep, in the order in which they came, and
// returns the position behind all of them. A mail that keep does not take ends it, so
// that none is passed over; the position is then at the last one taken.
func (m *Mailbox) Take(ctx context.Context, from Position, most int, now time.Time,
	keep func(name string, raw []byte, at Position) error) (Position, error) {
	s, err := m.open(ctx, nil)
	if err != nil {
		return from, err
	}
	defer s.close()
	uids, at, err := s.newer(from, now)
	if err != nil {
		return from, err
	}
	for _, uid := range uids {
		if ctx.Err() != nil {
			return at, ctx.Err()
		}
		raw, err := s.fetch(uid, most)
		if err != nil {
			return at, fmt.Errorf("read mail %d of %s: %w", uid, m.Folder, err)
		}
		next := Position{at.Validity, uint32(uid)}
		if raw != nil { // else another program has moved it meanwhile
			if err := keep(fmt.Sprintf("imap %s %d/%d", m.Folder, at.Validity, uid), raw, next); err != nil {
				return at, err
			}
		}
		at = next
		if err := s.moveAway(uid); raw != nil && err != nil {
			return at, err
		}
	}
	if n := uint32(s.box.UIDNext); n > 0 {
		at.Last = max(at.Last, n-1) // mails that went before anybody read them count as read
	}
	return at, nil
}

// Look opens the mailbox and says how many mails lie in it.
func (m *Mailbox) Look(ctx context.Context) (mails int, err error) {
	s, err := m.open(ctx, nil)
	if err != nil {
		return 0, err
	}
	defer s.close()
	if m.Done != "" {
		err = s.exists(m.Done)
	}
	return int(s.box.NumMessages), err
}

// Wait returns when there is mail after a position, when the server tells of new mail
// (IDLE, RFC 2177), or after a while; listening is called once it would tell. A server
// that does not tell is an error of type *NoIdle.
func (m *Mailbox) Wait(ctx context.Context, from Position, most time.Duration, listening func()) error {
	news := make(chan struct{}, 1)
	s, err := m.open(ctx, news)
	if err != nil {
		return err
	}
	defer s.close()
	if !s.client.Caps().Has(imap.CapIdle) {
		return &NoIdle{m.Host}
	}
	if from.Validity != s.validity() || uint32(s.box.UIDNext) > from.Last+1 {
		return nil
	}
	idle, err := answer(s, func() (*imapclient.IdleCommand, error) { return s.client.Idle() })
	if err != nil {
		return fmt.Errorf("wait for mail at %s: %w", m.Host, err)
	}
	listening()
	ended := make(chan error, 1)
	go func() { ended <- idle.Wait() }()
	t := time.NewTimer(most)
	defer t.Stop()
	select {
	case <-news:
	case <-t.C:
	case <-ctx.Done():
		return ctx.Err()
	case err := <-ended:
		return fmt.Errorf("wait for mail at %s: the connection ended: %w", m.Host,
			errors.Join(err, io.ErrUnexpectedEOF))
	}
	_, err = answer(s, func() (struct{}, error) {
		if err := idle.Close(); err != nil {
			return struct{}{}, err
		}
		return struct{}{}, <-ended
	})
	return err
}

// NoIdle says that a server does not tell of new mail.
type NoIdle struct{ Host string }

func (n *NoIdle) Error() string { return n.Host + " does not tell of new mail by itself" }

// session is one open mailbox.
type session struct {
	*Mailbox
	client *imapclient.Client
	conn   *watched
	box    *imap.SelectData
	stop   func() bool
}

// open connects, logs in and opens the folder.
func (m *Mailbox) open(ctx context.Context, news chan<- struct{}) (*session, error) {
	dialer := net.Dialer{Timeout: m.Step}
	raw, err := dialer.DialContext(ctx, "tcp", net.JoinHostPort(m.Host, strconv.Itoa(m.Port)))
	if err != nil {
		return nil, fmt.Errorf("reach the mail server: %w", err)
	}
	s := &session{Mailbox: m, conn: watch(raw, m.Step)}
	s.stop = context.AfterFunc(ctx, func() { _ = raw.Close() })
	if err := s.begin(news); err != nil {
		s.close()
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, err
	}
	return s, nil
}

func (s *session) begin(news chan<- struct{}) error {
	opt := &imapclient.Options{TLSConfig: &tls.Config{ServerName: s.Host, MinVersion: tls.VersionTLS12,
		RootCAs: s.Roots}, UnilateralDataHandler: &imapclient.UnilateralDataHandler{
		Mailbox: func(d *imapclient.UnilateralDataMailbox) {
			if d.NumMessages == nil || news == nil {
				return
			}
			select {
			case news <- struct{}{}:
			default:
			}
		},
	}}
	_, err := answer(s, func() (_ struct{}, err error) {
		switch s.Security {
		case TLS:
			safe := tls.Client(s.conn, opt.TLSConfig)
			if err := safe.Handshake(); err != nil {
				return struct{}{}, err
			}
			s.client = imapclient.New(safe, opt)
		case StartTLS:
			if s.client, err = imapclient.NewStartTLS(s.conn, opt); err != nil {
				return struct{}{}, err
			}
		case Plain:
			s.client = imapclient.New(s.conn, opt)
		default:
			return struct{}{}, fmt.Errorf("there is no security %q", s.Security)
		}
		return struct{}{}, s.client.WaitGreeting()
	})
	if err != nil {
		return fmt.Errorf("speak to the mail server %s: %w", s.Host, err)
	}
	if _, err := answer(s,
		func() (struct{}, error) { return struct{}{}, s.client.Login(s.User, s.Password).Wait() }); err != nil {
		var said *imap.Error
		if errors.As(err, &said) && said.Type == imap.StatusResponseTypeNo &&
			said.Code != imap.ResponseCodeUnavailable {
			return &LoginError{s.User, s.Host, err}
		}
		return fmt.Errorf("log in at %s: %w", s.Host, err)
	}
	s.box, err = answer(s, func() (*imap.SelectData, error) {
		return s.client.Select(s.Folder, &imap.SelectOptions{ReadOnly: s.Done == ""}).Wait()
	})
	if err != nil {
		return s.noFolder(s.Folder, err)
	}
	return nil
}

// noFolder names the folders that there are where one is missing.
func (s *session) noFolder(name string, err error) error {
	var said *imap.Error
	if !errors.As(err, &said) || said.Type != imap.StatusResponseTypeNo {
		return fmt.Errorf("open the folder %s at %s: %w", name, s.Host, err)
	}
	list, lerr := s.folders()
	if lerr != nil || len(list) == 0 {
		return fmt.Errorf("open the folder %s at %s: %w", name, s.Host, err)
	}
	return fmt.Errorf("%s has no folder %q that can be opened; there are: %s", s.Host, name, strings.Join(list, ", "))
}

func (s *session) folders() ([]string, error) {
	list, err := answer(s, func() ([]*imap.ListData, error) { return s.client.List("", "*", nil).Collect() })
	out := make([]string, len(list))
	for i, l := range list {
		out[i] = l.Mailbox
	}
	return out, err
}

func (s *session) exists(folder string) error {
	list, err := s.folders()
	if err == nil && !slices.Contains(list, folder) {
		err = fmt.Errorf("%s has no folder %q to put read mails into; there are: %s", s.Host, folder,
			strings.Join(list, ", "))
	}
	return err
}

// validity returns the UIDVALIDITY of the folder; a server that states none never numbers anew.
func (s *session) validity() uint32 { return max(1, s.box.UIDValidity) }

// newer lists the mails after a position, and the position that they are counted from.
func (s *session) newer(from Position, now time.Time) ([]imap.UID, Position, error) {
	at := Position{Validity: s.validity()}
	criteria := &imap.SearchCriteria{}
	switch {
	case from.Validity == 0:
		criteria.Since = now.AddDate(0, 0, -firstDays)
	case from.Validity != at.Validity:
		criteria.Since = now.AddDate(0, 0, -anewDays)
	default:
		at.Last = from.Last
		criteria.UID = []imap.UIDSet{{imap.UIDRange{Start: imap.UID(from.Last) + 1}}} // to the last
	}
	if s.box.NumMessages == 0 {
		return nil, at, nil
	}
	found, err := answer(s, func() (*imap.SearchData, error) { return s.client.UIDSearch(criteria, nil).Wait() })
	if err != nil {
		return nil, at, fmt.Errorf("look for new mail in %s: %w", s.Folder, err)
	}
	// A range that begins behind the last mail means the last one all the same (RFC 9051, 9).
	uids := slices.DeleteFunc(found.AllUIDs(), func(u imap.UID) bool { return uint32(u) <= at.Last })
	slices.Sort(uids)
	return uids, at, nil
}

// fetch returns a mail as it came, up to one byte more than is read of one; nil where it
// is gone. Nothing else is asked for: servers make up the structure of odd mails in ways
// that end the answer.
func (s *session) fetch(uid imap.UID, most int) ([]byte, error) {
	section := &imap.FetchItemBodySection{Peek: true, Partial: &imap.SectionPartial{Size: int64(most) + 1}}
	list, err := answer(s, func() ([]*imapclient.FetchMessageBuffer, error) {
		return s.client.Fetch(imap.UIDSetNum(uid),
			&imap.FetchOptions{UID: true, BodySection: []*imap.FetchItemBodySection{section}}).Collect()
	})
	if err != nil {
		return nil, err
	}
	for _, m := range list {
		if m.UID == uid && len(m.BodySection) > 0 {
			return m.BodySection[0].Bytes, nil
		}
	}
	return nil, nil
}

// moveAway moves a mail that was read to the folder for those.
func (s *session) moveAway(uid imap.UID) error {
	if s.Done == "" {
		return nil
	}
	_, err := answer(s,
		func() (*imapclient.MoveData, error) { return s.client.Move(imap.UIDSetNum(uid), s.Done).Wait() })
	if err != nil {
		return s.noFolder(s.Done, err)
	}
	return nil
}

func (s *session) close() {
	s.stop()
	_ = s.conn.Close()
	if s.client != nil {
		_ = s.client.Close()
	}
	s.conn.rest()
}

// answer asks the server something, and closes the connection where it stays silent for
// longer than a step: the library would wait much longer.
func answer[T any](s *session, ask func() (T, error)) (T, error) {
	s.conn.expect()
	defer s.conn.rest()
	v, err := ask()
	if err != nil && s.conn.late.Load() {
		err = fmt.Errorf("the server was silent for %s", s.conn.step)
	}
	return v, err
}

// watched is a connection that closes itself when nothing comes while something is
// expected.
type watched struct {
	net.Conn
	step  time.Duration
	timer *time.Timer
	owed  atomic.Bool
	late  atomic.Bool
}

func watch(c net.Conn, step time.Duration) *watched {
	w := &watched{Conn: c, step: step}
	w.timer = time.AfterFunc(step, func() {
		if w.owed.Load() {
			w.late.Store(true)
			_ = c.Close()
		}
	})
	w.timer.Stop()
	return w
}

func (w *watched) expect() {
	w.owed.Store(true)
	w.timer.Reset(w.step)
}

func (w *watched) rest() {
	w.owed.Store(false)
	w.timer.Stop()
}

// Read reads; whatever comes gives the server another step of time.
func (w *watched) Read(p []byte) (int, error) {
	n, err := w.Conn.Read(p)
	if n > 0 && w.owed.Load() {
		w.timer.Reset(w.step)
	}
	return n, err
}
