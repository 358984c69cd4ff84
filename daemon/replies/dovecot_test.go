//go:build mailserver

package replies_test

import (
	"bytes"
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"fmt"
	"math/big"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/replies"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/inbox"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// dovecot is a mail server for tests (Debian package dovecot-imapd) with a mailbox of
// its own, which tests deliver to by its Maildir.
type dovecot struct {
	dir         string
	plain, safe int // ports
	cmd         *exec.Cmd
	ended       chan struct{} // closed once cmd has
	roots       *x509.CertPool
	delivered   int
}

// nobody owns the mailbox where the test runs as root: the server refuses root's.
const nobody = 65534

func newDovecot(t *testing.T) *dovecot {
	t.Helper()
	dir, err := os.MkdirTemp("", "imap") //nolint:usetesting // short, for its sockets, and open to the server's users
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, os.RemoveAll(dir)) })
	require.NoError(t, os.Chmod(dir, 0o755))
	d := &dovecot{dir: dir, plain: freePort(t), safe: freePort(t), roots: x509.NewCertPool()}
	d.certificate(t)
	uid, gid, users := os.Getuid(), os.Getgid(), ""
	if uid == 0 {
		uid, gid = nobody, nobody
	} else {
		me := strconv.Itoa(uid)
		users = fmt.Sprintf("default_internal_user = %s\ndefault_login_user = %s\nservice imap-login {\n chroot =\n}\nservice anvil {\n chroot =\n}\n", me, me)
	}
	for _, box := range []string{"", ".Read"} {
		for _, sub := range []string{"new", "cur", "tmp"} {
			require.NoError(t, os.MkdirAll(filepath.Join(dir, "mail", box, sub), 0o700))
		}
	}
	require.NoError(t, filepath.WalkDir(filepath.Join(dir, "mail"),
		func(path string, _ os.DirEntry, _ error) error { return os.Chown(path, uid, gid) }))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "passwd"), []byte("shop:{PLAIN}secret\n"), 0o644))
	conf := fmt.Sprintf(`protocols = imap
listen = 127.0.0.1
base_dir = %[1]s/run
state_dir = %[1]s/run
log_path = %[1]s/log
mail_location = maildir:%[1]s/mail
disable_plaintext_auth = no
ssl = yes
ssl_cert = <%[1]s/cert.pem
ssl_key = <%[1]s/key.pem
first_valid_uid = %[4]d
passdb {
  driver = passwd-file
  args = %[1]s/passwd
}
userdb {
  driver = static
  args = uid=%[4]d gid=%[5]d home=%[1]s/mail
}
service imap-login {
  inet_listener imap {
    port = %[2]d
  }
  inet_listener imaps {
    port = %[3]d
    ssl = yes
  }
}
%[6]s`, dir, d.plain, d.safe, uid, gid, users)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "dovecot.conf"), []byte(conf), 0o644))
	d.start(t)
	t.Cleanup(func() { d.kill() })
	return d
}

func freePort(t *testing.T) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer func() { require.NoError(t, l.Close()) }()
	return l.Addr().(*net.TCPAddr).Port
}

func (d *dovecot) certificate(t *testing.T) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	template := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "localhost"},
		DNSNames: []string{"localhost"}, IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), IsCA: true,
		BasicConstraintsValid: true, KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	require.NoError(t, err)
	keyDER, err := x509.MarshalECPrivateKey(key)
	require.NoError(t, err)
	cert := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
	require.True(t, d.roots.AppendCertsFromPEM(cert))
	require.NoError(t, os.WriteFile(filepath.Join(d.dir, "cert.pem"), cert, 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(d.dir, "key.pem"),
		pem.EncodeToMemory(&pem.Block{Type: "EC PRIVATE KEY", Bytes: keyDER}), 0o644))
}

