package record_test

import (
	"context"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
)

// act is one entry of any kind, and whose it is: what undo must be told.
type act struct {
	client string
	do     func(ctx context.Context, b *books.Books) (record.Done, error)
}

func move(m record.Move) act {
	return act{m.Client,
		func(ctx context.Context, b *books.Books) (record.Done, error) { return record.Enter(ctx, b, m) }}
}

func hire(s record.Starter) act {
	return act{s.Client,
		func(ctx context.Context, b *books.Books) (record.Done, error) { return record.Hire(ctx, b, s) }}
}

func alter(a record.Alteration) act {
	return act{a.Client,
		func(ctx context.Context, b *books.Books) (record.Done, error) { return record.Alter(ctx, b, a) }}
}

func receive(a record.Arrival) act {
	return act{a.Client,
		func(ctx context.Context, b *books.Books) (record.Done, error) { return record.Receive(ctx, b, a) }}
}

// acts has one entry of every kind, each with what it says.
var acts = map[string]struct {
	act
	says  string
	notes []string
}{
	"an issue from the shelf": {
		move(record.Move{Client: "harbour", Person: "0001", Kind: programme.Issued, Garment: "Cotton polo", Pieces: 3,
			On: bookstest.Summer, FromShelf: true}),
		"issued 3 × Cotton polo, navy, M to 0001 Ada Brackenholt on 2025-07-01", []string{
			"that is more than the kit: 3 pieces held before count as thrown out; if they stay in use, take this back and enter it with the old pieces kept",
			"2 pieces taken off the shelf of finished stock",
		},
	},
	"an issue beside pieces that stay in use": {
		move(record.Move{Client: "harbour", Person: "0001", Kind: programme.Issued, Garment: "polo", Pieces: 1,
			On: bookstest.Summer, OldKept: true}),
		"issued 1 × Cotton polo, navy, M to 0001 Ada Brackenholt on 2025-07-01", nil,
	},
	"an issue of worn pieces": {
		move(record.Move{Client: "harbour", Person: "ada brackenholt", Kind: programme.Issued, Garment: "apron",
			Pieces: 1, On: bookstest.Summer, Washes: 4.5}),
		"issued 1 × Bib apron, black to 0001 Ada Brackenholt on 2025-07-01", nil,
	},
	"an ending of what is held": {
		move(record.Move{Client: "harbour", Person: "0002", Kind: programme.Ended, Garment: "polo", Pieces: 2,
			Reason: programme.Print, On: bookstest.Summer}),
		"ended 2 × Cotton polo, navy, L of 0002 Bodhi Cresswater on 2025-07-01 (print)", nil,
	},
	"an ending of unknown cause": {
		move(record.Move{Client: "harbour", Person: "0002", Kind: programme.Ended, Garment: "polo", Pieces: 1,
			On: bookstest.Summer}),
		"ended 1 × Cotton polo, navy, L of 0002 Bodhi Cresswater on 2025-07-01 (no reason given)", nil,
	},
	"a count of more than was known": {
		move(record.Move{Client: "harbour", Person: "0001", Kind: programme.Counted, Garment: "polo", Pieces: 4,
			On: bookstest.Summer}),
		"counted 4 × Cotton polo, navy, M with 0001 Ada Brackenholt on 2025-07-01",
		[]string{"the ledger knew of 3; if more were issued, enter those too"},
	},
	"a starter": {
		hire(record.Starter{Client: "harbour", Name: "Kezia  Larkfield", Role: "Baker", Start: bookstest.Autumn,
			Sizes: map[string]string{"top": "x-large"}}),
		"KL251001-1dd1 Kezia Larkfield starts as baker on 2025-10-01",
		[]string{"no size of bottom is known yet; enter it with 'kitmuster change'"},
	},
	"a change of everything": {
		alter(record.Alteration{Client: "harbour", Person: "0003", Role: "barista", Site: "Mill Lane",
			LastDay: bookstest.Autumn, Sizes: map[string]string{"top": "small", "head": "7.25"}}),
		"0003 Calla Dunmarrow: role barista instead of baker, site Mill Lane, size head 7 1/4, size top S, last day 2025-10-01", nil,
	},
	"blanks that were on order": {
		receive(record.Arrival{Goods: programme.Goods{Kind: programme.Blank, Code: "polo", Colour: "navy", Size: "M"},
			Pieces: 26, On: bookstest.Summer}),
		"received 26 × Cotton polo, navy, M (blank) on 2025-07-01",
		[]string{"26 pieces of them were stated as on order and no longer are"},
	},
	"finished pieces never had before": {
		receive(record.Arrival{Goods: programme.Goods{Kind: programme.Finished, Client: "quay", Code: "cap",
			Colour: "navy", Size: "7.25"}, Pieces: 5, On: bookstest.Summer}),
		"received 5 × Cap, navy, 7 1/4 (finished) on 2025-07-01", nil,
	},
	"transfers": {
		receive(record.Arrival{Goods: programme.Goods{Kind: programme.Transfer, Code: "harbour-mark"}, Pieces: 25,
			On: bookstest.Summer}),
		"received 25 × harbour-mark (transfer) on 2025-07-01", nil,
	},
}

