package round_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"math/rand/v2"
	"net/mail"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// worldBooks fills a shop's folder with an invented world.
func worldBooks(t testing.TB, w *simulate.World) *books.Books {
	t.Helper()
	ctx := context.Background()
	home := t.TempDir()
	st, err := store.Open(ctx, filepath.Join(home, books.DatabaseFile), store.Options{})
	require.NoError(t, err)
	b := books.With(home, &w.Shop, st)
	t.Cleanup(func() { require.NoError(t, b.Close()) })
	require.NoError(t, st.InTx(ctx, func(tx *store.Tx) error {
		for i := range w.Cases {
			if err := bookstest.Put(tx, &w.Cases[i]); err != nil {
				return err
			}
		}
		return tx.ReplaceStock(w.Stock)
	}))
	return b
}

var asOf = programme.NewDate(2026, 3, 2)

// smallWorld leaves out the clients with hundreds of people, to be quick.
func smallWorld(seed uint64) simulate.World {
	w := simulate.NewWorld(asOf, simulate.Seed(seed))
	w.Cases = slices.DeleteFunc(w.Cases, func(c simulate.Case) bool { return len(c.Roster) > 60 })
	return w
}

func runOnce(t *testing.T, b *books.Books, opt round.Options) *round.Result {
	t.Helper()
	opt.AsOf, opt.Now = asOf, asOf.Time()
	res, err := round.Run(context.Background(), b, opt)
	require.NoError(t, err)
	return res
}

func TestTheSameBooksGiveTheSameRound(t *testing.T) {
	var plans [2][]byte
	var parts [2]map[string]string
	for i := range plans {
		w := smallWorld(1)
		b := worldBooks(t, &w)
		res := runOnce(t, b, round.Options{})
		for _, e := range res.Plan.Entries {
			plans[i] = append(plans[i], asJSON(t, e.Proposal)...)
		}
		plans[i] = append(plans[i], asJSON(t, res.Plan.Sheets)...)
		parts[i] = map[string]string{}
		for _, m := range res.Messages {
			m = whole(t, b, m)
			parts[i][m.ID] = m.Subject + m.Text + m.HTML
			for _, p := range append(m.Inline, m.Attachments...) {
				parts[i][m.ID+" "+p.Name] = string(p.Data)
			}
		}
	}
	require.Equal(t, string(plans[0]), string(plans[1]))
	require.Len(t, parts[1], len(parts[0]))
	for name, data := range parts[0] {
		require.Equal(t, data, parts[1][name], "%s differs", name)
	}
}

func asJSON(t *testing.T, v any) []byte {
	t.Helper()
	b, err := json.Marshal(v)
	require.NoError(t, err)
	return b
}

func TestARoundStoresWhatItSays(t *testing.T) {
	ctx := context.Background()
	w := smallWorld(1)
	b := worldBooks(t, &w)
	res := runOnce(t, b, round.Options{Slot: "round 2026-03-02T06:00"})

	stored, err := b.Store.Proposals(ctx, "")
	require.NoError(t, err)
	var want []int64
	for _, e := range res.Plan.Entries {
		if e.Proposal != nil {
			want = append([]int64{e.Proposal.Number}, want...)
		}
	}
	var got []int64
	for i := range stored {
		got = append(got, stored[i].Number)
		require.Equal(t, reorder.Drafted, stored[i].State)
	}
	require.Equal(t, want, got)
	for _, m := range res.Messages {
		for _, l := range posted(t, b, m) {
			sent, err := mail.ReadMessage(bytes.NewReader(l.Bytes))
			require.NoError(t, err)
			require.Equal(t, "<"+l.MessageID+">", sent.Header.Get("Message-ID"))
		}
	}
	waiting, err := b.Store.DuePostings(ctx, outbox.Post, time.Now().Add(time.Hour), 1000)
	require.NoError(t, err)
	require.Len(t, waiting, len(res.Messages))

	again := runOnce(t, b, round.Options{Slot: "round 2026-03-02T06:00"})
	require.True(t, again.Again, "a slot has one round")
	next := runOnce(t, b, round.Options{})
	require.Equal(t, res.Number+1, next.Number)
	open, err := b.Store.Proposals(ctx, "", reorder.Drafted)
	require.NoError(t, err)
	got = nil
	for i := range open {
		got = append(got, open[i].Number)
		require.Equal(t, 1, open[i].Form(), "the same records say the same")
	}
	require.Equal(t, want, got, "an unanswered proposal keeps its number")
	for i := range next.Messages {
		require.NotEqual(t, message.KindReorder, next.Messages[i].Kind, "no customer is sent again what stands")
	}
	for _, n := range want {
		var sheets []store.SheetOrder
		require.NoError(t,
			b.Store.InTx(ctx, func(tx *store.Tx) (err error) { sheets, err = tx.SheetOrdersOf(n); return err }))
		seen := map[string]bool{}
		for _, o := range sheets {
			require.False(t, seen[o.Kind], "the sheets of one round, not of two")
			require.Equal(t, next.Number, o.RoundID)
			seen[o.Kind] = true
		}
	}
}

