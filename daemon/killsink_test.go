//go:build mailserver

package daemon_test

import (
	"bytes"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/smtp/smtptest"
)

// sink runs Postfix's smtp-sink, a mail server in a process of its own that
// keeps each message it has taken as a file, until the test ends.
func sink(t *testing.T, dir string) (port int) {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	port = l.Addr().(*net.TCPAddr).Port
	require.NoError(t, l.Close())
	path, err := exec.LookPath("smtp-sink")
	if err != nil {
		path = "/usr/sbin/smtp-sink" // Debian keeps it off the path of users
	}
	args := []string{"-d", filepath.Join(dir, "%H%M%S."), fmt.Sprintf("127.0.0.1:%d", port), "50"}
	if os.Getuid() == 0 {
		args = append([]string{"-u", "root"}, args...) // it insists on a name; the folder is root's
	}
	c := exec.Command(path, args...)
	var says bytes.Buffer
	c.Stderr = &says
	require.NoError(t, c.Start(), "this test needs smtp-sink (Debian: postfix)")
	t.Cleanup(func() { _ = c.Process.Kill(); _ = c.Wait() })
	require.Eventually(t, func() bool {
		conn, err := net.Dial("tcp", fmt.Sprintf("127.0.0.1:%d", port))
		if err == nil {
			_ = conn.Close()
		}
		return err == nil
	}, 20*time.Second, 50*time.Millisecond, "smtp-sink did not open its port: %s", &says)
	return port
}

// dumped reads the sink's files: lines about the conversation, the sink's own
// Received header, then the message with bare line feeds (smtp-sink(1)). What
// was cut short in DATA the sink has thrown away.
func dumped(t *testing.T, dir string) (all []smtptest.Received) {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*"))
	require.NoError(t, err)
	for _, f := range files {
		text, err := os.ReadFile(f)
		require.NoError(t, err)
		head, rest, ok := strings.Cut(string(text), "\nReceived: ")
		require.True(t, ok, f)
		_, to, ok := strings.Cut(head, "\nX-Rcpt-Args: <")
		require.True(t, ok, f)
		to, _, _ = strings.Cut(to, ">")
		lines := strings.SplitAfter(rest, "\n")
		own := 1
		for strings.HasPrefix(lines[own], "\t") {
			own++
		}
		body := strings.ReplaceAll(strings.Join(lines[own:], ""), "\n", "\r\n")
		all = append(all, smtptest.Received{To: to, Bytes: []byte(body)})
	}
	return all
}

func TestKilledWhileARealMailServerTakesTheMessages(t *testing.T) {
	home, dir := folder(t, weekly, 2), t.TempDir()
	killed, slots := killAgainAndAgain(t, home, sink(t, dir))
	inspectAfterKills(t, home, slots, killed, dumped(t, dir))
}
