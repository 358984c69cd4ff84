package round_test

import (
	"context"
	"fmt"
	"html"
	"os"
	"path"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/page"
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
		messages, marks := markedRound(t, seed)
		for i := range messages {
			m := &messages[i]
			require.True(t, slices.ContainsFunc(partsOf(m),
				func(p message.Part) bool {
					return tells(t, &p, marks[m.Client])
				}), "a mail that says nothing of its own client proves nothing: %s", m.Subject)
			require.Empty(t, leaks(t, m, marks), "seed %d: mail %q about %s", seed, m.Subject, m.Client)
		}
		mails += len(messages)
	}
	require.Greater(t, mails, 2*shops)
}

// Finding nothing means nothing unless a leak would be found: each part of each
// mail about one client is put into a mail about another, and must be reported.
func TestClientsNeverMixUnnoticed(t *testing.T) {
	messages, marks := markedRound(t, 7)
	seen := map[string]bool{}
	for i := range messages {
		from := &messages[i]
		into := messages[slices.IndexFunc(messages, func(m round.Message) bool { return m.Client != from.Client })]
		for _, p := range partsOf(from) {
			if !tells(t, &p, marks[from.Client]) {
				continue // addresses of the shop, dates of a proposal: nothing of the client
			}
			mixed := withPart(into, p)
			reported := leaks(t, &mixed, marks)
			require.NotEmpty(t, reported, "%s of %s in the mail %q", p.Name, from.Client, into.Subject)
			for _, l := range reported {
				require.Equal(t, leak{strayName(p.Name), from.Client, l.mark}, l)
			}
			seen[path.Ext(strayName(p.Name))] = true
		}
	}
	for _, kind := range []string{".subject", ".text", ".html", ".csv", ".pdf", ".xlsx"} {
		require.Contains(t, seen, kind, "no mail had such a part to put into another")
	}
}

// One cell is enough: every single mark of a client is found in every kind of
// part that a mail can have.
func TestClientsNeverMixInOneCell(t *testing.T) {
	messages, marks := markedRound(t, 7)
	into := messages[0]
	for other, list := range marks {
		if other == into.Client {
			continue
		}
		for _, p := range papersSaying(t, list) {
			mixed := withPart(into, p)
			var found []string
			for _, l := range leaks(t, &mixed, marks) {
				require.Equal(t, leak{strayName(p.Name), other, l.mark}, l)
				found = append(found, l.mark)
			}
			require.ElementsMatch(t, list, found, p.Name)
		}
	}
}

// leak is a mark of one client in a part of a mail about another.
type leak struct{ part, of, mark string }

// leaks lists what a mail tells of clients that it is not about.
func leaks(t *testing.T, m *round.Message, marks map[string][]string) []leak {
	t.Helper()
	var found []leak
	for _, p := range partsOf(m) {
		text := inside(t, &p)
		for of, list := range marks {
			for _, mark := range list {
				if of != m.Client && strings.Contains(text, mark) {
					found = append(found, leak{p.Name, of, mark})
				}
			}
		}
	}
	return found
}

// tells reports whether a part has one of the marks.
func tells(t *testing.T, p *message.Part, marks []string) bool {
	t.Helper()
	text := inside(t, p)
	return slices.ContainsFunc(marks, func(mark string) bool { return strings.Contains(text, mark) })
}

// markedRound runs a round over a random shop and returns its mails about one
// client and the marks of each client.
func markedRound(t *testing.T, seed uint64) ([]round.Message, map[string][]string) {
	t.Helper()
	w := randomShop(seed)
	marks := map[string][]string{}
	for i := range w.Cases {
		marks[w.Cases[i].Client.Code] = mark(&w, i)
	}
	b := worldBooks(t, &w)
	announceCounts(t, b, &w)
	res, err := round.Run(context.Background(), b, round.Options{AsOf: w.AsOf, Now: time.Unix(1772452800, 0)})
	require.NoError(t, err)
	messages := slices.DeleteFunc(res.Messages, func(m round.Message) bool { return m.Client == "" })
	for i := range messages {
		messages[i] = whole(t, b, messages[i])
	}
	return messages, marks
}

// announceCounts makes a form for each client due today.
func announceCounts(t *testing.T, b *books.Books, w *simulate.World) {
	t.Helper()
	require.NoError(t, b.Store.InTx(context.Background(), func(tx *store.Tx) error {
		for i := range w.Cases {
			c := &w.Cases[i]
			plan := store.CountPlan{Client: c.Client.Code, Announced: w.AsOf.Add(-1), SendOn: w.AsOf,
				ReturnBy: w.AsOf.Add(10)}
			for j := range c.Ledger {
				if m := &c.Ledger[j]; m.Kind == programme.Issued {
					plan.Asks.Rows = append(plan.Asks.Rows, store.CountAsk{StaffID: m.StaffID, SKU: m.SKU})
				}
			}
			if err := tx.AddCountPlan(&plan); err != nil {
				return err
			}
		}
		return nil
	}))
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

// strayName is what a part is called in the mail it does not belong in: no
// name, which may hold a client's code, is to give it away.
func strayName(name string) string { return "stray" + path.Ext(name) }

// withPart returns the mail with a part of another beside its own.
func withPart(m round.Message, p message.Part) round.Message {
	p.Name = strayName(p.Name)
	m.Attachments = append(slices.Clone(m.Attachments), p)
	return m
}

// papersSaying writes words into every kind of part, as the mails' own papers do.
func papersSaying(t *testing.T, words []string) []message.Part {
	t.Helper()
	people := page.Table{Columns: page.Columns("Name", "#Pieces")}
	form := document.CountForm{}
	cells := ""
	for _, w := range words {
		people.Row(w, 1)
		form.Rows = append(form.Rows, document.CountRow{Name: w})
		cells += "<td>" + html.EscapeString(w) + "</td>"
	}
	list, err := document.CSV([]document.Column[string]{{Heading: "name", Value: func(s string) string { return s }}},
		words)
	require.NoError(t, err)
	sheet, err := form.XLSX()
	require.NoError(t, err)
	order := document.OrderForm{Title: "Order", People: people}
	pdf, missing, err := order.PDF()
	require.NoError(t, err)
	require.Empty(t, missing)
	dates := (&document.Dates{Shop: "Corner Press", Stamp: programme.NewDate(2026, 3, 2),
		Entries: []document.Entry{{On: programme.NewDate(2026, 3, 9), What: strings.Join(words, " ")}}}).Calendar()
	return []message.Part{
		{Name: "a.subject", Data: []byte(strings.Join(words, " "))},
		{Name: "a.envelope", Data: []byte(strings.Join(words, " "))},
		{Name: "a.text", Data: []byte(strings.Join(words, "\n"))}, {Name: "a.html", Data: []byte(cells)},
		{Name: "a.csv", Data: list}, {Name: "a.xlsx", Data: sheet}, {Name: "a.pdf", Data: pdf},
		{Name: "a.ics", Data: dates},
	}
}