// A proposal's money is the sum of what its lines, sheets and freight say.
func TestTransferSharesAddUpToTheSheets(t *testing.T) {
	w := smallWorld(2)
	p, err := round.Make(context.Background(), worldBooks(t, &w), asOf)
	require.NoError(t, err)
	var shares programme.Money
	for _, e := range p.Entries {
		if e.Proposal != nil {
			shares += e.Proposal.Transfers
		}
	}
	require.Equal(t, p.Sheets.Cost.Total(), shares)
}

// Sheets that will be bought are searched for longer than those on trial: they
// cost no more, and the same on every machine.
func TestMoreTriesNeverCostMore(t *testing.T) {
	w := smallWorld(2)
	var last programme.Money
	for _, tries := range []int{0, 400, 400, 1500} {
		b := worldBooks(t, &w)
		b.Search = tries
		p, err := round.Make(context.Background(), b, asOf)
		require.NoError(t, err)
		net := p.Sheets.Cost.Total() - p.Sheets.Cost.OverWorth
		require.Positive(t, net)
		if last > 0 {
			require.LessOrEqual(t, net, last, "%d tries", tries)
		}
		last = net
	}
}

// A printer's freight is money like any other: it is shared by what each
// client's transfers cost, and the parts add up to the cent.
func TestPrintersFreightIsSharedToTheCent(t *testing.T) {
	w := smallWorld(2)
	for i := range w.Shop.Suppliers {
		s := &w.Shop.Suppliers[i]
		if s.Code == "screens" || s.Code == "film" {
			s.Freight, s.FreeFreightFrom = 1333, 0
		} else {
			s.Freight = 0
		}
	}
	p, err := round.Make(context.Background(), worldBooks(t, &w), asOf)
	require.NoError(t, err)
	want, freight, value := programme.Money(1333*len(p.Sheets.Orders)), programme.Money(0), programme.Money(0)
	require.Positive(t, want)
	for _, e := range p.Entries {
		if e.Proposal == nil {
			continue
		}
		freight += e.Proposal.Freight
		for _, s := range e.Proposal.Suppliers {
			if s.Supplier == "screens" || s.Supplier == "film" {
				value += s.Value
				require.LessOrEqual(t, s.Freight, programme.Money(1333))
			}
		}
	}
	require.Equal(t, want, freight)
	require.Equal(t, p.Sheets.Cost.Total(), value)

	for i := range w.Shop.Suppliers {
		w.Shop.Suppliers[i].FreeFreightFrom = 1
	}
	p, err = round.Make(context.Background(), worldBooks(t, &w), asOf)
	require.NoError(t, err)
	for _, e := range p.Entries {
		if e.Proposal != nil {
			require.Zero(t, e.Proposal.Freight, "free from a cent on")
		}
	}
}

func TestABrokenProgrammeIsToldAndTheOthersGoOn(t *testing.T) {
	ctx := context.Background()
	w := smallWorld(1)
	b := worldBooks(t, &w)
	require.NoError(t,
		b.Store.InTx(ctx, func(tx *store.Tx) error { return tx.PutClient("broken", []byte("roles: 7\n")) }))
	res := runOnce(t, b, round.Options{})
	require.Len(t, res.Plan.Entries, len(w.Cases))
	require.Contains(t, res.Messages[0].Text, "broken")
}

