package record_test

import (
	"bytes"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
)

// The week of Summer, a Tuesday, and the Sunday of it.
var (
	week   = ledger.Monday(bookstest.Summer)
	sunday = week.Add(6)
)

// dayLine is a row of a day sheet in its CSV form.
type dayLine struct {
	name, role, garment, colour, size string
	pieces                            map[string]int // by code of the column
	number                            string
}

func daySheet(lines ...dayLine) []byte {
	var b bytes.Buffer
	fmt.Fprintf(&b, "Week from,%s\nName,Role,Garment,Colour,Size", week)
	for _, c := range ledger.DayColumns {
		b.WriteString("," + c.Heading)
	}
	b.WriteString(",No.\n")
	for _, l := range lines {
		fmt.Fprintf(&b, "%s,%s,%s,%s,%s", l.name, l.role, l.garment, l.colour, l.size)
		for _, c := range ledger.DayColumns {
			b.WriteByte(',')
			if n := l.pieces[c.Code]; n > 0 {
				fmt.Fprint(&b, n)
			}
		}
		fmt.Fprintf(&b, ",%s\n", l.number)
	}
	return b.Bytes()
}

func takeDays(b *books.Books, sheet []byte) (*handover.Report, error) {
	return record.DaySheet(context.Background(), b, "harbour", "day.csv", sheet,
		handover.Options{AsOf: bookstest.Autumn})
}

// plainRows are the rows of the ledger without their refs, which say how they came.
func plainRows(t require.TestingT, b *books.Books) []programme.Movement {
	moves, err := b.Store.Movements(context.Background(), "harbour")
	require.NoError(t, err)
	for i := range moves {
		moves[i].Ref = ""
	}
	return moves
}

// muster is the forecast that follows from the books.
func muster(t require.TestingT, b *books.Books) any {
	ctx := context.Background()
	f, err := forecast.New(ctx, b, bookstest.Autumn)
	require.NoError(t, err)
	client, err := b.Client(ctx, "harbour")
	require.NoError(t, err)
	in, err := f.Inspect(ctx, client)
	require.NoError(t, err)
	return []any{in.History, in.Staff, in.Stock}
}

// Fifty entries of a day sheet are what fifty entries by hand are: the same rows of the
// ledger, the same shelf, the same forecast.
func TestADaySheetIsEnteredAsItsNumbersByHandWouldBe(t *testing.T) {
	ctx := context.Background()
	person := []string{"0001", "0002", "0003", "0005", "0006", "0007"}
	prepare := func() *books.Books {
		b := bookstest.New(t)
		for i, id := range person[3:] {
			_, err := record.Hire(ctx, b, record.Starter{Client: "harbour", StaffID: id, Name: "Person " + id,
				Role: "barista", Start: bookstest.Hired.Add(i), Sizes: map[string]string{"top": "M"}})
			require.NoError(t, err)
		}
		for _, id := range person {
			for _, g := range []string{"polo/navy/M", "polo/navy/L", "apron/black/one"} {
				part := strings.Split(g, "/")
				_, err := record.Enter(ctx, b, record.Move{Client: "harbour", Person: id, Kind: programme.Issued,
					Garment: part[0], Colour: part[1], Size: part[2], Pieces: 12, On: bookstest.Spring, OldKept: true})
				require.NoError(t, err)
			}
		}
		return b
	}
	most, times := 0, uint64(6)
	if os.Getenv("KITMUSTER_FULL") != "" {
		times = 200
	}
	for seed := range times {
		rng := rand.New(rand.NewPCG(seed, 19))
		bySheet, byHand := prepare(), prepare()
		require.Equal(t, plainRows(t, byHand), plainRows(t, bySheet))
		var lines []dayLine
		entries := 0
		for _, id := range person {
			for _, g := range []string{"polo/navy/M", "polo/navy/L", "apron/black/one"} {
				part := strings.Split(g, "/")
				l := dayLine{garment: part[0], colour: part[1], size: part[2], number: id, pieces: map[string]int{}}
				for _, c := range ledger.DayColumns {
					if n := rng.IntN(5); n > 1 && !c.Back { // back has its own test
						l.pieces[c.Code] = n - 1
						m := record.Move{Client: "harbour", Person: id, Kind: c.Kind, Garment: part[0], Colour: part[1],
							Size: part[2], Pieces: n - 1, Reason: c.Reason, On: sunday, FromShelf: true}
						_, err := record.Enter(ctx, byHand, m)
						require.NoError(t, err)
						entries++
					}
				}
				lines = append(lines, l)
			}
		}
		most = max(most, entries)
		r, err := takeDays(bySheet, daySheet(lines...))
		require.NoError(t, err)
		require.Equal(t, entries, r.New)
		require.Equal(t, plainRows(t, byHand), plainRows(t, bySheet))
		require.Equal(t, bookstest.Of(t, byHand).Stock, bookstest.Of(t, bySheet).Stock)
		require.Equal(t, muster(t, byHand), muster(t, bySheet))

		r, err = takeDays(bySheet, daySheet(lines...))
		require.NoError(t, err)
		require.False(t, r.Stored, "it counts once")
		require.Equal(t, entries, r.Known)
		require.Equal(t, plainRows(t, byHand), plainRows(t, bySheet))
	}
	require.GreaterOrEqual(t, most, 50)
}

