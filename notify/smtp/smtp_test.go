package smtp_test

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"net"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/notify/outbox/outboxtest"
	"github.com/kitmuster/kitmuster/notify/smtp"
	"github.com/kitmuster/kitmuster/notify/smtp/smtptest"
)

func settings(s *smtptest.Server, security smtp.Security) smtp.Settings {
	return smtp.Settings{Host: s.Host, Port: s.Port, Security: security, User: smtptest.User,
		Password: smtptest.Password, Roots: s.Roots, Step: 5 * time.Second}
}

func TestSMTPIsAWayOut(t *testing.T) {
	for _, security := range []smtp.Security{smtp.StartTLS, smtp.TLS} {
		t.Run(string(security), func(t *testing.T) {
			outboxtest.Run(t, func(t *testing.T) outboxtest.Harness {
				server := smtptest.Start(t, string(security))
				return outboxtest.Harness{
					Sender:   smtp.New(settings(server, security)),
					Received: func(_ *testing.T, to string) [][]byte { return server.For(to) },
					Break:    func(*testing.T) { server.Stop() },
				}
			})
		})
	}
}

var letter = outbox.Letter{ID: 1, MessageID: "m1@shop.example", From: "owner@shop.example",
	To:    []string{"anna@example.com"},
	Bytes: []byte("Subject: x\r\nMessage-ID: <m1@shop.example>\r\n\r\nHello.\r\n")}

func try(t *testing.T, s smtp.Settings, l outbox.Letter) *outbox.Result {
	t.Helper()
	session, err := smtp.New(s).Open(t.Context())
	if err == nil {
		err = session.Send(t.Context(), &l, l.To[0])
		_ = session.Close()
	}
	return outbox.ResultOf(err)
}

func TestAnswersAreReadAsTheStandardMeansThem(t *testing.T) { // RFC 5321 section 4.2.1
	server := smtptest.Start(t, "starttls")
	for _, c := range []struct {
		code   int
		want   outbox.Outcome
		broken bool
	}{{421, outbox.Temporary, true}, {450, outbox.Temporary, false}, {451, outbox.Temporary, false},
		{452, outbox.Temporary, false},
		{550, outbox.Permanent, false}, {552, outbox.Permanent, false}, {554, outbox.Permanent, false}} {
		t.Run(fmt.Sprint(c.code), func(t *testing.T) {
			server.Answer(letter.To[0], c.code)
			r := try(t, settings(server, smtp.StartTLS), letter)
			require.Equal(t, c.want, r.Outcome, r.Says)
			require.Equal(t, c.code, r.Code)
			require.Equal(t, c.broken, r.Broken)
			require.Contains(t, r.Says, "as asked by the test")
		})
	}
}

func TestARefusedMessageDoesNotStopTheNext(t *testing.T) {
	server := smtptest.Start(t, "starttls")
	server.Answer("gone@example.com", 550)
	session, err := smtp.New(settings(server, smtp.StartTLS)).Open(t.Context())
	require.NoError(t, err)
	for i := range 20 {
		r := outbox.ResultOf(session.Send(t.Context(), &letter, []string{"gone@example.com", "anna@example.com"}[i%2]))
		require.Equal(t, []outbox.Outcome{outbox.Permanent, outbox.OK}[i%2], r.Outcome, r.Says)
	}
	require.NoError(t, session.Close())
	require.Len(t, server.For("anna@example.com"), 10)
	accepts, logins := server.Connections()
	require.Equal(t, []int{1, 1}, []int{accepts, logins}, "one connection for all")
}

func TestAWrongPasswordIsToldApartAndNeverShown(t *testing.T) {
	server := smtptest.Start(t, "starttls")
	s := settings(server, smtp.StartTLS)
	s.Password = "wrong-secret-9317"
	r := try(t, s, letter)
	require.Equal(t, outbox.BadLogin, r.Outcome)
	require.Equal(t, 535, r.Code)
	for _, text := range []string{r.Says, fmt.Sprintf("%+v", r.Err), fmt.Sprintf("%v %+v %#v", s, s, s)} {
		require.NotContains(t, text, "wrong-secret")
	}
}

// A server that takes no mail from the shop's address says nothing of whom it is for.
func TestARefusedSenderIsToldApart(t *testing.T) {
	r := try(t, byHand(t, "220 hi", "250 hi", "553 5.7.1 not your address", "221 bye"), letter)
	require.Equal(t, outbox.Permanent, r.Outcome)
	require.True(t, r.Sender)
	require.Equal(t, "the mail server localhost answered 553 5.7.1 not your address to MAIL for owner@shop.example",
		r.Says)
	r = try(t, byHand(t, "220 hi", "250 hi", "552 5.3.4 too large", "221 bye"), letter)
	require.False(t, r.Sender)
}

