//go:build mailserver

package replies_test

import (
	"context"
	"fmt"
	"net"
	"net/smtp"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/inbox"
)

// asRoot runs a program as root, which Postfix insists on: by itself, or with sudo.
func asRoot(t *testing.T, name string, args ...string) {
	t.Helper()
	if os.Getuid() != 0 {
		name, args = "sudo", append([]string{"-n", name}, args...)
	}
	out, err := exec.Command(name, args...).CombinedOutput()
	require.NoError(t, err, "this test needs Postfix (Debian: postfix) and root: %s", out)
}

// waitForPort waits until a server of this machine listens.
func waitForPort(t *testing.T, port int) {
	t.Helper()
	require.Eventually(t, func() bool {
		c, err := net.Dial("tcp", fmt.Sprintf("127.0.0.1:%d", port))
		if err == nil {
			_ = c.Close()
		}
		return err == nil
	}, 20*time.Second, 50*time.Millisecond)
}

// postfix is the shop's mail server: it hands mail for quaypress.example to a mail folder
// that it returns, and all other mail to the server at a port. Only what this way
// needs is in its table of services.
func postfix(t *testing.T, onward int) (port int, folder inbox.Maildir) {
	t.Helper()
	dir, err := os.MkdirTemp("", "mta") //nolint:usetesting // open to the server's users, and short for its sockets
	require.NoError(t, err)
	t.Cleanup(func() { asRoot(t, "rm", "-rf", dir) })
	require.NoError(t, os.Chmod(dir, 0o755))
	for _, d := range []string{"conf", "queue", "data", "mail"} {
		require.NoError(t, os.Mkdir(filepath.Join(dir, d), 0o755))
	}
	uid, gid := os.Getuid(), os.Getgid()
	if uid == 0 { // Postfix delivers as anybody but root
		uid, gid = nobody, nobody
	}
	for _, d := range []string{"", "box", "box/new", "box/cur", "box/tmp"} {
		d = filepath.Join(dir, "mail", d)
		require.NoError(t, os.MkdirAll(d, 0o700))
		require.NoError(t, os.Chown(d, uid, gid))
	}
	port = freePort(t)
	main := fmt.Sprintf(`compatibility_level = 3.6
queue_directory = %[1]s/queue
data_directory = %[1]s/data
maillog_file = %[1]s/log
maillog_file_prefixes = %[1]s
inet_interfaces = 127.0.0.1
inet_protocols = ipv4
mynetworks = 127.0.0.0/8
myhostname = mx.quaypress.example
mydestination =
alias_maps =
smtpd_relay_restrictions = permit_mynetworks, reject
virtual_mailbox_domains = quaypress.example
virtual_mailbox_base = %[1]s/mail
virtual_mailbox_maps = static:box/
virtual_uid_maps = static:%[2]d
virtual_gid_maps = static:%[3]d
default_transport = smtp:[127.0.0.1]:%[4]d
disable_dns_lookups = yes
`, dir, uid, gid, onward)
	services := fmt.Sprintf(`127.0.0.1:%d inet n - n - - smtpd
cleanup unix n - n - 0 cleanup
qmgr unix n - n 300 1 qmgr
rewrite unix - - n - - trivial-rewrite
bounce unix - - n - 0 bounce
defer unix - - n - 0 bounce
trace unix - - n - 0 bounce
proxymap unix - - n - - proxymap
smtp unix - - n - - smtp
virtual unix - n n - - virtual
error unix - - n - - error
retry unix - - n - - error
anvil unix - - n - 1 anvil
scache unix - - n - 1 scache
postlog unix-dgram n - n - 1 postlogd
`, port)
	conf := filepath.Join(dir, "conf")
	require.NoError(t, os.WriteFile(filepath.Join(conf, "main.cf"), []byte(main), 0o644))
	require.NoError(t, os.WriteFile(filepath.Join(conf, "master.cf"), []byte(services), 0o644))
	asRoot(t, "chown", "-R", "root", conf, filepath.Join(dir, "queue"))
	asRoot(t, "chown", "postfix", filepath.Join(dir, "data"))
	asRoot(t, "/usr/sbin/postfix", "-c", conf, "start")
	t.Cleanup(func() {
		if said, err := os.ReadFile(filepath.Join(dir, "log")); err == nil && t.Failed() {
			t.Logf("Postfix says:\n%s", said)
		}
		asRoot(t, "/usr/sbin/postfix", "-c", conf, "stop")
	})
	waitForPort(t, port)
	return port, inbox.Maildir{Dir: filepath.Join(dir, "mail", "box")}
}

// refusing is a customer's mail server that has none of the addresses.
func refusing(t *testing.T) (port int) {
	t.Helper()
	port = freePort(t)
	args := []string{"-f", "RCPT", "127.0.0.1:" + strconv.Itoa(port), "10"}
	if os.Getuid() == 0 {
		args = append([]string{"-u", "nobody"}, args...)
	}
	c := exec.Command("/usr/sbin/smtp-sink", args...)
	require.NoError(t, c.Start(), "this test needs smtp-sink (Debian: postfix)")
	t.Cleanup(func() { _ = c.Process.Kill(); _ = c.Wait() })
	waitForPort(t, port)
	return port
}

// A mail of ours that a customer's server refuses comes back from our own as that writes
// it (RFC 3464), and its delivery is known to be refused.
func TestAMailThatARealServerBouncesIsKnownToBeRefused(t *testing.T) {
	port, folder := postfix(t, refusing(t))
	d := newDesk(t)
	const tom = "tom@harbourbakeries.example"
	sent := "From: ann@quaypress.example\r\nTo: " + tom +
		"\r\nMessage-ID: <out-1.abc@quaypress.example>\r\nSubject: Your order\r\n\r\nHello.\r\n"
	require.NoError(t, smtp.SendMail("127.0.0.1:"+strconv.Itoa(port), nil, "ann@quaypress.example", []string{tom},
		[]byte(sent)))

	var came []store.Reply
	require.Eventually(t, func() bool {
		err := folder.Take(context.Background(), inbox.DefaultLimits.Bytes, func(_ string, raw []byte) error {
			came = append(came, take(t, d, raw))
			return nil
		})
		require.NoError(t, err)
		return len(came) > 0
	}, 30*time.Second, 100*time.Millisecond)
	require.Len(t, came, 1)
	require.Equal(t, store.ReplyDone, came[0].State, came[0].Why)
	require.Equal(t, "harbour", came[0].Client)
	require.Equal(t, `the mail "Your order" came back from `+tom, came[0].Why)
	list, err := d.Books.Store.Postings(context.Background(), false, 10)
	require.NoError(t, err)
	require.Equal(t, "refused", string(list[0].State))
	require.Contains(t, list[0].Answer, "5.3.0")
	events, err := d.Books.Store.UntoldEvents(context.Background())
	require.NoError(t, err)
	require.Len(t, events, 1, "the owner's next mail tells of it")
	require.Contains(t, events[0].What, tom)
}
