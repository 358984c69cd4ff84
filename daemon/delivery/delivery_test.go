package delivery_test

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/notify/smtp"
	"github.com/kitmuster/kitmuster/notify/smtp/smtptest"
	"github.com/kitmuster/kitmuster/programme"
)

// post is an outbox with a clock of its own and a real mail server.
type post struct {
	*delivery.Courier
	server *smtptest.Server
	now    time.Time
	log    bytes.Buffer
}

func newPost(t *testing.T, letters int) *post {
	t.Helper()
	p := &post{now: time.Date(2026, 3, 9, 6, 30, 0, 0, time.UTC), server: smtptest.Start(t, "starttls")}
	clock := func() time.Time { return p.now }
	s, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "shop.db"), store.Options{Now: clock})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, s.Close()) })
	require.NoError(t, s.InTx(t.Context(), func(tx *store.Tx) error {
		for i := range letters {
			if _, err := tx.Enqueue(letter(i)); err != nil {
				return err
			}
		}
		return nil
	}))
	p.Courier = &delivery.Courier{Store: s, Sender: smtp.New(p.settings()), Policy: outbox.DefaultPolicy(), Now: clock,
		Draw: func() float64 { return 0.5 }, Log: slog.New(slog.NewTextHandler(&p.log, nil))}
	return p
}

func (p *post) settings() smtp.Settings {
	return smtp.Settings{Host: p.server.Host, Port: p.server.Port, Security: smtp.StartTLS, User: smtptest.User,
		Password: smtptest.Password, Roots: p.server.Roots, Step: 2 * time.Second}
}

func letter(i int) outbox.Letter {
	id := fmt.Sprintf("m%d@shop.example", i)
	return outbox.Letter{MessageID: id, Kind: "reorder", Client: "bakery", Subject: "Reorder",
		From: "owner@shop.example",
		To:   []string{fmt.Sprintf("p%d@example.com", i)}, Bytes: []byte("Message-ID: <" + id + ">\r\n\r\nHello.\r\n")}
}

func (p *post) run(t *testing.T) delivery.Report {
	t.Helper()
	r, err := p.Run(context.Background())
	require.NoError(t, err)
	return r
}

func (p *post) states(t *testing.T) map[outbox.State]int {
	t.Helper()
	n, err := p.Store.OutboxCount(t.Context(), outbox.Post)
	require.NoError(t, err)
	return n
}

func TestAllThatIsDueGoesOverOneConnection(t *testing.T) {
	p := newPost(t, 25)
	require.Equal(t, delivery.Report{Accepted: 25}, p.run(t))
	require.Len(t, p.server.Received(), 25)
	accepts, _ := p.server.Connections()
	require.Equal(t, 1, accepts)
	require.Equal(t, delivery.Report{}, p.run(t), "nothing is sent twice")
	require.Len(t, p.server.Received(), 25)
	require.NotContains(t, p.log.String(), "@example.com", "addresses stay out of the log")
}

func TestTheRateIsKept(t *testing.T) {
	p := newPost(t, 25)
	p.PerMinute = 10
	for _, want := range []int{10, 10, 5} {
		require.Equal(t, want, p.run(t).Accepted)
		require.Zero(t, p.run(t).Accepted, "not more in the same minute")
		p.now = p.now.Add(61 * time.Second)
	}
}

func TestADayOf4xxThenAccepted(t *testing.T) {
	p := newPost(t, 1)
	p.server.Answer("p0@example.com", 451)
	for range 24 * 12 {
		p.run(t)
		p.now = p.now.Add(5 * time.Minute)
	}
	require.Equal(t, map[outbox.State]int{outbox.Waiting: 1}, p.states(t))
	require.Equal(t, 1, bytes.Count(p.log.Bytes(), []byte("put off")), "said once")
	p.server.Answer("p0@example.com", 0)
	p.now = p.now.Add(5 * time.Hour)
	require.Equal(t, 1, p.run(t).Accepted)
}