func TestAnEntrySaysWhatItDidAndIsTakenBackWhole(t *testing.T) {
	ctx := context.Background()
	for name, c := range acts {
		t.Run(name, func(t *testing.T) {
			b := bookstest.New(t)
			before := bookstest.Of(t, b)
			done, err := c.do(ctx, b)
			require.NoError(t, err)
			require.Equal(t, c.says, done.Text)
			require.Equal(t, c.notes, hint.Commands(done.Notes))
			require.NotEqual(t, before, bookstest.Of(t, b))
			_, err = record.Undo(ctx, b, c.client, false)
			require.NoError(t, err)
			require.Equal(t, before, bookstest.Of(t, b))
			_, err = record.Undo(ctx, b, c.client, false)
			require.ErrorIs(t, err, record.ErrNothing)
		})
	}
}

func TestWhatArrivesIsOnTheShelfAndNoLongerOnOrder(t *testing.T) {
	polos := programme.StockLine{Goods: programme.Goods{Kind: programme.Blank, Code: "polo", Colour: "navy", Size: "M"}}
	transfers := programme.StockLine{Goods: programme.Goods{Kind: programme.Transfer, Code: "harbour-mark"}}
	line := func(of programme.StockLine, pieces int, asOf, expected, made programme.Date) programme.StockLine {
		of.Pieces, of.AsOf, of.Expected, of.Made = pieces, asOf, expected, made
		return of
	}
	hired, spring, summer, autumn := bookstest.Hired, bookstest.Spring, bookstest.Summer, bookstest.Autumn
	for name, c := range map[string]struct {
		thing  programme.StockLine
		pieces int
		on     programme.Date
		want   []programme.StockLine
	}{
		"the earliest expected first": {polos, 26, summer, []programme.StockLine{
			line(polos, 38, summer, 0, 0), line(polos, 4, spring, autumn, 0),
		}},
		"part of what was expected": {polos, 5, summer, []programme.StockLine{
			line(polos, 17, summer, 0, 0), line(polos, 19, spring, summer, 0), line(polos, 6, spring, autumn, 0),
		}},
		"more than was expected": {polos, 31, summer, []programme.StockLine{line(polos, 43, summer, 0, 0)}},
		"transfers keep their age": {transfers, 25, summer, []programme.StockLine{
			line(transfers, 40, spring, 0, hired), line(transfers, 10, spring, 0, spring),
			line(transfers, 25, summer, 0, summer),
		}},
		"transfers of one day are one heap": {transfers, 25, spring, []programme.StockLine{
			line(transfers, 40, spring, 0, hired), line(transfers, 35, spring, 0, spring),
		}},
	} {
		t.Run(name, func(t *testing.T) {
			b := bookstest.New(t)
			_, err := record.Receive(context.Background(), b,
				record.Arrival{Goods: programme.Goods{Kind: c.thing.Kind, Code: c.thing.Code, Colour: c.thing.Colour,
					Size: c.thing.Size}, Pieces: c.pieces, On: c.on})
			require.NoError(t, err)
			isIt := func(l programme.StockLine) bool { return l.Kind == c.thing.Kind }
			got := bookstest.Of(t, b).Stock
			require.Equal(t, c.want, slices.DeleteFunc(slices.Clone(got),
				func(l programme.StockLine) bool { return !isIt(l) }))
			require.Equal(t, slices.DeleteFunc(slices.Clone(bookstest.Shelf), isIt), slices.DeleteFunc(got, isIt),
				"the rest of the shelf")
		})
	}
}

