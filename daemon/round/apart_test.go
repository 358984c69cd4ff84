package round_test

import (
	"archive/zip"
	"bytes"
	"compress/zlib"
	"context"
	"fmt"
	"io"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// In random shops no name, address, staff number, size, artwork or price of one
// client is in a mail about another, in whatever part of it.
func TestTwoClientsNeverMix(t *testing.T) {
	shops := 2
	if os.Getenv("KITMUSTER_FULL") == "1" {
		shops = 25
	}
	mails := 0
	for seed := range uint64(shops) {
		w := randomShop(seed)
		secrets := map[string][]string{}
		for i := range w.Cases {
			secrets[w.Cases[i].Client.Code] = mark(&w, i)
		}
		b := worldBooks(t, &w)
		res, err := round.Run(context.Background(), b, round.Options{AsOf: w.AsOf, Now: time.Unix(1772452800, 0)})
		require.NoError(t, err)
		for i := range res.Messages {
			m := &res.Messages[i]
			if m.Client == "" {
				continue
			}
			mails++
			text := everythingIn(t, m)
			require.Condition(t, func() bool { return holdsAny(text, secrets[m.Client]) }, "a mail that says nothing of its own client proves nothing: %s", m.Subject)
			for other, list := range secrets {
				if other == m.Client {
					continue
				}
				for _, s := range list {
					require.NotContains(t, text, s, "seed %d: mail %q about %s tells of %s", seed, m.Subject, m.Client, other)
				}
			}
		}
	}
	require.Greater(t, mails, 2*shops)
}

// randomShop is three or four clients with empty shelves, so that all are due.
func randomShop(seed uint64) simulate.World {
	rng := simulate.Seed(100 + seed)
	w := simulate.NewWorld(programme.NewDate(2026, 3, 2), rng)
	rng.Shuffle(len(w.Cases), func(i, j int) { w.Cases[i], w.Cases[j] = w.Cases[j], w.Cases[i] })
	w.Cases = w.Cases[:3+rng.IntN(2)]
	w.Stock = nil
	return w
}

// mark makes everything that belongs to a client recognisable, and returns the marks.
func mark(w *simulate.World, i int) []string {
	c := &w.Cases[i].Client
	tag := fmt.Sprintf("Zq%dw", i)
	c.Name, c.Trade, c.Note = tag+" House", tag+" trade", tag+" note"
	c.Customer = programme.Contact{Name: tag + " Customer", Email: strings.ToLower(tag) + "@customer.example"}
	c.ShowPrices = true
	secrets := []string{tag, strings.ToLower(tag)}
	for j := range c.Prices {
		c.Prices[j].Price = programme.Money(700013 + 10007*(100*i+j))
		amount := c.Prices[j].Price.In(w.Shop.Currency)
		secrets = append(secrets, strings.TrimPrefix(amount, "$"), c.Prices[j].Price.Decimal())
	}
	for j := range w.Shop.Artworks {
		if w.Shop.Artworks[j].Client == c.Code {
			w.Shop.Artworks[j].Name = tag + " artwork"
		}
	}
	for j := range w.Cases[i].Roster {
		p := &w.Cases[i].Roster[j]
		p.Name, p.Site = fmt.Sprintf("%s Person %d", tag, j), tag+" site"
		p.Sizes["shoe"] = tag + " size"
		secrets = append(secrets, p.StaffID)
	}
	return append(secrets, c.Code)
}

func holdsAny(text string, list []string) bool {
	for _, s := range list {
		if strings.Contains(text, s) {
			return true
		}
	}
	return false
}

// everythingIn is all that a reader of the message could find in it.
func everythingIn(t *testing.T, m *round.Message) string {
	t.Helper()
	var b strings.Builder
	fmt.Fprintln(&b, m.Subject, m.ID, m.To, m.ReplyTo, m.Text, m.HTML)
	for _, parts := range [][]message.Part{m.Inline, m.Attachments} {
		for _, p := range parts {
			b.WriteString(p.Name + "\n")
			b.WriteString(inside(t, &p))
		}
	}
	return b.String()
}

func inside(t *testing.T, p *message.Part) string {
	t.Helper()
	switch {
	case strings.HasSuffix(p.Name, ".pdf"):
		return pagesOf(p.Data)
	case strings.HasSuffix(p.Name, ".xlsx"):
		return sheetsOf(t, p.Data)
	case strings.HasSuffix(p.Name, ".png"):
		return ""
	}
	return string(p.Data)
}

var stream = regexp.MustCompile(`(?s)stream\r?\n(.*?)endstream`)

// pagesOf reads every compressed stream as two-byte characters from both
// offsets, so that no text is missed whatever stands before it.
func pagesOf(pdf []byte) string {
	var b strings.Builder
	for _, s := range stream.FindAllSubmatch(pdf, -1) {
		z, err := zlib.NewReader(bytes.NewReader(s[1]))
		if err != nil {
			continue
		}
		page, _ := io.ReadAll(z)
		b.Write(page)
		for from := range 2 {
			var units []uint16
			for i := from; i+1 < len(page); i += 2 {
				units = append(units, uint16(page[i])<<8|uint16(page[i+1]))
			}
			b.WriteString(string(utf16.Decode(units)))
		}
	}
	return b.String()
}

func sheetsOf(t *testing.T, xlsx []byte) string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(xlsx), int64(len(xlsx)))
	require.NoError(t, err)
	var b strings.Builder
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		data, err := io.ReadAll(r)
		require.NoError(t, err)
		b.Write(data)
	}
	return b.String()
}

// The reading of papers above must find what is there, or finding nothing means nothing.
func TestTextInPapersIsFound(t *testing.T) {
	w := randomShop(7)
	for i := range w.Cases {
		mark(&w, i)
	}
	b := worldBooks(t, &w)
	res, err := round.Run(context.Background(), b, round.Options{AsOf: w.AsOf, Now: time.Unix(1772452800, 0)})
	require.NoError(t, err)
	papers := 0
	for i := range res.Messages {
		for _, p := range res.Messages[i].Attachments {
			if res.Messages[i].Client != "" && strings.HasSuffix(p.Name, ".pdf") {
				papers++
				require.Regexp(t, `Zq\dw House`, inside(t, &p), p.Name)
			}
		}
	}
	require.Positive(t, papers)
}