// The time in which the server cannot be asked does not count: greylisting
// (RFC 6647) before and after a week without a connection is no refusal.
func TestAWeekWithoutAConnectionBetweenTwo4xxIsNoRefusal(t *testing.T) {
	p := newPost(t, 1)
	p.server.Answer("p0@example.com", 451)
	p.run(t)
	p.now = p.now.Add(7 * 24 * time.Hour)
	require.Equal(t, 1, p.run(t).PutOff)
	p.server.Answer("p0@example.com", 0)
	p.now = p.now.Add(time.Hour)
	require.Equal(t, 1, p.run(t).Accepted)
}

func TestAWeekOf4xxIsGivenUpAndTold(t *testing.T) {
	p := newPost(t, 2)
	p.server.Answer("p0@example.com", 451)
	for range 7 * 24 * 4 {
		p.run(t)
		p.now = p.now.Add(15 * time.Minute)
	}
	require.Equal(t, map[outbox.State]int{outbox.Accepted: 1, outbox.GivenUp: 1}, p.states(t))
	events, err := p.Store.UntoldEvents(t.Context())
	require.NoError(t, err)
	require.Len(t, events, 1)
	require.Contains(t, events[0].What, "in 5 days the mail server still puts it off")
	require.Equal(t, "bakery", events[0].Client)
}

func TestARefusalReachesTheOwnersNextMail(t *testing.T) {
	p := newPost(t, 3)
	p.server.Answer("p1@example.com", 550)
	require.Equal(t, delivery.Report{Accepted: 2, Refused: 1}, p.run(t))
	events, err := p.Store.UntoldEvents(t.Context())
	require.NoError(t, err)
	require.Len(t, events, 1)
	require.Equal(t, programme.MailRefused, events[0].Kind)
	require.Equal(t, "bakery", events[0].Client)
	require.Contains(t, events[0].What, "550")
}

func TestAWrongPasswordIsTriedOnceUntilMended(t *testing.T) {
	p := newPost(t, 5)
	wrong := p.settings()
	wrong.Password = "not-the-password"
	changed := p.now.Add(-time.Hour)
	p.Sender, p.Changed = smtp.New(wrong), func() time.Time { return changed }
	for range 100 {
		require.True(t, p.run(t).Held)
		p.now = p.now.Add(time.Hour)
	}
	_, logins := p.server.Connections()
	require.Equal(t, 1, logins, "the account is not locked by us")
	require.Equal(t, map[outbox.State]int{outbox.Waiting: 5}, p.states(t))
	events, err := p.Store.UntoldEvents(t.Context())
	require.NoError(t, err)
	require.Len(t, events, 1)
	require.NotContains(t, p.log.String()+events[0].What, "not-the-password")

	p.Sender, changed = smtp.New(p.settings()), p.now
	require.Equal(t, 5, p.run(t).Accepted)
}

func TestAServerThatIsDownForAWeek(t *testing.T) {
	p := newPost(t, 5)
	real := p.Sender
	down := p.settings()
	down.Port = 1 // nobody listens
	p.Sender = smtp.New(down)
	for range 7 * 24 * 4 {
		p.run(t)
		p.now = p.now.Add(15 * time.Minute)
	}
	require.Equal(t, map[outbox.State]int{outbox.Waiting: 5}, p.states(t), "nothing is given up")
	require.Equal(t, 1, bytes.Count(p.log.Bytes(), []byte("transport is closed")), "said once")
	events, err := p.Store.UntoldEvents(t.Context())
	require.NoError(t, err)
	require.Len(t, events, 1)

	p.Sender = real
	p.now = p.now.Add(5 * time.Hour)
	require.Equal(t, 5, p.run(t).Accepted)
	require.Contains(t, p.log.String(), "open again")
}