func (d *dovecot) start(t *testing.T) {
	t.Helper()
	path, err := exec.LookPath("dovecot")
	if err != nil {
		path = "/usr/sbin/dovecot"
	}
	says, err := os.Create(filepath.Join(d.dir, "says"))
	require.NoError(t, err)
	defer func() { require.NoError(t, says.Close()) }()
	for deadline := time.Now().Add(20 * time.Second); ; {
		d.cmd = exec.Command(path, "-F", "-c", filepath.Join(d.dir, "dovecot.conf"))
		d.cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
		d.cmd.Stdout, d.cmd.Stderr = says, says
		require.NoError(t, d.cmd.Start(), "this test needs dovecot-imapd")
		d.ended = make(chan struct{})
		go func(cmd *exec.Cmd, ended chan struct{}) {
			_ = cmd.Wait()
			close(ended)
		}(d.cmd, d.ended)
		if d.answers(deadline) {
			return
		}
		d.kill()
		if time.Now().After(deadline) {
			out, _ := os.ReadFile(says.Name())
			log, _ := os.ReadFile(filepath.Join(d.dir, "log"))
			require.Fail(t, "the mail server does not start", "%s\n%s", out, log)
		}
		time.Sleep(100 * time.Millisecond)
	}
}

// answers waits until the server lets its user in. It may end at once: a port can belong for a moment to what a
// killed server left, or to the near end of somebody's connection.
func (d *dovecot) answers(deadline time.Time) bool {
	for time.Now().Before(deadline) {
		ctx, cancel := context.WithTimeout(context.Background(), 2*time.Second)
		_, err := mailboxAt(d.plain).Look(ctx)
		cancel()
		if err == nil {
			return true
		}
		select {
		case <-d.ended:
			return false
		case <-time.After(50 * time.Millisecond):
		}
	}
	return false
}

// signal reaches the server and all its processes.
func (d *dovecot) signal(s syscall.Signal) { _ = syscall.Kill(-d.cmd.Process.Pid, s) }

func (d *dovecot) kill() {
	if d.cmd != nil {
		d.signal(syscall.SIGCONT)
		d.signal(syscall.SIGKILL)
		<-d.ended
		d.cmd = nil
	}
}

// deliver puts a mail into the mailbox as a mail server does.
func (d *dovecot) deliver(t *testing.T, raw []byte) {
	t.Helper()
	d.delivered++
	name := fmt.Sprintf("%d.M%dP%d.test", time.Now().Unix(), d.delivered, os.Getpid())
	tmp := filepath.Join(d.dir, "mail", "tmp", name)
	require.NoError(t, os.WriteFile(tmp, raw, 0o644))
	require.NoError(t, os.Chmod(tmp, 0o666))
	require.NoError(t, os.Rename(tmp, filepath.Join(d.dir, "mail", "new", name)))
}

// files counts the mails of a folder of the mailbox.
func (d *dovecot) files(t *testing.T, folder string) (n int) {
	t.Helper()
	for _, sub := range []string{"new", "cur"} {
		list, err := os.ReadDir(filepath.Join(d.dir, "mail", folder, sub))
		require.NoError(t, err)
		n += len(list)
	}
	return n
}

// came reads the mailbox and returns the subjects of all mails that came so far.
func came(t *testing.T, desk *replies.Desk, m *inbox.Mailbox) (out []string) {
	t.Helper()
	require.NoError(t, replies.ReadMailbox(t.Context(), desk.Books.Store, m, time.Now()))
	all, err := desk.Books.Store.Replies(t.Context(), 1000)
	require.NoError(t, err)
	for _, r := range all {
		full, _, err := desk.Books.Store.Reply(t.Context(), r.ID)
		require.NoError(t, err)
		l, err := inbox.Read(full.Bytes, inbox.DefaultLimits)
		require.NoError(t, err)
		out = append([]string{l.Subject}, out...)
	}
	return out
}

func note(subject string) []byte {
	return []byte("From: a@b.example\r\nSubject: " + subject + "\r\n\r\nHello.\r\n")
}