func TestAnEntryThatFailsAtItsEndLeavesNothing(t *testing.T) {
	ctx := context.Background()
	for name, c := range acts {
		t.Run(name, func(t *testing.T) {
			b := bookstest.New(t)
			before := bookstest.Of(t, b)
			bookstest.Break(t, b, "UPDATE ON import")
			done, err := c.do(ctx, b)
			require.ErrorContains(t, err, bookstest.DiskFull)
			require.Empty(t, done, "what was not kept is not said to be done")
			require.Equal(t, before, bookstest.Of(t, b))
		})
	}
}

func TestATakingBackThatFailsAtItsEndLeavesTheEntry(t *testing.T) {
	ctx := context.Background()
	for name, c := range acts {
		t.Run(name, func(t *testing.T) {
			b := bookstest.New(t)
			_, err := c.do(ctx, b)
			require.NoError(t, err)
			entered := bookstest.Of(t, b)
			bookstest.Break(t, b, "DELETE ON import")
			done, err := record.Undo(ctx, b, c.client, false)
			require.ErrorContains(t, err, bookstest.DiskFull)
			require.Empty(t, done)
			require.Equal(t, entered, bookstest.Of(t, b))
		})
	}
}

func TestWrongEntriesSaySoAndChangeNothing(t *testing.T) {
	for name, c := range map[string]struct {
		act
		says string
	}{
		"nobody of that name": {
			move(record.Move{Client: "harbour", Person: "Ada Brackenhold", Kind: programme.Issued, Garment: "polo",
				Pieces: 1, On: bookstest.Summer}),
			`nobody in the roster has the number or name "Ada Brackenhold"; did you mean "Ada Brackenholt"?`,
		},
		"no such client": {
			move(record.Move{Client: "harbor", Person: "0001", Kind: programme.Issued, Garment: "polo", Pieces: 1,
				On: bookstest.Summer}),
			"(the clients are: harbour, quay)",
		},
		"no such garment": {
			move(record.Move{Client: "harbour", Person: "0001", Kind: programme.Issued, Garment: "polos", Pieces: 1,
				On: bookstest.Summer}),
			`read "polos", but there is no such garment`,
		},
		"a size that nobody knows": {
			move(record.Move{Client: "harbour", Person: "0003", Kind: programme.Issued, Garment: "polo", Pieces: 1,
				On: bookstest.Summer}),
			"give it as polo/COLOUR/SIZE",
		},
		"an issue after the last day": {
			move(record.Move{Client: "harbour", Person: "0004", Kind: programme.Issued, Garment: "polo", Pieces: 1,
				On: bookstest.Summer}),
			"0004 Dario Eastlake left on 2025-04-01; nothing can be issued after that",
		},
		"more ended than held": {
			move(record.Move{Client: "harbour", Person: "0001", Kind: programme.Ended, Garment: "polo", Pieces: 4,
				On: bookstest.Summer}),
			"0001 Ada Brackenholt holds 3 of polo/navy/M on 2025-07-01, so 4 cannot end; holds 3 polo/navy/M",
		},
		"an ending before the issue": {
			move(record.Move{Client: "harbour", Person: "0001", Kind: programme.Ended, Garment: "polo/navy/M",
				Pieces: 1, On: bookstest.Hired}),
			"no such garment",
		},
		"a number that is taken": {
			hire(record.Starter{Client: "harbour", StaffID: "0001", Name: "Kezia Larkfield", Role: "baker",
				Start: bookstest.Summer}),
			"the number 0001 is that of 0001 Ada Brackenholt already",
		},
		"a name that is taken": {
			hire(record.Starter{Client: "harbour", Name: "ADA BRACKENHOLT", Role: "baker", Start: bookstest.Summer}),
			"give a staff number with --number",
		},
		"no role": {
			hire(record.Starter{Client: "harbour", Name: "Kezia Larkfield", Start: bookstest.Summer}),
			"the role is missing; write one of barista, baker, supervisor",
		},
		"a size that is not sold": {
			hire(record.Starter{Client: "harbour", Name: "Kezia Larkfield", Role: "baker", Start: bookstest.Summer,
				Sizes: map[string]string{"top": "9XL"}}),
			`read "9XL" for top`,
		},
		"a change of nothing": {
			alter(record.Alteration{Client: "harbour", Person: "0001", Role: "barista"}),
			"that is how 0001 Ada Brackenholt is entered already",
		},
		"a stay of who does not leave": {
			alter(record.Alteration{Client: "harbour", Person: "0001", Stays: true}),
			"no last day of 0001 Ada Brackenholt is entered",
		},
		"a last day before the first": {
			alter(record.Alteration{Client: "harbour", Person: "0001", LastDay: bookstest.Hired - 1}),
			"started on 2021-03-15, after 2021-03-14",
		},
		"finished pieces of nobody": {
			receive(record.Arrival{Goods: programme.Goods{Kind: programme.Finished, Code: "polo", Colour: "navy",
				Size: "M"}, Pieces: 5, On: bookstest.Summer}),
			"say whose they are with --client",
		},
		"blanks of a client": {
			receive(record.Arrival{Goods: programme.Goods{Kind: programme.Blank, Client: "harbour", Code: "polo",
				Colour: "navy", Size: "M"}, Pieces: 5, On: bookstest.Summer}),
			"a blank belongs to no client; leave --client out",
		},
		"an artwork that is none": {
			receive(record.Arrival{Goods: programme.Goods{Kind: programme.Transfer, Code: "harbour-marc"}, Pieces: 5,
				On: bookstest.Summer}),
			`read "harbour-marc", but there is no such artwork in the shop's catalogue; harbour-mark comes nearest`,
		},
	} {
		t.Run(name, func(t *testing.T) {
			b := bookstest.New(t)
			before := bookstest.Of(t, b)
			done, err := c.do(context.Background(), b)
			require.ErrorContains(t, err, c.says)
			require.Empty(t, done)
			require.Equal(t, before, bookstest.Of(t, b))
		})
	}
}

