// Package outboxtest holds what every transport must keep, as one suite.
package outboxtest

import (
	"bytes"
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/outbox"
)

// Harness is one transport with a look at its far end.
type Harness struct {
	Sender outbox.Sender
	// Received returns the bytes that arrived for a recipient, in order.
	Received func(t *testing.T, to string) [][]byte
	// Break makes the far end unreachable.
	Break func(t *testing.T)
}

// Run holds a transport to the suite; fresh makes a new one for each case.
func Run(t *testing.T, fresh func(t *testing.T) Harness) {
	for name, body := range map[string]string{
		"plain":                       "Hello.\r\n",
		"lines that begin with dots":  ".\r\n..\r\n.hidden\r\nlast\r\n",
		"bytes that are no text":      "caf\xe9 \x00 \xff\r\n",
		"a line as long as allowed":   strings.Repeat("x", 998) + "\r\n",
		"two hundred kilobytes":       strings.Repeat(strings.Repeat("y", 70)+"\r\n", 3000),
		"blank lines at the end stay": "a\r\n\r\n\r\n",
	} {
		t.Run("delivers exactly the bytes: "+name, func(t *testing.T) {
			h := fresh(t)
			m := message(1, "anna@example.com", body)
			deliver(t, h, m)
			got := h.Received(t, m.To[0])
			require.Len(t, got, 1)
			require.True(t, bytes.Equal(m.Bytes, got[0]), "sent %d bytes, received %d", len(m.Bytes), len(got[0]))
		})
	}
	t.Run("takes many messages in one session", func(t *testing.T) {
		h := fresh(t)
		var all []outbox.Letter
		for i := range 50 {
			all = append(all, message(int64(i+1), fmt.Sprintf("p%d@example.com", i), fmt.Sprintf("Message %d.\r\n", i)))
		}
		deliver(t, h, all...)
		for _, m := range all {
			require.Equal(t, [][]byte{m.Bytes}, h.Received(t, m.To[0]))
		}
	})
	t.Run("a further try carries the same Message-ID", func(t *testing.T) {
		h := fresh(t)
		m := message(1, "anna@example.com", "Hello.\r\n")
		deliver(t, h, m)
		deliver(t, h, m)
		for _, b := range h.Received(t, m.To[0]) {
			require.Equal(t, m.Bytes, b)
		}
	})
	t.Run("a cancelled context sends nothing and says so", func(t *testing.T) {
		h := fresh(t)
		s, err := h.Sender.Open(t.Context())
		require.NoError(t, err)
		ctx, cancel := context.WithCancel(t.Context())
		cancel()
		require.NotEqual(t, outbox.OK,
			outbox.ResultOf(send(ctx, s, message(1, "anna@example.com", "Hello.\r\n"))).Outcome)
		_ = s.Close()
		require.Empty(t, h.Received(t, "anna@example.com"))
	})
	t.Run("a far end out of reach is no fault of the message", func(t *testing.T) {
		h := fresh(t)
		h.Break(t)
		s, err := h.Sender.Open(t.Context())
		if err == nil {
			err = send(t.Context(), s, message(1, "anna@example.com", "Hello.\r\n"))
			_ = s.Close()
		}
		r := outbox.ResultOf(err)
		require.Equal(t, outbox.Unreachable, r.Outcome, r.Says)
		require.NotEmpty(t, r.Says)
	})
}

func message(id int64, to, body string) outbox.Letter {
	mid := fmt.Sprintf("round-2026-03-09-%d@shop.example", id)
	return outbox.Letter{ID: id, MessageID: mid, From: "owner@shop.example", To: []string{to},
		Bytes: []byte("From: owner@shop.example\r\nTo: " + to + "\r\nMessage-ID: <" + mid + ">\r\n\r\n" + body)}
}

func send(ctx context.Context, s outbox.Session, l outbox.Letter) error {
	return s.Send(ctx, &l, l.To[0])
}

func deliver(t *testing.T, h Harness, all ...outbox.Letter) {
	t.Helper()
	s, err := h.Sender.Open(t.Context())
	require.NoError(t, err)
	for _, m := range all {
		require.NoError(t, send(t.Context(), s, m))
	}
	require.NoError(t, s.Close())
}