func TestAMailboxIsReadFromWhereItWasReadTo(t *testing.T) {
	server, desk := newDovecot(t), newDesk(t)
	m := mailboxAt(server.plain)
	require.Empty(t, came(t, desk, m))
	server.deliver(t, note("one"))
	server.deliver(t, note("two"))
	require.Equal(t, []string{"one", "two"}, came(t, desk, m))
	require.Equal(t, []string{"one", "two"}, came(t, desk, m))
	require.Equal(t, 2, server.files(t, ""), "they stay where they are")

	// Somebody moves a mail away and back: it has another number and is the same mail.
	server.deliver(t, note("three"))
	other := mailboxAt(server.plain)
	other.Done = "Read"
	require.Equal(t, []string{"one", "two", "three"}, came(t, desk, other))
	require.Equal(t, 1, server.files(t, ".Read"))
	list, err := filepath.Glob(filepath.Join(server.dir, "mail/.Read/[cn]*/*"))
	require.NoError(t, err)
	require.Len(t, list, 1)
	require.NoError(t, os.Rename(list[0], filepath.Join(server.dir, "mail/new/back.test")))
	require.Len(t, came(t, desk, m), 3)

	// A mail that went before it was read leaves no gap.
	server.deliver(t, note("gone"))
	gone, err := filepath.Glob(filepath.Join(server.dir, "mail/new/*"))
	require.NoError(t, err)
	for _, g := range gone {
		require.NoError(t, os.Remove(g))
	}
	server.deliver(t, note("four"))
	require.Equal(t, []string{"one", "two", "three", "four"}, came(t, desk, m))

	// The server numbers its mails anew: nothing comes twice, and nothing is missed.
	server.kill()
	time.Sleep(1100 * time.Millisecond) // the number of the numbering is the second
	// Its locks go as well: a server that was killed with one makes the next wait two minutes for it.
	for _, g := range []string{"dovecot-uid*", "dovecot.*"} {
		old, err := filepath.Glob(filepath.Join(server.dir, "mail", g))
		require.NoError(t, err)
		for _, f := range old {
			require.NoError(t, os.Remove(f))
		}
	}
	before, _, err := desk.Books.Store.MailboxRead(t.Context(), "shop@127.0.0.1/INBOX")
	require.NoError(t, err)
	server.start(t)
	server.deliver(t, note("five"))
	require.Equal(t, []string{"one", "two", "three", "four", "five"}, came(t, desk, m))
	after, _, err := desk.Books.Store.MailboxRead(t.Context(), "shop@127.0.0.1/INBOX")
	require.NoError(t, err)
	require.NotEqual(t, before, after)
}

func TestAMailboxIsReachedSafely(t *testing.T) {
	server := newDovecot(t)
	server.deliver(t, note("one"))
	for security, port := range map[inbox.Security]int{inbox.TLS: server.safe, inbox.StartTLS: server.plain} {
		m := mailboxAt(port)
		m.Security = security
		_, err := m.Look(t.Context())
		require.ErrorContains(t, err, "certificate", "nobody vouches for it")
		m.Roots = server.roots
		n, err := m.Look(t.Context())
		require.NoError(t, err)
		require.Equal(t, 1, n)
		m.Host = "localhost.localdomain"
		if _, err := net.LookupHost(m.Host); err == nil {
			_, err = m.Look(t.Context())
			require.ErrorContains(t, err, "certificate", "another server's")
		}
	}
	m := mailboxAt(server.plain)
	m.Password = "wrong"
	_, err := m.Look(t.Context())
	var login *inbox.LoginError
	require.ErrorAs(t, err, &login)
	require.NotContains(t, err.Error(), "wrong")
	m = mailboxAt(server.plain)
	m.Folder = "Inbx"
	_, err = m.Look(t.Context())
	require.ErrorContains(t, err, `127.0.0.1 has no folder "Inbx" that can be opened; there are: `)
	require.ErrorContains(t, err, "INBOX")
	m = mailboxAt(server.plain)
	m.Done = "Rea"
	_, err = m.Look(t.Context())
	require.ErrorContains(t, err, `has no folder "Rea" to put read mails into`)
	_, err = mailboxAt(freePort(t)).Look(t.Context())
	require.ErrorContains(t, err, "reach the mail server")
}

