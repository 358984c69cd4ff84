package daemon_test

import (
	"context"
	"fmt"
	"log/slog"
	"net"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/emersion/go-imap/v2"
	"github.com/emersion/go-imap/v2/imapserver"
	"github.com/emersion/go-imap/v2/imapserver/imapmemserver"
	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/store"
)

// memoryMailbox is a mailbox of a server within the test, and its port.
func memoryMailbox(t *testing.T) (*imapmemserver.User, int) {
	t.Helper()
	user := imapmemserver.NewUser("shop", "secret")
	require.NoError(t, user.Create("INBOX", nil))
	all := imapmemserver.New()
	all.AddUser(user)
	server := imapserver.New(&imapserver.Options{
		NewSession: func(*imapserver.Conn) (imapserver.Session, *imapserver.GreetingData, error) {
			return telling{all.NewSession()}, nil, nil
		},
		Caps: imap.CapSet{imap.CapIMAP4rev1: {}, imap.CapIdle: {}}, InsecureAuth: true,
	})
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	go func() { _ = server.Serve(l) }()
	t.Cleanup(func() { _ = server.Close() })
	return user, l.Addr().(*net.TCPAddr).Port
}

// telling is a session that tells of every mail that comes after its folder was opened, as
// RFC 9051 (7.4.1) wants: the library's own forgets those between SELECT and IDLE until
// another one comes.
type telling struct{ imapserver.Session }

func (t telling) Idle(w *imapserver.UpdateWriter, stop <-chan struct{}) error {
	for {
		if err := t.Poll(w, true); err != nil {
			return err
		}
		select {
		case <-stop:
			return nil
		case <-time.After(10 * time.Millisecond):
		}
	}
}

type literal struct{ *os.File }

func (l literal) Size() int64 {
	info, err := l.Stat()
	if err != nil {
		return 0
	}
	return info.Size()
}

// A daemon whose mailbox tells of new mail reads it at once, whatever the schedule; what
// came while it was down is read when it comes back.
func TestTheDaemonListensToItsMailbox(t *testing.T) {
	user, port := memoryMailbox(t)
	deliver := func(subject string) {
		path := filepath.Join(t.TempDir(), "mail")
		require.NoError(t, os.WriteFile(path, []byte("From: a@b.example\r\nSubject: "+subject+"\r\n\r\nHello.\r\n"),
			0o600))
		f, err := os.Open(path)
		require.NoError(t, err)
		defer func() { require.NoError(t, f.Close()) }()
		_, err = user.Append("INBOX", literal{f}, &imap.AppendOptions{Time: time.Now()})
		require.NoError(t, err)
	}
	home := folder(t, fmt.Sprintf("schedule: {replies: 0 0 1 1 *}\nreplies:\n  address: answers@shop.example\n  signatures: \"no\"\n  imap: {server: 127.0.0.1, port: %d, security: none, user: shop, password_file: imap.password}\n", port), 1)
	require.NoError(t, os.WriteFile(filepath.Join(home, "imap.password"), []byte("secret\n"), 0o600))
	run := func(f func(subjects func() int)) {
		d, err := daemon.New(t.Context(), daemon.Options{Home: home, Log: slog.New(slog.DiscardHandler)})
		require.NoError(t, err)
		ctx, stop := context.WithCancel(t.Context())
		ended := make(chan error, 1)
		go func() { ended <- d.Run(ctx) }()
		reader, err := store.Open(t.Context(), filepath.Join(home, books.DatabaseFile), store.Options{MustExist: true})
		require.NoError(t, err)
		f(func() int {
			all, err := reader.Replies(t.Context(), 100, store.ReplyIgnored)
			require.NoError(t, err)
			return len(all)
		})
		stop()
		require.NoError(t, <-ended, "it listens no longer than it runs")
		require.NoError(t, reader.Close())
		require.NoError(t, d.Close())
	}
	deliver("before")
	run(func(read func() int) {
		require.Eventually(t, func() bool { return read() == 1 }, 20*time.Second, 20*time.Millisecond)
		deliver("while it listens")
		require.Eventually(t, func() bool { return read() == 2 }, 20*time.Second, 20*time.Millisecond)
	})
	deliver("while it was down")
	run(func(read func() int) {
		require.Eventually(t, func() bool { return read() == 3 }, 20*time.Second, 20*time.Millisecond)
	})
}