// The machine woke up in a later year, tried everything, and its clock was set right.
func TestAClockThatWasAheadDoesNotHoldMailBack(t *testing.T) {
	for name, fault := range map[string]func(p *post){
		"mails were put off":        func(p *post) { p.server.Answer("p0@example.com", 451) },
		"the server was gone":       func(p *post) { down := p.settings(); down.Port = 1; p.Sender = smtp.New(down) },
		"as many as a minute takes": func(p *post) { p.server.Answer("p1@example.com", 451) },
	} {
		t.Run(name, func(t *testing.T) {
			p := newPost(t, 40)
			p.PerMinute = 30
			right, real := p.now, p.Sender
			p.now = p.now.AddDate(5, 0, 0)
			fault(p)
			p.run(t)
			require.NotZero(t, p.states(t)[outbox.Waiting])

			p.now, p.Sender = right.Add(time.Minute), real
			for i := range 2 {
				p.server.Answer(fmt.Sprintf("p%d@example.com", i), 0)
			}
			for range 3 {
				p.run(t)
				p.now = p.now.Add(time.Minute)
			}
			require.Equal(t, map[outbox.State]int{outbox.Accepted: 40}, p.states(t))
		})
	}
}

// A message made while the clock was ahead is due at once when it is set right.
func TestAMessageOfALaterYearGoesOut(t *testing.T) {
	p := newPost(t, 0)
	right := p.now
	p.now = p.now.AddDate(5, 0, 0)
	require.NoError(t, p.Store.InTx(t.Context(),
		func(tx *store.Tx) error { _, err := tx.Enqueue(letter(0)); return err }))
	p.now = right
	require.Equal(t, 1, p.run(t).Accepted)
}

// A server that takes messages and never says so: three tries, which may be
// three copies, and then a person is asked.
func TestAServerThatNeverSaysThatItTookAMessage(t *testing.T) {
	p := newPost(t, 1)
	way := &mute{}
	p.Sender = way
	for range 7 * 24 * 4 {
		p.run(t)
		p.now = p.now.Add(15 * time.Minute)
	}
	require.Equal(t, 3, way.tries)
	require.Equal(t, map[outbox.State]int{outbox.Held: 1}, p.states(t))
	events, err := p.Store.UntoldEvents(t.Context())
	require.NoError(t, err)
	require.Len(t, events, 1)
	require.Contains(t, events[0].What, "after 3 tries the mail server never said whether it took it")
	require.Contains(t, events[0].Mend, "kitmuster mail again N")

	n, err := p.Store.Again(t.Context(), 1)
	require.NoError(t, err)
	require.Equal(t, 1, n)
	p.Sender = smtp.New(p.settings())
	require.Equal(t, 1, p.run(t).Accepted, "as the person asked")
	n, err = p.Store.Again(t.Context(), 1)
	require.NoError(t, err)
	require.Zero(t, n, "who has it gets no second one")
}

// mute is a transport that never answers.
type mute struct{ tries int }

func (*mute) Name() string                                   { return "smtp" }
func (m *mute) Open(context.Context) (outbox.Session, error) { return m, nil }
func (*mute) Close() error                                   { return nil }
func (m *mute) Send(context.Context, *outbox.Letter, string) error {
	m.tries++
	return &outbox.Result{Outcome: outbox.Unknown, Broken: true,
		Says: "the mail server localhost went silent at DATA: no answer in time"}
}

// A server may close a connection after some messages; that is no failure of it.
func TestAConnectionThatEndsAfterSomeMessagesIsReplaced(t *testing.T) {
	p := newPost(t, 10)
	way := &brief{left: 3}
	p.Sender = way
	require.Equal(t, delivery.Report{Accepted: 10}, p.run(t))
	require.Equal(t, 4, way.opened)
	require.NotContains(t, p.log.String(), "closed")
}

// brief is a transport whose connections take three messages each.
type brief struct{ opened, left int }

func (*brief) Name() string { return "smtp" }
func (b *brief) Open(context.Context) (outbox.Session, error) {
	b.opened, b.left = b.opened+1, 3
	return b, nil
}
func (*brief) Close() error { return nil }
func (b *brief) Send(context.Context, *outbox.Letter, string) error {
	if b.left == 0 {
		return &outbox.Result{Outcome: outbox.Unreachable, Code: 421, Broken: true, Says: "421 enough"}
	}
	b.left--
	return nil
}