// A client whose ledger says a heap of pieces on every row would hold a round up for
// an hour: it is left out with its reason, and the others have theirs.
func TestAClientThatWouldTakeHoursIsToldAndTheOthersGoOn(t *testing.T) {
	ctx := context.Background()
	w := smallWorld(1)
	b := worldBooks(t, &w)
	heavy := &w.Cases[0].Client
	kit := heavy.Roles[0].Kit[0]
	var heap []programme.Movement
	for i := range 600 {
		heap = append(heap, programme.Movement{
			Date: asOf.Add(-600 + i), Kind: programme.Issued, StaffID: w.Cases[0].Roster[i%5].StaffID, Pieces: 8500,
			Ref: fmt.Sprint("heap ", i),
			SKU: programme.SKU{Garment: kit.Garment, Colour: kit.Colour, Size: "M"},
		})
	}
	require.NoError(t,
		b.Store.InTx(ctx, func(tx *store.Tx) error { _, _, err := tx.AddMovements(heavy.Code, heap, 0); return err }))
	res := runOnce(t, b, round.Options{})
	require.Len(t, res.Plan.Entries, len(w.Cases)-1)
	text := strings.Join(strings.Fields(res.Messages[0].Text), " ")
	require.Contains(t, text, "There is no forecast: the ledger hands out 5")
	require.Contains(t, text, "in 138 rows, and a forecast from that would take hours")
	for _, ask := range []func() error{
		func() error { _, err := forecast.Inspect(ctx, b, heavy.Code, asOf); return err },
		func() error { _, err := round.Make(ctx, b, asOf, heavy.Code); return err },
	} {
		require.ErrorContains(t, ask(), heavy.Code+": the ledger hands out 5")
	}
	_, err := forecast.Inspect(ctx, b, w.Cases[1].Client.Code, asOf)
	require.NoError(t, err)
}

func TestPicturesThatAProofCannotShowAreTold(t *testing.T) {
	text := pictured(t, func(*programme.Artwork) string { return `<svg viewBox="0 0 4 3"><text>Crumb</text></svg>` })
	require.Contains(t, text, "cannot be drawn: line 1: it has text;")
	require.Contains(t, text, "more pictures on the proofs are not as they should be")
	text = pictured(t, func(a *programme.Artwork) string {
		return fmt.Sprintf(`<svg viewBox="0 0 %d %d"><circle r="90%%"/></svg>`, a.Width, a.Height)
	})
	require.Contains(t, text, "is not understood")
	text = pictured(t, func(a *programme.Artwork) string {
		return fmt.Sprintf(`<svg viewBox="0 0 %d %[2]d"><circle r="%[2]d"/></svg>`, a.Width, a.Height)
	})
	require.NotContains(t, text, "he picture of")
	require.NotContains(t, text, "more pictures")
}

// pictured is the owner's mail of a round whose artworks have these pictures.
func pictured(t *testing.T, of func(*programme.Artwork) string) string {
	t.Helper()
	_, res := illustrated(t, ".svg", func(a *programme.Artwork) []byte { return []byte(of(a)) })
	return strings.Join(strings.Fields(res.Messages[0].Text), " ")
}

// illustrated is a round whose artworks have these pictures, with nothing of the
// bakery-café on the shelf, so that it is due beside the landscapers.
func illustrated(t *testing.T, ending string, of func(*programme.Artwork) []byte) (*books.Books, *round.Result) {
	t.Helper()
	w := smallWorld(1)
	w.Stock = slices.DeleteFunc(w.Stock, func(l programme.StockLine) bool { return l.Client == "pomarrow" })
	b := worldBooks(t, &w)
	for i := range b.Shop.Artworks {
		a := &b.Shop.Artworks[i]
		a.File = a.Code + ending
		require.NoError(t, os.WriteFile(filepath.Join(b.Home, a.File), of(a), 0o600))
	}
	return b, runOnce(t, b, round.Options{})
}

// Every artwork is a picture at 300 dots an inch of which nothing can be packed:
// with them as they are the owner's mail has 49 MB, which no server takes.
func TestDetailedPicturesLeaveTheMailSmall(t *testing.T) {
	random := rand.NewChaCha8([32]byte{3})
	files := 0
	b, res := illustrated(t, ".png", func(a *programme.Artwork) []byte {
		m := image.NewNRGBA(image.Rect(0, 0, int(300*a.Width.Inches()), int(300*a.Height.Inches())))
		_, _ = random.Read(m.Pix) // never fails
		for i := 3; i < len(m.Pix); i += 4 {
			m.Pix[i] = 255
		}
		var b bytes.Buffer
		require.NoError(t, (&png.Encoder{CompressionLevel: png.NoCompression}).Encode(&b, m))
		files += b.Len()
		return b.Bytes()
	})
	letters := posted(t, b, res.Messages[0])
	require.Len(t, letters, 1)
	t.Logf("%.1f MB of pictures, a mail of %.2f MB", float64(files)/1e6, float64(len(letters[0].Bytes))/1e6)
	require.Less(t, len(letters[0].Bytes), 3_000_000)
	require.NotContains(t, res.Messages[0].Text, "Too large for this mail")
	require.Contains(t, string(letters[0].Bytes), "sheets-screen-", "the proofs are in it")
}
