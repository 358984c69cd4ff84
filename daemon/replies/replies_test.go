package replies_test

import (
	"bytes"
	"context"
	"encoding/csv"
	"errors"
	"log/slog"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/dropfolder"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/replies"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/inbox"
	"github.com/kitmuster/kitmuster/notify/outbox"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

var (
	monday  = programme.NewDate(2026, 3, 2)
	tuesday = monday.Time().AddDate(0, 0, 1).Add(10 * time.Hour)
)

const corpus = "../../testdata/post/"

// files takes rosters and counts as the daemon does.
type files struct{ b *books.Books }

func (f files) Take(ctx context.Context, n dropfolder.Name, file string, data []byte) (string, error) {
	_, err := handover.Roster(ctx, f.b, n.Client, file, data, handover.Options{AsOf: monday + 1})
	if err != nil {
		return "", &dropfolder.Refusal{Err: err}
	}
	return "taken.", nil
}

// newDesk is a shop that sent out four proposals: 12; 13 in a second form at another
// price; 14 half a year ago; 15 of protective clothing.
func newDesk(t testing.TB) *replies.Desk {
	t.Helper()
	b := bookstest.New(t)
	b.Shop.TimeZone = "Europe/London"
	line := func(k programme.SKU, n int) reorder.Line { return reorder.Line{SKU: k, Order: n, Wanted: n, Buy: n} }
	proposal := func(number int64, asOf programme.Date, lines ...reorder.Line) *reorder.Proposal {
		return &reorder.Proposal{Number: number, Client: "harbour", AsOf: asOf, State: reorder.Drafted,
			OrderBy: asOf + 4, Arrives: asOf + 14, Lines: lines}
	}
	ten := []reorder.Line{line(bookstest.PoloM, 10), line(bookstest.PoloL, 1)}
	p12 := proposal(12, monday, ten...)
	p12.Named = []reorder.Named{{StaffID: "0001", SKU: bookstest.PoloM, Pieces: 3, Why: programme.CauseWorn},
		{StaffID: "0002", SKU: bookstest.PoloL, Pieces: 1, Why: programme.CauseWorn}}
	p12.Pool = []reorder.Pool{{SKU: bookstest.PoloM, ForStarters: 3, Spare: 4}}
	b.Shop.Garments = append(b.Shop.Garments, programme.Garment{Code: "hivis", Name: "Hi-vis vest",
		Protective: programme.HighVisibility, SizeFamily: "top", Sizes: []programme.GarmentSize{{Code: "M"}}})
	require.NoError(t, b.Store.InTx(context.Background(), func(tx *store.Tx) error {
		p13 := proposal(13, monday, ten...)
		errs := []error{
			tx.AddRound(store.Round{ID: 1, AsOf: monday, Summary: []byte("{}")}),
			tx.AddProposal(1, p12), tx.AddProposal(1, p13),
			tx.AddProposal(1, proposal(14, programme.NewDate(2025, 10, 1), ten...)),
			tx.AddProposal(1, proposal(15, monday,
				line(programme.SKU{Garment: "hivis", Colour: "yellow", Size: "M"}, 2))),
		}
		p13.Revision, p13.Lines = 2, []reorder.Line{line(bookstest.PoloM, 6)}
		_, err := tx.Enqueue(outbox.Letter{MessageID: "out-1.abc@quaypress.example", Kind: "job", Client: "harbour",
			Subject: "Your order", From: "ann@quaypress.example", To: []string{"tom@harbourbakeries.example"},
			Bytes: []byte("x")})
		return errors.Join(append(errs, tx.ReviseProposal(1, p13), err)...)
	}))
	return &replies.Desk{
		Books: b, Keys: inbox.Keys{bytes.Repeat([]byte("K"), 32)}, Trust: inbox.Trust{Server: "mx.quaypress.example"},
		From: b.Shop.Owner, Files: files{b}, Now: func() time.Time { return tuesday },
		Log: slog.New(slog.DiscardHandler),
	}
}

// take keeps and judges one mail.
func take(t testing.TB, d *replies.Desk, raw []byte) store.Reply {
	t.Helper()
	ctx := context.Background()
	id, _, err := d.Books.Store.KeepReply(ctx, "test", raw, false)
	require.NoError(t, err)
	_, err = d.Judge(ctx)
	require.NoError(t, err)
	r, ok, err := d.Books.Store.Reply(ctx, id)
	require.NoError(t, err)
	require.True(t, ok)
	return r
}

func stateOf(t testing.TB, d *replies.Desk, number int64) reorder.State {
	t.Helper()
	p, err := d.Books.Store.Proposal(context.Background(), number)
	require.NoError(t, err)
	return p.State
}

type expectation struct {
	file     string
	mail     store.ReplyState
	proposal int64
	state    reorder.State
}

func expectations(t testing.TB) []expectation {
	t.Helper()
	f, err := os.Open(corpus + "expected.csv")
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	var out []expectation
	for _, row := range rows[1:] {
		number, err := strconv.ParseInt(row[2], 10, 64)
		require.NoError(t, err)
		out = append(out, expectation{row[0], store.ReplyState(row[1]), number, reorder.State(row[3])})
	}
	return out
}

// Every message comes to what it should, and acts on nothing else.
func TestEveryMessageOfTheCorpus(t *testing.T) {
	all := expectations(t)
	require.Greater(t, len(all), 119)
	shared := newDesk(t) // for those that must change nothing
	for _, e := range all {
		t.Run(strings.TrimSuffix(e.file, ".eml"), func(t *testing.T) {
			raw, err := os.ReadFile(corpus + e.file)
			require.NoError(t, err)
			d := shared
			if e.mail == store.ReplyDone {
				d = newDesk(t)
			}
			r := take(t, d, raw)
			require.Equal(t, e.mail, r.State, r.Why)
			require.Equal(t, e.state, stateOf(t, d, e.proposal), r.Why)
			require.NotEmpty(t, r.Why)
			for n := int64(12); n <= 15; n++ {
				if n != e.proposal {
					require.Equal(t, reorder.Drafted, stateOf(t, d, n), "proposal %d was not meant", n)
				}
			}
		})
	}
}

// read returns a message of the corpus by its name.
func read(t testing.TB, file string) []byte {
	t.Helper()
	found, err := filepath.Glob(corpus + "[0-9][0-9][0-9]-" + file + ".eml")
	require.NoError(t, err)
	require.Len(t, found, 1)
	raw, err := os.ReadFile(found[0])
	require.NoError(t, err)
	return raw
}

const yes = "template-as-sent"

// letters returns the outbox by kind.
func letters(t testing.TB, d *replies.Desk) map[string][]outbox.Letter {
	t.Helper()
	list, err := d.Books.Store.Postings(context.Background(), false, 1000)
	require.NoError(t, err)
	out := map[string][]outbox.Letter{}
	for i := range list {
		l, _, err := d.Books.Store.Letter(context.Background(), list[i].ID)
		require.NoError(t, err)
		out[l.Kind] = append(out[l.Kind], l)
	}
	return out
}

func TestAYesIsCarriedOutOnceConfirmedAndTold(t *testing.T) {
	d := newDesk(t)
	r := take(t, d, read(t, yes))
	require.Equal(t, store.ReplyDone, r.State)
	require.Equal(t, "harbour", r.Client)
	p, err := d.Books.Store.Proposal(context.Background(), 12)
	require.NoError(t, err)
	require.Equal(t, monday+1, p.Answered)
	sent := letters(t, d)
	require.Len(t, sent["job"], 2, "the papers for the press, beside the one of the fixture")
	require.Len(t, sent["confirmation"], 1)
	text := string(sent["confirmation"][0].Bytes)
	for _, want := range []string{"Auto-Submitted: auto-replied", "In-Reply-To: <m1@harbourbakeries.example>",
		"To: \"Tom Alder\" <tom@harbourbakeries.example>",
		"Thank you. We have your yes to proposal 12.", "2026-03-16"} {
		require.Contains(t, text, want)
	}
	events, err := d.Books.Store.UntoldEvents(context.Background())
	require.NoError(t, err)
	require.Len(t, events, 1)
	require.Equal(t, "By mail, tom@harbourbakeries.example said yes to proposal 12: 11 pieces. Not so? 'kitmuster undo harbour' takes it back.", events[0].What)

	again := take(t, d, read(t, yes))
	require.Equal(t, r.ID, again.ID, "the same bytes are one mail")
	over := take(t, d, append([]byte("Received: from elsewhere by mx; Wed, 4 Mar 2026 10:00:00 +0000\r\n"),
		read(t, yes)...))
	require.Equal(t, store.ReplyIgnored, over.State)
	require.Equal(t, "the same mail came before", over.Why)
	require.Len(t, letters(t, d)["confirmation"], 1)
	later := take(t, d, read(t, "short-yes-2"))
	require.Equal(t, store.ReplyIgnored, later.State, "a second yes says nothing new")
}

// What a yes by mail caused, one undo takes back, and the same mail does not come to
// life again.
func TestAYesByMailIsTakenBackByOneUndo(t *testing.T) {
	d := newDesk(t)
	shelf := func() []programme.StockLine {
		s, err := d.Books.Store.Stock(context.Background())
		require.NoError(t, err)
		return s
	}
	before := shelf()
	take(t, d, read(t, yes))
	_, err := record.Undo(context.Background(), d.Books, "harbour", false)
	require.NoError(t, err)
	require.Equal(t, before, shelf())
	require.Equal(t, reorder.Drafted, stateOf(t, d, 12))
	take(t, d, append([]byte("Received: again\r\n"), read(t, yes)...))
	require.Equal(t, reorder.Drafted, stateOf(t, d, 12))
}

// Two programs that answer each other stop after one mail.
func TestOneConfirmationASenderAndDay(t *testing.T) {
	d := newDesk(t)
	take(t, d, read(t, yes))
	require.Equal(t, store.ReplyDone, take(t, d, read(t, "form-two")).State)
	require.Equal(t, reorder.Accepted, stateOf(t, d, 13))
	require.Len(t, letters(t, d)["confirmation"], 1)
}

func TestAMailOf30MBIsPutAside(t *testing.T) {
	d := newDesk(t)
	raw := append(read(t, yes), bytes.Repeat([]byte("x"), 30<<20)...)
	r := take(t, d, raw)
	require.Equal(t, store.ReplyQuarantined, r.State)
	require.Equal(t, "it is larger than 10 MB", r.Why)
}

// A mail over which the program ends is put aside at the sixth start.
func TestAMailThatEndsTheProgramIsPutAside(t *testing.T) {
	d := newDesk(t)
	ctx := context.Background()
	id, _, err := d.Books.Store.KeepReply(ctx, "test", read(t, yes), false)
	require.NoError(t, err)
	for range 5 {
		_, err = d.Books.Store.BeginReply(ctx, id)
		require.NoError(t, err)
	}
	_, err = d.Judge(ctx)
	require.NoError(t, err)
	r, _, err := d.Books.Store.Reply(ctx, id)
	require.NoError(t, err)
	require.Equal(t, store.ReplyQuarantined, r.State)
	require.Equal(t, reorder.Drafted, stateOf(t, d, 12))
}

// Where one write fails, nothing of the answer is there, and a later run does it.
func TestAnyWriteOfAYesMayFail(t *testing.T) {
	d := newDesk(t)
	ctx := context.Background()
	_, _, err := d.Books.Store.KeepReply(ctx, "test", read(t, yes), false)
	require.NoError(t, err)
	before := bookstest.Of(t, d.Books)
	failed := 0
	for ; failed < 100; failed++ {
		bookstest.BreakAt(t, d.Books, failed)
		if _, err = d.Judge(ctx); err == nil {
			break
		}
		require.ErrorContains(t, err, bookstest.DiskFull)
		bookstest.Mend(t, d.Books)
		require.Equal(t, reorder.Drafted, stateOf(t, d, 12))
		require.Equal(t, before, bookstest.Of(t, d.Books))
		require.Empty(t, letters(t, d)["confirmation"])
	}
	require.NoError(t, err)
	require.Greater(t, failed, 5, "a yes is several writes")
	require.Equal(t, reorder.Accepted, stateOf(t, d, 12))
	require.Len(t, letters(t, d)["confirmation"], 1)
}

// Whatever becomes of messages on the way: what nothing vouches for never acts.
func TestMutatedMessagesNeverAct(t *testing.T) {
	d := newDesk(t)
	d.Trust = inbox.Trust{LookupTXT: func(string) ([]string, error) { return nil, nil }}
	ctx := context.Background()
	var raws [][]byte
	for _, e := range expectations(t) {
		raw, err := os.ReadFile(corpus + e.file)
		require.NoError(t, err)
		raws = append(raws, raw)
	}
	rng := rand.New(rand.NewPCG(7, 11))
	n := 200
	if os.Getenv("KITMUSTER_FULL") != "" {
		n = 10_000
	}
	for range n {
		raw := mutate(rng, raws[rng.IntN(len(raws))], raws[rng.IntN(len(raws))])
		_, _, err := d.Books.Store.KeepReply(ctx, "test", raw, false)
		require.NoError(t, err)
	}
	_, err := d.Judge(ctx)
	require.NoError(t, err)
	for number := int64(12); number <= 15; number++ {
		require.Equal(t, reorder.Drafted, stateOf(t, d, number))
	}
	require.Empty(t, letters(t, d)["confirmation"])
}

// mutate swaps, cuts, doubles and splices bytes of messages.
func mutate(rng *rand.Rand, a, b []byte) []byte {
	out := bytes.Clone(a)
	for range 1 + rng.IntN(4) {
		if len(out) < 4 {
			return out
		}
		i, j := rng.IntN(len(out)), rng.IntN(len(out))
		i, j = min(i, j), max(i, j)
		switch rng.IntN(5) {
		case 0:
			out[i] ^= 1 << rng.IntN(8)
		case 1:
			out = append(out[:i:i], out[j:]...)
		case 2:
			out = append(out[:j:j], out[i:]...)
		case 3:
			if k := rng.IntN(len(b) + 1); len(b) > 0 {
				out = append(out[:i:i], b[k:]...)
			}
		default:
			out[i], out[j] = out[j], out[i]
		}
	}
	return out[:min(len(out), 1<<20)]
}