// Whatever is entered, taking it all back, the last first, leads through the
// same books backwards to those of the beginning.
func TestUndoLeadsBackThroughTheSameBooks(t *testing.T) {
	b := bookstest.New(t)
	ctx := context.Background()
	entered := 0
	rapid.Check(t, func(t *rapid.T) {
		states := []bookstest.Content{bookstest.Of(t, b)}
		var clients []string
		for range rapid.IntRange(1, 6).Draw(t, "entries") {
			a := anyAct(t)
			if _, err := a.do(ctx, b); err != nil {
				require.Equal(t, states[len(states)-1], bookstest.Of(t, b), "an entry that is refused changes nothing")
				continue
			}
			states, clients = append(states, bookstest.Of(t, b)), append(clients, a.client)
			entered++
		}
		for i, client := range slices.Backward(clients) {
			require.Equal(t, states[i+1], bookstest.Of(t, b))
			_, err := record.Undo(ctx, b, client, false)
			require.NoError(t, err)
		}
		require.Equal(t, states[0], bookstest.Of(t, b))
	})
	require.Greater(t, entered, 20, "refused entries prove little") // of 70 in a short run, 350 else
}

func anyAct(t *rapid.T) act {
	client := rapid.SampledFrom([]string{"harbour", "quay"}).Draw(t, "client")
	person := rapid.SampledFrom([]string{"0001", "0002", "0003", "0004", "K1"}).Draw(t, "person")
	garment := rapid.SampledFrom([]string{"polo", "apron", "cap"}).Draw(t, "garment")
	size := map[string]string{"polo": rapid.SampledFrom([]string{"M", "L"}).Draw(t, "size"), "apron": "one",
		"cap": "ONE"}[garment]
	colour := map[string]string{"polo": "navy", "apron": "black", "cap": "navy"}[garment]
	pieces := rapid.IntRange(1, 30).Draw(t, "pieces")
	on := rapid.SampledFrom([]programme.Date{bookstest.Spring, bookstest.Summer, bookstest.Autumn}).Draw(t, "on")
	m := record.Move{Client: client, Person: person, Garment: garment, Colour: colour, Size: size,
		Pieces: pieces, On: on}
	switch rapid.IntRange(0, 7).Draw(t, "kind") {
	case 0:
		m.Kind, m.FromShelf = programme.Issued, rapid.Bool().Draw(t, "from shelf")
	case 1:
		m.Kind, m.Pieces = programme.Ended, 1
	case 2:
		m.Kind = programme.Counted
	case 3:
		return hire(record.Starter{Client: client, StaffID: "K1", Name: "Kezia Larkfield", Role: "baker", Start: on})
	case 4:
		return alter(record.Alteration{Client: client, Person: person, Role: "supervisor", Site: "Mill Lane",
			LastDay: on})
	case 5:
		return receive(record.Arrival{Goods: programme.Goods{Kind: programme.Blank, Code: garment, Colour: colour,
			Size: size}, Pieces: pieces, On: on})
	case 6:
		return receive(record.Arrival{Goods: programme.Goods{Kind: programme.Finished, Client: client, Code: garment,
			Colour: colour, Size: size}, Pieces: pieces, On: on})
	case 7:
		return receive(record.Arrival{Goods: programme.Goods{Kind: programme.Transfer, Code: "harbour-mark"},
			Pieces: pieces, On: on})
	}
	return move(m)
}