// A server that takes nothing at all is asked for a few letters a run, not for
// each of hundreds.
func TestAServerThatEndsEveryConversationIsLeftAloneForAMinute(t *testing.T) {
	p := newPost(t, 30)
	for i := range 30 {
		p.server.Answer(fmt.Sprintf("p%d@example.com", i), 421)
	}
	require.Equal(t, 5, p.run(t).PutOff)
	accepts, _ := p.server.Connections()
	require.Equal(t, 5, accepts)
	require.Contains(t, p.log.String(), "put off")
	require.NotContains(t, p.log.String(), "@")
}

// A week in which the server says 421 to one address, or hangs up on it: each
// other letter is there within an hour, and the one is given up in the end.
func TestAWeekWithOneDeferredAddress(t *testing.T) {
	for name, deferOne := range map[string]func(*smtptest.Server){
		"421 at its name":       func(s *smtptest.Server) { s.Answer("p0@example.com", 421) },
		"a hang-up at its name": func(s *smtptest.Server) { s.HangUpOn("p0@example.com") },
	} {
		t.Run(name, func(t *testing.T) {
			p := newPost(t, 1)
			deferOne(p.server)
			for h := range 7 * 24 {
				n := 1 + h
				if h%12 == 0 { // two letters a day
					require.NoError(t, p.Store.InTx(t.Context(),
						func(tx *store.Tx) error { _, err := tx.Enqueue(letter(n)); return err }))
				}
				for range 4 {
					p.run(t)
					p.now = p.now.Add(15 * time.Minute)
				}
				if h%12 == 0 {
					require.Len(t, p.server.For(fmt.Sprintf("p%d@example.com", n)), 1, "within the hour")
				}
			}
			require.Equal(t, map[outbox.State]int{outbox.Accepted: 14, outbox.GivenUp: 1}, p.states(t))
			events, err := p.Store.UntoldEvents(t.Context())
			require.NoError(t, err)
			require.Len(t, events, 1)
			require.Contains(t, events[0].What, "p0@example.com was not delivered")
		})
	}
}

func TestSilenceAfterDataIsTriedAgainWithTheSameBytes(t *testing.T) {
	p := newPost(t, 1)
	p.server.SilentAfterData(true)
	require.Equal(t, 1, p.run(t).PutOff)
	postings, err := p.Store.Postings(t.Context(), false, 10)
	require.NoError(t, err)
	require.Equal(t, 1, postings[0].Unsure)
	p.server.SilentAfterData(false)
	p.now = p.now.Add(31 * time.Minute)
	require.Equal(t, 1, p.run(t).Accepted)
	got := p.server.Received()
	require.Len(t, got, 2)
	require.Equal(t, got[0].Bytes, got[1].Bytes)
}

func TestStoppingFinishesTheMessageInHand(t *testing.T) {
	p := newPost(t, 50)
	ctx, cancel := context.WithCancel(context.Background())
	p.Draw = func() float64 { // called when a message has had its answer
		cancel()
		return 0.5
	}
	r, err := p.Run(ctx)
	require.NoError(t, err)
	require.Equal(t, 1, r.Accepted)
	require.Equal(t, map[outbox.State]int{outbox.Accepted: 1, outbox.Waiting: 49}, p.states(t))
	require.Len(t, p.server.Received(), 1)
}

func BenchmarkDeliver(b *testing.B) {
	server := smtptest.Start(b, "starttls")
	s, err := store.Open(b.Context(), filepath.Join(b.TempDir(), "shop.db"), store.Options{})
	require.NoError(b, err)
	c := &delivery.Courier{Store: s, Policy: outbox.DefaultPolicy(), Now: time.Now, Log: slog.New(slog.DiscardHandler),
		Sender: smtp.New(smtp.Settings{Host: server.Host, Port: server.Port, Security: smtp.StartTLS,
			User: smtptest.User, Password: smtptest.Password, Roots: server.Roots})}
	for i := 0; b.Loop(); i++ {
		require.NoError(b, s.InTx(b.Context(),
			func(tx *store.Tx) error { _, err := tx.Enqueue(letter(i)); return err }))
		_, err := c.Run(b.Context())
		require.NoError(b, err)
	}
	require.NoError(b, s.Close())
}