func TestADaySheetThatComesInPartsCountsAsTheWholeOne(t *testing.T) {
	whole, parts := bookstest.New(t), bookstest.New(t)
	ada := dayLine{garment: "polo", number: "0001", pieces: map[string]int{"worn": 2, "out": 3}}
	bodhi := dayLine{garment: "polo", number: "0002", pieces: map[string]int{"lost": 1}}
	_, err := takeDays(whole, daySheet(ada, bodhi))
	require.NoError(t, err)

	first := dayLine{garment: "polo", number: "0001", pieces: map[string]int{"worn": 1}}
	_, err = takeDays(parts, daySheet(first))
	require.NoError(t, err)
	r, err := takeDays(parts, daySheet(ada, bodhi))
	require.NoError(t, err)
	require.Equal(t, 3, r.New)
	sum := func(b *books.Books) map[string]int {
		out := map[string]int{}
		for _, m := range plainRows(t, b) {
			out[fmt.Sprint(m.StaffID, m.SKU, m.Kind, m.Reason)] += m.Pieces
		}
		return out
	}
	require.Equal(t, sum(whole), sum(parts))
	require.Equal(t, bookstest.Of(t, whole).Stock, bookstest.Of(t, parts).Stock)

	_, err = takeDays(parts, daySheet(first))
	require.ErrorContains(t, err, "day.csv line 3, column Worn out: read \"1\", but this sheet came before with 2 for 0001 Ada Brackenholt, polo/navy/M")
	before := bookstest.Of(t, parts)
	_, err = record.Undo(context.Background(), parts, "harbour", false)
	require.NoError(t, err)
	require.NotEqual(t, before, bookstest.Of(t, parts))
	r, err = takeDays(parts, daySheet(ada, bodhi))
	require.NoError(t, err)
	require.Equal(t, 3, r.New, "what was taken back can be sent again")
	require.Equal(t, sum(whole), sum(parts))
}

func TestOneUndoTakesBackADaySheet(t *testing.T) {
	b := bookstest.New(t)
	before := bookstest.Of(t, b)
	r, err := takeDays(b, daySheet(
		dayLine{garment: "polo", number: "0001", pieces: map[string]int{"worn": 1, "back": 1, "out": 2}},
		dayLine{name: "Ezra Quillfeather", role: "barista", garment: "polo", size: "S",
			pieces: map[string]int{"out": 3}},
		dayLine{name: "Ezra Quillfeather", role: "barista", garment: "apron", pieces: map[string]int{"out": 1}},
	))
	require.NoError(t, err)
	require.Equal(t, 5, r.New)
	require.Len(t, r.Notes, 1)
	require.Contains(t, r.Notes[0], "Ezra Quillfeather is new on the roster, as barista from ")
	people, err := b.Store.People(context.Background(), "harbour")
	require.NoError(t, err)
	at := slices.IndexFunc(people, func(p programme.Person) bool { return p.Name == "Ezra Quillfeather" })
	require.Equal(t, map[string]string{"top": "S"}, people[at].Sizes)
	require.Equal(t, sunday, people[at].Start)
	done, err := record.Undo(context.Background(), b, "harbour", false)
	require.NoError(t, err)
	require.Equal(t, "taken back: 5 entries of the day sheet of the week from 2025-06-30", done.Text)
	require.Equal(t, before, bookstest.Of(t, b))
}