// tamper changes something behind the back of the entries by hand.
func tamper(t *testing.T, b *books.Books, f func(tx *store.Tx) error) {
	t.Helper()
	require.NoError(t, b.Store.InTx(context.Background(), f))
}

func TestUndoRefusesWhatSomethingElseHasChangedSince(t *testing.T) {
	ctx := context.Background()
	kezia := programme.Person{StaffID: "K1", Name: "Kezia Larkfield", Role: "baker", Start: bookstest.Autumn,
		Sizes: map[string]string{}}
	for name, c := range map[string]struct {
		act
		tamper func(tx *store.Tx) error
		says   string
	}{
		"stock that was stated anew": {
			acts["blanks that were on order"].act,
			func(tx *store.Tx) error { return tx.ReplaceStock(bookstest.Shelf[:1]) },
			"the stock of blank polo/navy/M has changed since",
		},
		"a person whom a roster changed": {
			acts["a change of everything"].act,
			func(tx *store.Tx) error {
				p := bookstest.Staff()[2]
				p.Role = "supervisor"
				return tx.PutPeople("harbour", []programme.Person{p})
			},
			"the roster says something else about 0003 since",
		},
		"a starter whom a roster changed": {
			hire(record.Starter{Client: "harbour", StaffID: "K1", Name: kezia.Name, Role: "baker",
				Start: bookstest.Autumn}),
			func(tx *store.Tx) error {
				p := kezia
				p.Site = "Mill Lane"
				return tx.PutPeople("harbour", []programme.Person{p})
			},
			"the roster says something else about K1 since",
		},
		"a starter who holds pieces": {
			hire(record.Starter{Client: "harbour", StaffID: "K1", Name: kezia.Name, Role: "baker",
				Start: bookstest.Autumn}),
			func(tx *store.Tx) error {
				_, _, err := tx.AddMovements("harbour",
					[]programme.Movement{{Date: bookstest.Autumn, Kind: programme.Issued, StaffID: "K1",
						SKU: bookstest.PoloM, Pieces: 1}}, 0)
				return err
			},
			"pieces of K1 are in the ledger",
		},
	} {
		t.Run(name, func(t *testing.T) {
			b := bookstest.New(t)
			_, err := c.do(ctx, b)
			require.NoError(t, err)
			tamper(t, b, c.tamper)
			before := bookstest.Of(t, b)
			_, err = record.Undo(ctx, b, c.client, false)
			require.ErrorContains(t, err, c.says)
			require.Equal(t, before, bookstest.Of(t, b))
		})
	}
}