func TestAMailboxTellsOfNewMail(t *testing.T) {
	server, desk := newDovecot(t), newDesk(t)
	m := mailboxAt(server.plain)
	require.Empty(t, came(t, desk, m))
	wait := func() (listening chan struct{}, ended chan error) {
		listening, ended = make(chan struct{}), make(chan error, 1)
		go func() {
			ended <- replies.WaitForMail(t.Context(), desk.Books.Store, m, time.Minute, func() { close(listening) })
		}()
		return listening, ended
	}
	listening, ended := wait()
	<-listening
	began := time.Now()
	server.deliver(t, note("one"))
	require.NoError(t, <-ended)
	t.Logf("told after %s", time.Since(began).Round(time.Millisecond))
	require.Less(t, time.Since(began), 30*time.Second, "told, not looked up when the minute was over")
	require.Equal(t, []string{"one"}, came(t, desk, m))

	server.deliver(t, note("two"))
	_, ended = wait()
	require.NoError(t, <-ended, "what came before it listened is told at once")
	require.Equal(t, []string{"one", "two"}, came(t, desk, m))

	require.NoError(t, m.Wait(t.Context(), mustBeRead(t, desk), 300*time.Millisecond, func() {}), "the time is over")

	listening, ended = wait()
	<-listening
	server.kill()
	require.ErrorContains(t, <-ended, "connection", "a server that ends is noticed")
	server.start(t)

	// One that stops without a word is left after a step, whatever the library would wait.
	m.Step = time.Second
	server.signal(syscall.SIGSTOP)
	began = time.Now()
	err := replies.ReadMailbox(t.Context(), desk.Books.Store, m, time.Now())
	require.ErrorContains(t, err, "the server was silent for 1s")
	require.Less(t, time.Since(began), 15*time.Second)
	server.signal(syscall.SIGCONT)
	require.Equal(t, []string{"one", "two"}, came(t, desk, m))
}

func mustBeRead(t *testing.T, d *replies.Desk) (p inbox.Position) {
	t.Helper()
	var err error
	p.Validity, p.Last, err = d.Books.Store.MailboxRead(t.Context(), "shop@127.0.0.1/INBOX")
	require.NoError(t, err)
	return p
}

func TestAYesOutOfAMailboxIsCarriedOutAndAHugeMailIsNot(t *testing.T) {
	server, desk := newDovecot(t), newDesk(t)
	server.deliver(t, read(t, yes))
	server.deliver(t, append(note("huge"),
		bytes.Repeat([]byte("0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcd\r\n"), 30<<14)...))
	require.NoError(t, replies.ReadMailbox(t.Context(), desk.Books.Store, mailboxAt(server.plain), time.Now()))
	report, err := desk.Judge(t.Context())
	require.NoError(t, err)
	require.Equal(t, replies.Report{Done: 1, Quarantined: 1}, report)
	require.Equal(t, reorder.Accepted, stateOf(t, desk, 12))
	all, err := desk.Books.Store.Replies(t.Context(), 10)
	require.NoError(t, err)
	require.Equal(t, "it is larger than 10 MB", all[0].Why)
	full, _, err := desk.Books.Store.Reply(t.Context(), all[0].ID)
	require.NoError(t, err)
	require.Len(t, full.Bytes, inbox.DefaultLimits.Bytes+1, "no more of it is fetched than tells that")
	require.True(t, strings.HasPrefix(all[1].Source, "imap INBOX "))
	require.Equal(t, store.ReplyDone, all[1].State)
}

// Killed at random moments while it reads a mailbox, the program acts on each mail once.
func TestKilledWhileItReadsAMailbox(t *testing.T) {
	server, desk := newDovecot(t), newDesk(t)
	killedTaking(t, desk, 150*time.Millisecond, func(_ string, raw []byte) { server.deliver(t, raw) },
		fmt.Sprintf("%s=%d", portEnv, server.plain))
}
