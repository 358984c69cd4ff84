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
	return smtp.Settings{Host: p.server.Host, Port: p.server.Port, Security: smtp.StartTLS, User: smtptest.User, Password: smtptest.Password, Roots: p.server.Roots, Step: 2 * time.Second}
}

func letter(i int) store.Letter {
	id := fmt.Sprintf("m%d@shop.example", i)
	return store.Letter{MessageID: id, Kind: "reorder", Client: "bakery", Subject: "Reorder", From: "owner@shop.example",
		To: []string{fmt.Sprintf("p%d@example.com", i)}, Bytes: []byte("Message-ID: <" + id + ">\r\n\r\nHello.\r\n")}
}

func (p *post) run(t *testing.T) delivery.Report {
	t.Helper()
	r, err := p.Run(context.Background())
	require.NoError(t, err)
	return r
}

func (p *post) states(t *testing.T) map[outbox.State]int {
	t.Helper()
	n, err := p.Store.OutboxCount(t.Context())
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
	require.NotContains(t, p.log.String(), "@example.com", "addresses stay out of the diary")
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

func TestARefusalReachesTheOwnersNextMail(t *testing.T) {
	p := newPost(t, 3)
	p.server.Answer("p1@example.com", 550)
	require.Equal(t, delivery.Report{Accepted: 2, Refused: 1}, p.run(t))
	events, err := p.Store.UntoldEvents(t.Context())
	require.NoError(t, err)
	require.Len(t, events, 1)
	require.Equal(t, "mail", events[0].Kind)
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
	require.Equal(t, 1, bytes.Count(p.log.Bytes(), []byte("way out is closed")), "said once")
	events, err := p.Store.UntoldEvents(t.Context())
	require.NoError(t, err)
	require.Len(t, events, 1)

	p.Sender = real
	p.now = p.now.Add(5 * time.Hour)
	require.Equal(t, 5, p.run(t).Accepted)
	require.Contains(t, p.log.String(), "open again")
}

func TestSilenceAfterDataIsTriedAgainWithTheSameBytes(t *testing.T) {
	p := newPost(t, 1)
	p.server.SilentAfterData(true)
	require.Equal(t, 1, p.run(t).PutOff)
	postings, err := p.Store.Postings(t.Context(), false, 10)
	require.NoError(t, err)
	require.True(t, postings[0].Unsure)
	p.server.SilentAfterData(false)
	p.now = p.now.Add(2 * time.Minute)
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
		Sender: smtp.New(smtp.Settings{Host: server.Host, Port: server.Port, Security: smtp.StartTLS, User: smtptest.User, Password: smtptest.Password, Roots: server.Roots})}
	for i := 0; b.Loop(); i++ {
		require.NoError(b, s.InTx(b.Context(), func(tx *store.Tx) error { _, err := tx.Enqueue(letter(i)); return err }))
		_, err := c.Run(b.Context())
		require.NoError(b, err)
	}
	require.NoError(b, s.Close())
}
