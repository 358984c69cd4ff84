//go:build mailserver

package smtp_test

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/json"
	"encoding/pem"
	"fmt"
	"io"
	"math/big"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/notify/smtp"
)

func freePort(t *testing.T) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer func() { require.NoError(t, l.Close()) }()
	return l.Addr().(*net.TCPAddr).Port
}

// begin runs a server until the test ends and waits for its port.
func begin(t *testing.T, port int, name string, args ...string) {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		path = filepath.Join("/usr/sbin", name)
	}
	c := exec.Command(path, args...)
	var says bytes.Buffer
	c.Stdout, c.Stderr = &says, &says
	require.NoError(t, c.Start(), "this test needs %s on the PATH", name)
	t.Cleanup(func() { _ = c.Process.Kill(); _ = c.Wait() })
	require.Eventually(t, func() bool {
		conn, err := net.Dial("tcp", fmt.Sprintf("127.0.0.1:%d", port))
		if err == nil {
			_ = conn.Close()
		}
		return err == nil
	}, 20*time.Second, 50*time.Millisecond, "%s did not open its port: %s", name, &says)
}

// mailpit is a mail server for tests with STARTTLS and login, and a look at what came.
func mailpit(t *testing.T) (s smtp.Settings, api string) {
	t.Helper()
	dir := t.TempDir()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	template := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "localhost"},
		DNSNames:  []string{"localhost"},
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), IsCA: true,
		BasicConstraintsValid: true,
		KeyUsage:              x509.KeyUsageDigitalSignature | x509.KeyUsageCertSign}
	der, err := x509.CreateCertificate(rand.Reader, template, template, &key.PublicKey, key)
	require.NoError(t, err)
	keyDER, err := x509.MarshalECPrivateKey(key)
	require.NoError(t, err)
	cert := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})
	write := func(name string, text []byte) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, text, 0o600))
		return path
	}
	roots := x509.NewCertPool()
	require.True(t, roots.AppendCertsFromPEM(cert))
	s = smtp.Settings{Host: "localhost", Port: freePort(t), Security: smtp.StartTLS, User: "shop",
		Password: "correct-horse", Roots: roots}
	page := freePort(t)
	begin(t, s.Port, "mailpit", "--smtp", fmt.Sprintf("127.0.0.1:%d", s.Port), "--listen",
		fmt.Sprintf("127.0.0.1:%d", page),
		"--database", filepath.Join(dir, "mp.db"), "--smtp-tls-cert", write("c.pem", cert),
		"--smtp-tls-key", write("k.pem", pem.EncodeToMemory(&pem.Block{Type: "EC PRIVATE KEY", Bytes: keyDER})),
		"--smtp-require-starttls", "--smtp-auth-file", write("auth.txt", []byte("shop:correct-horse\n")), "--max", "0",
		"--disable-version-check")
	api = fmt.Sprintf("http://127.0.0.1:%d/api/v1/", page)
	require.Eventually(t, func() bool {
		resp, err := http.Get(fmt.Sprintf("http://127.0.0.1:%d/readyz", page))
		if err != nil {
			return false
		}
		_ = resp.Body.Close()
		return resp.StatusCode == http.StatusOK
	}, 20*time.Second, 50*time.Millisecond)
	return s, api
}

func fetch(t *testing.T, url string) []byte {
	t.Helper()
	resp, err := http.Get(url)
	require.NoError(t, err)
	defer func() { require.NoError(t, resp.Body.Close()) }()
	body, err := io.ReadAll(resp.Body)
	require.NoError(t, err)
	require.Equal(t, http.StatusOK, resp.StatusCode, string(body))
	return body
}

func TestFiveHundredMessagesArriveByteForByte(t *testing.T) {
	s, api := mailpit(t)
	session, err := smtp.New(s).Open(t.Context())
	require.NoError(t, err)
	sent := map[string][]byte{}
	for i := range 500 {
		m := letter
		m.MessageID = fmt.Sprintf("m%d@shop.example", i)
		m.Bytes = fmt.Appendf(nil, "From: owner@shop.example\r\nTo: anna@example.com\r\nSubject: No. %d\r\nMessage-ID: <%s>\r\nDate: Mon, 09 Mar 2026 06:30:00 -0400\r\n\r\nHello.\r\n..dots\r\n.\r\nlast\r\n", i, m.MessageID)
		require.NoError(t, session.Send(t.Context(), &m, "anna@example.com"))
		sent[m.MessageID] = m.Bytes
	}
	require.NoError(t, session.Close())
	var list struct {
		Total    int `json:"total"`
		Messages []struct{ ID, MessageID string }
	}
	require.NoError(t, json.Unmarshal(fetch(t, api+"messages?limit=1000"), &list))
	require.Equal(t, 500, list.Total)
	for _, m := range list.Messages {
		raw := fetch(t, api+"message/"+m.ID+"/raw")
		// The server puts lines of its own (Return-Path, Received) above ours.
		require.True(t, bytes.HasSuffix(raw, sent[m.MessageID]), "%q", raw)
		delete(sent, m.MessageID)
	}
	require.Empty(t, sent)
}

func TestMailpitRefusesAWrongPassword(t *testing.T) {
	s, _ := mailpit(t)
	s.Password = "wrong"
	r := try(t, s, letter)
	require.Equal(t, outbox.BadLogin, r.Outcome, r.Says)
}

func TestAnswersOfAPostfixSink(t *testing.T) {
	for _, c := range []struct {
		name string
		args []string
		want outbox.Outcome
	}{
		{"takes everything", nil, outbox.OK},
		{"4xx at RCPT", []string{"-r", "RCPT"}, outbox.Temporary},
		{"5xx at RCPT", []string{"-f", "RCPT"}, outbox.Permanent},
		{"4xx at DATA", []string{"-r", "DATA"}, outbox.Temporary},
		{"5xx at the end of DATA", []string{"-f", "."}, outbox.Permanent},
		{"hangs up at DATA", []string{"-q", "DATA"}, outbox.Temporary},
		{"hangs up at MAIL", []string{"-q", "MAIL"}, outbox.Unreachable},
	} {
		t.Run(c.name, func(t *testing.T) {
			port := freePort(t)
			begin(t, port, "smtp-sink", append(c.args, "-u", "nobody", fmt.Sprintf("127.0.0.1:%d", port), "50")...)
			r := try(t, smtp.Settings{Host: "localhost", Port: port, Security: smtp.Plain, Step: 5 * time.Second},
				letter)
			require.Equal(t, c.want, r.Outcome, r.Says)
		})
	}
}