// A server that wants a login where none is set says so at MAIL (RFC 4954 section 6).
func TestAServerThatWantsALoginIsNoRefusalOfTheMessage(t *testing.T) {
	r := try(t, byHand(t, "220 hi", "250 hi", "530 5.7.0 Authentication required", "221 bye"), letter)
	require.Equal(t, outbox.BadLogin, r.Outcome)
	require.NotContains(t, r.Says, "@")
}

func TestNothingIsSentWithoutProtection(t *testing.T) {
	plain := smtptest.Start(t, "none")
	r := try(t, settings(plain, smtp.StartTLS), letter)
	require.Equal(t, outbox.Unreachable, r.Outcome)
	require.Contains(t, r.Says, "it offers no STARTTLS, so nothing is sent")
	_, logins := plain.Connections()
	require.Zero(t, logins, "the password stayed here")

	server := smtptest.Start(t, "starttls")
	s := settings(server, smtp.StartTLS)
	s.Roots = nil // nobody we know vouches for the certificate
	r = try(t, s, letter)
	require.Equal(t, outbox.Unreachable, r.Outcome)
	require.Contains(t, r.Says, "its certificate is not right, so nothing is sent: ")
	require.Empty(t, server.Received())
}

// line is a server that speaks by hand: it says each line when it has read one.
func byHand(t *testing.T, says ...string) smtp.Settings {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { _ = l.Close() })
	go func() {
		conn, err := l.Accept()
		if err != nil {
			return
		}
		defer func() { _ = conn.Close() }()
		in := bufio.NewReader(conn)
		for i, s := range says {
			if i > 0 {
				if _, err := in.ReadString('\n'); err != nil {
					return
				}
			}
			if s == "hang up" {
				return
			}
			if s == "silence" {
				time.Sleep(20 * time.Second)
				return
			}
			_, _ = fmt.Fprintf(conn, "%s\r\n", s)
		}
	}()
	return smtp.Settings{Host: "localhost", Port: l.Addr().(*net.TCPAddr).Port, Security: smtp.Plain,
		Step: 300 * time.Millisecond}
}

func TestSilenceAndHangingUp(t *testing.T) {
	for _, c := range []struct {
		name string
		says []string
		want outbox.Outcome
	}{
		{"a half-open connection that greets nobody", []string{"silence"}, outbox.Unreachable},
		{"silence after EHLO", []string{"220 hi", "silence"}, outbox.Unreachable},
		{"silence at RCPT is of the recipient", []string{"220 hi", "250 hi", "250 ok", "silence"}, outbox.Temporary},
		{"hanging up at RCPT is of the recipient", []string{"220 hi", "250 hi", "250 ok", "hang up"}, outbox.Temporary},
		{"421 at MAIL is of the server", []string{"220 hi", "250 hi", "421 busy"}, outbox.Unreachable},
		{"silence at DATA: without a dot there is no message",
			[]string{"220 hi", "250 hi", "250 ok", "250 ok", "silence"}, outbox.Temporary},
		{"hanging up at MAIL", []string{"220 hi", "250 hi", "hang up"}, outbox.Unreachable},
		{"hanging up in DATA", []string{"220 hi", "250 hi", "250 ok", "250 ok", "354 go on", "hang up"},
			outbox.Unknown},
		{"silence after DATA may mean that it was stored", []string{"220 hi", "250 hi", "250 ok", "250 ok", "354 go on",
			"silence"}, outbox.Unknown},
		{"a greeting of refusal", []string{"554 go away"}, outbox.Unreachable},
		{"rubbish for a greeting", []string{"\x00\x01 GET / HTTP/1.1"}, outbox.Unreachable},
	} {
		t.Run(c.name, func(t *testing.T) {
			begin := time.Now()
			r := try(t, byHand(t, c.says...), letter)
			require.Equal(t, c.want, r.Outcome, r.Says)
			require.True(t, r.Broken)
			require.Less(t, time.Since(begin), 5*time.Second)
		})
	}
}

func TestCancellingEndsAConversationWithASilentServer(t *testing.T) {
	s := byHand(t, "220 hi", "250 hi", "250 ok", "silence")
	s.Step = time.Minute
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	session, err := smtp.New(s).Open(ctx)
	require.NoError(t, err)
	begin := time.Now()
	require.Error(t, session.Send(ctx, &letter, letter.To[0]))
	_ = session.Close()
	require.Less(t, time.Since(begin), 5*time.Second)
}

