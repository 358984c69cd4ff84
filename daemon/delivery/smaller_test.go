package delivery_test

import (
	"bytes"
	"image"
	"image/png"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/delivery"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/folder"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/notify/smtp"
	"github.com/kitmuster/kitmuster/programme"
)

// detailed is a picture with as much detail as a photograph of gravel.
func detailed(t *testing.T, side int) []byte {
	t.Helper()
	p := image.NewGray(image.Rect(0, 0, side, side))
	_, _ = rand.NewChaCha8([32]byte{3}).Read(p.Pix)
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, p))
	return b.Bytes()
}

func largeMail(t *testing.T) message.Mail {
	t.Helper()
	return message.Mail{Kind: message.KindRound, ID: "round-2026-03-09-1", Subject: "Kit muster",
		Text: "Three are due.\n", HTML: `<html><body><p>Three are due.</p></body></html>`,
		To:     []programme.Contact{{Email: "p0@example.com"}, {Email: "p1@example.com"}},
		Inline: []message.Part{{Name: "sheet-1.png", Type: "image/png", CID: "sheet-1", Data: detailed(t, 500)}},
		Attachments: []message.Part{{Name: "round.csv", Type: "text/csv", Data: []byte("a\r\n")},
			{Name: "Sheets-film.pdf", Type: "application/pdf", Data: detailed(t, 1500)}}}
}

func TestAMailThatIsTooLargeComesSmaller(t *testing.T) {
	for name, c := range map[string]struct {
		settings func(*smtp.Settings)
		server   func(*post)
		offered  int // messages that reached the server as bytes and were refused
	}{
		"the settings allow less":           {settings: func(s *smtp.Settings) { s.Most = 1e6 }},
		"the server says how much it takes": {server: func(p *post) { p.server.Limit(1e6, true) }},
		"the server refuses it afterwards":  {server: func(p *post) { p.server.Limit(1e6, false) }},
	} {
		t.Run(name, func(t *testing.T) {
			p := newPost(t, 0)
			home := t.TempDir()
			p.Papers = folder.Papers(filepath.Join(home, "papers"))
			settings := p.settings()
			if c.settings != nil {
				c.settings(&settings)
			}
			if c.server != nil {
				c.server(p)
			}
			p.Sender = smtp.New(settings)
			m := largeMail(t)
			l, err := delivery.Seal(m, delivery.Envelope{From: programme.Contact{Email: "owner@shop.example"},
				Date: p.now})
			require.NoError(t, err)
			require.Greater(t, len(l.Bytes), 3_000_000)
			require.NoError(t, p.Store.InTx(t.Context(),
				func(tx *store.Tx) error { _, err := tx.Enqueue(l); return err }))

			r := p.run(t)
			require.Equal(t, 2, r.Smaller)
			require.Equal(t, 2, r.Accepted)
			require.Zero(t, r.Refused)
			require.Equal(t, map[outbox.State]int{outbox.Dropped: 2, outbox.Accepted: 2}, p.states(t))
			for _, to := range []string{"p0@example.com", "p1@example.com"} {
				got := p.server.For(to)
				require.Len(t, got, 1)
				require.LessOrEqual(t, len(got[0]), 1_000_000)
				small, env, err := message.Read(got[0])
				require.NoError(t, err)
				require.NotEqual(t, l.MessageID, env.MessageID, "it is another message")
				require.Contains(t, small.Text, "papers/sheets-film.pdf")
				require.Contains(t, small.HTML, "papers/sheets-film.pdf")
				require.Len(t, small.Attachments, 1)
				require.Equal(t, m.Inline, small.Inline)
			}
			paper, err := os.ReadFile(filepath.Join(home, "papers", "sheets-film.pdf"))
			require.NoError(t, err)
			require.Equal(t, m.Attachments[1].Data, paper)
			events, err := p.Store.UntoldEvents(t.Context())
			require.NoError(t, err)
			require.Empty(t, events, "nobody has to do anything")
			require.Equal(t, delivery.Report{}, p.run(t))
		})
	}
}

func TestAMailThatCannotBeMadeSmallerIsTold(t *testing.T) {
	p := newPost(t, 1)
	settings := p.settings()
	settings.Most = 20
	p.Sender = smtp.New(settings)
	require.Equal(t, 1, p.run(t).Refused)
	events, err := p.Store.UntoldEvents(t.Context())
	require.NoError(t, err)
	require.Len(t, events, 1)
	require.Contains(t, events[0].Mend, "mail.most")
}
