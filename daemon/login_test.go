package daemon

import (
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/config"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/notify/smtp/smtptest"
)

// A login that was refused is tried again when its file was mended, with what
// stands there then, and not before.
func TestALoginIsTriedAgainWhenItsFileIsMended(t *testing.T) {
	write := func(text string, mode os.FileMode) func(path string) error {
		return func(path string) error {
			if err := os.WriteFile(path, []byte(text), mode); err != nil {
				return err
			}
			return os.Chmod(path, mode)
		}
	}
	for _, c := range []struct {
		name       string
		begin      func(path string) error
		mend       func(path string) error
		logins     int
		complaints string
	}{
		{"a wrong password", write("wrong", 0o600), write(smtptest.Password, 0o600), 1, "535"},
		{"a file that others may read", write(smtptest.Password, 0o644),
			func(path string) error { return os.Chmod(path, 0o600) }, 0, "chmod 600"},
		{"a file that was moved away",
			func(path string) error { return write(smtptest.Password, 0o600)(path + ".old") },
			func(path string) error { return os.Rename(path+".old", path) }, 0, "there is no file"},
	} {
		t.Run(c.name, func(t *testing.T) {
			server := smtptest.Start(t, "none")
			home := t.TempDir()
			secret := filepath.Join(home, "secret")
			s, err := store.Open(t.Context(), filepath.Join(home, "shop.db"), store.Options{})
			require.NoError(t, err)
			require.NoError(t, s.InTx(t.Context(), func(tx *store.Tx) error {
				_, err := tx.Enqueue(outbox.Letter{MessageID: "m1@shop.example", Kind: "round",
					From: "owner@shop.example", To: []string{"anna@example.com"},
					Bytes: []byte("Subject: x\r\n\r\nHello.\r\n")})
				return err
			}))
			text := fmt.Sprintf("mail: {server: localhost, port: %d, security: none, user: %s, password_file: secret}\n",
				server.Port, smtptest.User)
			require.NoError(t, os.WriteFile(filepath.Join(home, config.FileName), []byte(text), 0o600))
			cfg, err := config.ReadFolder(home, time.UTC)
			require.NoError(t, err)
			d := &Daemon{opt: Options{Log: slog.New(slog.DiscardHandler), Now: time.Now, Home: home}, store: s}
			d.setup.Store(&setup{config: cfg})

			require.NoError(t, c.begin(secret))
			for range 3 {
				require.NoError(t, d.deliver(t.Context()))
			}
			channel, err := s.Channel(t.Context(), "smtp")
			require.NoError(t, err)
			require.Contains(t, channel.Answer, c.complaints)
			_, logins := server.Connections()
			require.Equal(t, c.logins, logins)

			time.Sleep(20 * time.Millisecond) // longer than a tick of the clock of file times
			require.NoError(t, c.mend(secret))
			require.NoError(t, d.deliver(t.Context()))
			counts, err := s.OutboxCount(t.Context(), outbox.Post)
			require.NoError(t, err)
			require.Equal(t, map[outbox.State]int{outbox.Accepted: 1}, counts)
			require.NoError(t, s.Close())
		})
	}
}