// A name is forgotten when its time has come; taking back an older change of
// that person must not bring it back, nor fail for it.
func TestUndoKeepsTheNameThatTheRosterHasNow(t *testing.T) {
	b := bookstest.New(t)
	ctx := context.Background()
	_, err := record.Alter(ctx, b, record.Alteration{Client: "harbour", Person: "0001", Role: "baker"})
	require.NoError(t, err)
	tamper(t, b, func(tx *store.Tx) error {
		p := bookstest.Staff()[0]
		p.Role, p.Name = "baker", "Ada Newname"
		return tx.PutPeople("harbour", []programme.Person{p})
	})
	_, err = record.Undo(ctx, b, "harbour", false)
	require.NoError(t, err)
	want := bookstest.Staff()[0]
	want.Name = "Ada Newname"
	require.Equal(t, want, bookstest.Of(t, b).People["harbour"][0])
}

// The number that is made up for a starter may be that of a leaver whose name
// is forgotten; nobody's record is written over.
func TestAStarterNeverTakesTheRecordOfAForgottenLeaver(t *testing.T) {
	b := bookstest.New(t)
	ctx := context.Background()
	kezia := record.Starter{Client: "harbour", Name: "Kezia Larkfield", Role: "baker", Start: bookstest.Spring}
	_, err := record.Hire(ctx, b, kezia)
	require.NoError(t, err)
	tamper(t, b, func(tx *store.Tx) error {
		people, err := tx.People("harbour")
		if err != nil {
			return err
		}
		made := slices.IndexFunc(people, func(p programme.Person) bool { return p.Name == kezia.Name })
		people[made].End = bookstest.Summer
		if err := tx.PutPeople("harbour", people[made:made+1]); err != nil {
			return err
		}
		_, err = tx.ForgetLeavers("harbour", bookstest.Summer, "")
		return err
	})
	before := bookstest.Of(t, b)
	_, err = record.Hire(ctx, b, kezia)
	require.ErrorContains(t, err, "already; give another with --number")
	require.Equal(t, before, bookstest.Of(t, b))
}

// A ledger that was exported and taken into new books brings the refs of old
// entries along; a new entry must not be taken for one of them.
func TestAnEntryIsNeverTakenForOneThatAFileBrought(t *testing.T) {
	b := bookstest.New(t)
	ctx := context.Background()
	tamper(t, b, func(tx *store.Tx) error {
		_, _, err := tx.AddMovements("harbour", []programme.Movement{{Date: bookstest.Spring, Kind: programme.Issued,
			StaffID: "0001", SKU: bookstest.PoloM, Pieces: 1, Ref: "by-hand-1"}}, 0)
		return err
	})
	before := bookstest.Of(t, b)
	_, err := record.Enter(ctx, b, record.Move{Client: "harbour", Person: "0001", Kind: programme.Issued,
		Garment: "polo", Pieces: 2, On: bookstest.Summer})
	require.NoError(t, err)
	require.Len(t, bookstest.Of(t, b).Movements["harbour"], len(before.Movements["harbour"])+1)
	_, err = record.Undo(ctx, b, "harbour", false)
	require.NoError(t, err)
	require.Equal(t, before, bookstest.Of(t, b))
}