// What a leaver hands back is what 'back' enters; of somebody who stays it no longer fits.
func TestPiecesBackOnADaySheet(t *testing.T) {
	ctx := context.Background()
	bySheet, byHand := bookstest.New(t), bookstest.New(t)
	for _, b := range []*books.Books{bySheet, byHand} {
		_, err := record.Alter(ctx, b, record.Alteration{Client: "harbour", Person: "0001", LastDay: bookstest.Summer})
		require.NoError(t, err)
	}
	_, err := record.Back(ctx, byHand, record.Return{Options: record.Options{Client: "harbour", On: sunday},
		Person: "0001", Pieces: []record.Handed{{Garment: "polo", Pieces: 2}}})
	require.NoError(t, err)
	_, err = takeDays(bySheet, daySheet(dayLine{garment: "polo", number: "0001", pieces: map[string]int{"back": 2}}))
	require.NoError(t, err)
	require.Equal(t, plainRows(t, byHand), plainRows(t, bySheet))
	require.Equal(t, bookstest.Of(t, byHand).Stock, bookstest.Of(t, bySheet).Stock)

	_, err = takeDays(bySheet, daySheet(dayLine{garment: "polo", number: "0002", pieces: map[string]int{"back": 1}}))
	require.NoError(t, err)
	rows := plainRows(t, bySheet)
	require.Equal(t, programme.SizeChange, rows[len(rows)-1].Reason)
	_, err = takeDays(bySheet, daySheet(dayLine{garment: "polo", number: "0002", pieces: map[string]int{"back": 4}}))
	require.ErrorContains(t, err, `column Back: read "4", but 0002 Bodhi Cresswater held 1 of polo/navy/L on 2025-07-06, so 3 cannot have come back`)
}

func TestADaySheetWithAFaultChangesNothing(t *testing.T) {
	b := bookstest.New(t)
	before := bookstest.Of(t, b)
	sheet := daySheet(
		dayLine{garment: "polo", number: "0001", pieces: map[string]int{"worn": 1}},
		dayLine{garment: "polo", number: "0002", pieces: map[string]int{"torn": 9}},
		dayLine{name: "Ada Brackenholt", role: "barista", garment: "polo", size: "S", pieces: map[string]int{"out": 1},
			number: "new"},
	)
	_, err := takeDays(b, sheet)
	require.ErrorContains(t, err, `day.csv line 4, column Torn: read "9", but 0002 Bodhi Cresswater holds 2 of polo/navy/L on 2025-07-06, so 9 cannot end`)
	require.Equal(t, before, bookstest.Of(t, b))

	r, err := record.DaySheet(context.Background(), b, "harbour", "day.csv", sheet,
		handover.Options{AsOf: bookstest.Autumn, DryRun: true, AcceptGood: true})
	require.NoError(t, err)
	require.False(t, r.Stored)
	require.Equal(t, before, bookstest.Of(t, b))
	r, err = record.DaySheet(context.Background(), b, "harbour", "day.csv", sheet,
		handover.Options{AsOf: bookstest.Autumn, AcceptGood: true})
	require.NoError(t, err)
	require.True(t, r.Stored)
	require.Len(t, r.Bad, 1)
	require.Contains(t, string(r.Mend), "0002")
	require.NotContains(t, string(r.Mend), "0001")
	people, err := b.Store.People(context.Background(), "harbour")
	require.NoError(t, err)
	require.Len(t, people, len(bookstest.Staff())+1, "another Ada")
	r, err = record.DaySheet(context.Background(), b, "harbour", "day.csv", sheet,
		handover.Options{AsOf: bookstest.Autumn, AcceptGood: true})
	require.NoError(t, err)
	require.False(t, r.Stored, "and no third one")
}

func BenchmarkDaySheet(b *testing.B) {
	bk := bookstest.New(b)
	var rows []programme.Movement
	for i := range 20_000 {
		rows = append(rows, programme.Movement{Date: bookstest.Hired.Add(i / 20), Kind: programme.Issued,
			StaffID: []string{"0001", "0002", "0003"}[i%3], SKU: bookstest.PoloM, Pieces: 1, Ref: fmt.Sprint(i)})
	}
	require.NoError(b, bk.Store.InTx(context.Background(),
		func(tx *store.Tx) error { _, _, err := tx.AddMovements("harbour", rows, 0); return err }))
	lines := make([]dayLine, 0, 50)
	for i := range 50 {
		lines = append(lines, dayLine{name: fmt.Sprintf("Person Number%d", i), role: "barista", garment: "apron",
			pieces: map[string]int{"out": 1}, number: "new"})
	}
	sheet := daySheet(lines...)
	for b.Loop() {
		if _, err := takeDays(bk, sheet); err != nil {
			b.Fatal(err)
		}
		b.StopTimer()
		if _, err := record.Undo(context.Background(), bk, "harbour", false); err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
	}
}