func TestFiveHundredMessagesOverOneConnection(t *testing.T) {
	server := smtptest.Start(t, "starttls")
	session, err := smtp.New(settings(server, smtp.StartTLS)).Open(t.Context())
	require.NoError(t, err)
	for i := range 500 {
		m := letter
		m.Bytes = append([]byte(fmt.Sprintf("X-Number: %d\r\n", i)), letter.Bytes...)
		require.NoError(t, session.Send(t.Context(), &m, fmt.Sprintf("p%d@example.com", i)))
	}
	require.NoError(t, session.Close())
	got := server.Received()
	require.Len(t, got, 500)
	for i, r := range got {
		require.True(t, bytes.HasPrefix(r.Bytes, []byte(fmt.Sprintf("X-Number: %d\r\n", i))))
	}
	accepts, _ := server.Connections()
	require.Equal(t, 1, accepts)
}

func TestAnAddressCannotCarryASecondCommand(t *testing.T) {
	server := smtptest.Start(t, "starttls")
	m := letter
	m.To = []string{"anna@example.com>\r\nRCPT TO:<eve@example.com"}
	r := try(t, settings(server, smtp.StartTLS), m)
	require.NotEqual(t, outbox.OK, r.Outcome)
	require.Empty(t, server.Received())
}

// A demand for a login at one recipient, of a client that is logged in or needs
// to be for that one alone, is no refused login (RFC 4954 section 6).
func TestAServerThatWantsALoginForOneRecipientAlone(t *testing.T) {
	r := try(t, byHand(t, "220 hi", "250 hi", "250 ok", "530 5.7.0 Authentication required", "221 bye"), letter)
	require.Equal(t, outbox.Temporary, r.Outcome)
	require.False(t, r.Broken)
	server := smtptest.Start(t, "starttls")
	server.Answer(letter.To[0], 530)
	r = try(t, settings(server, smtp.StartTLS), letter)
	require.Equal(t, outbox.Permanent, r.Outcome)
	require.False(t, r.Broken)
}

// slowly is a server that reads a message at some bytes a second, and takes its
// time before it says that it has it.
func slowly(t *testing.T, perSecond int, beforeAnswer time.Duration) smtp.Settings {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	t.Cleanup(func() { _ = l.Close() })
	go func() {
		conn, err := l.Accept()
		if err != nil {
			return
		}
		defer func() { _ = conn.Close() }()
		in := bufio.NewReader(conn)
		for _, s := range []string{"220 hi", "250 hi", "250 ok", "250 ok", "354 go on"} {
			_, _ = fmt.Fprintf(conn, "%s\r\n", s)
			if _, err := in.ReadString('\n'); err != nil {
				return
			}
		}
		block := make([]byte, perSecond/20)
		for end := []byte(nil); !bytes.HasSuffix(end, []byte("\r\n.\r\n")); {
			n, err := in.Read(block)
			if err != nil {
				return
			}
			end = append(end, block[:n]...)
			end = end[max(0, len(end)-5):]
			time.Sleep(time.Duration(n) * time.Second / time.Duration(perSecond))
		}
		time.Sleep(beforeAnswer)
		_, _ = fmt.Fprint(conn, "250 taken\r\n")
		_, _ = in.ReadString('\n')
	}()
	return smtp.Settings{Host: "localhost", Port: l.Addr().(*net.TCPAddr).Port, Security: smtp.Plain, Step: time.Second}
}

// RFC 5321 section 4.5.3.2: the time-outs of the text are for each block, and the
// one after the dot is the longest, since a client that gives up on it makes copies.
func TestALongMessageOverASlowLineIsNoSilence(t *testing.T) {
	long := letter
	// 17 MB
	long.Bytes = append(bytes.Clone(letter.Bytes), bytes.Repeat([]byte("0123456789012345678901234567890123456789\r\n"),
		400_000)...)
	begin := time.Now()
	r := try(t, slowly(t, 6<<20, 0), long)
	require.Equal(t, outbox.OK, r.Outcome, r.Says)
	require.Greater(t, time.Since(begin), time.Second, "longer than one step")
}

func TestALateAnswerToAWholeMessageIsWaitedFor(t *testing.T) {
	r := try(t, slowly(t, 1<<20, 1500*time.Millisecond), letter)
	require.Equal(t, outbox.OK, r.Outcome, r.Says)
}
