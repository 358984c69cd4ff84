package record_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/forecast"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

var apron = programme.SKU{Garment: "apron", Colour: "black", Size: "one"}

// reissuing is the small shop, where harbour lets pieces go out again as long as
// that share of their life is left, and quay is a client of its own code.
func reissuing(t testing.TB, share string) *books.Books {
	t.Helper()
	b := bookstest.New(t)
	text, err := os.ReadFile("../../testdata/bakery/harbour.yaml")
	require.NoError(t, err)
	require.NoError(t, b.Store.InTx(context.Background(), func(tx *store.Tx) error {
		require.NoError(t, tx.PutClient("quay", bytes.Replace(text, []byte("code: harbour"), []byte("code: quay"), 1)))
		return tx.PutClient("harbour", append(text, []byte("reissue_life_left: "+share+"\n")...))
	}))
	return b
}

// inTwoParts is the small shop, where harbour gives two polos at first and the third
// after ten weeks.
func inTwoParts(t testing.TB) *books.Books {
	t.Helper()
	b := bookstest.New(t)
	text, err := os.ReadFile("../../testdata/bakery/harbour.yaml")
	require.NoError(t, err)
	split := bytes.Replace(text, []byte("each: 3,"), []byte("each: 3, first: 2, rest_after_weeks: 10,"), 1)
	require.NotEqual(t, text, split)
	require.NoError(t, b.Store.InTx(context.Background(),
		func(tx *store.Tx) error { return tx.PutClient("harbour", split) }))
	return b
}

// lie puts finished pieces of harbour on the shelf.
func lie(t testing.TB, b *books.Books, lots ...programme.Lot) {
	t.Helper()
	require.NoError(t, b.Store.InTx(context.Background(), func(tx *store.Tx) error {
		for _, l := range lots {
			require.NoError(t, tx.AddStock([]programme.StockLine{{AsOf: bookstest.Spring,
				Goods: programme.FinishedGoods("harbour", l.SKU), Pieces: l.Pieces, Washes: l.Washes}}))
		}
		return nil
	}))
}

// shelf is how many finished pieces of harbour lie there.
func shelf(t testing.TB, b *books.Books, k programme.SKU) (n int) {
	t.Helper()
	stock, err := b.Store.Stock(context.Background())
	require.NoError(t, err)
	for _, l := range stock {
		if l.Goods == programme.FinishedGoods("harbour", k) {
			n += l.Pieces
		}
	}
	return n
}

// held is what a person of harbour holds.
func held(t testing.TB, b *books.Books, staff string, on programme.Date) map[programme.SKU]int {
	t.Helper()
	ctx := context.Background()
	client, err := b.Client(ctx, "harbour")
	require.NoError(t, err)
	people, err := b.Store.People(ctx, "harbour")
	require.NoError(t, err)
	moves, err := b.Store.Movements(ctx, "harbour")
	require.NoError(t, err)
	out, err := record.Held(b.Shop, client, people, moves, staff, on)
	require.NoError(t, err)
	return out
}

func on(day programme.Date) record.Options { return record.Options{Client: "harbour", On: day} }

// whole is all that an entry about people can change.
func whole(t testing.TB, b *books.Books) string {
	t.Helper()
	ctx := context.Background()
	c := bookstest.Of(t, b)
	proposals, err := b.Store.Proposals(ctx, "")
	require.NoError(t, err)
	said, err := b.Store.HeldAnswers(ctx, "")
	require.NoError(t, err)
	text, err := json.Marshal([]any{c.People, c.Movements, c.Imports, c.Stock, proposals, said})
	require.NoError(t, err)
	return string(text)
}

// Three start on a Monday. On the shelf lie two new polos M, one of M worn before
// and three aprons. By hand:
//
//	            needs            from the shelf         proposed
//	Kezia M     3 polo, 2 apron  1 worn, 2 new; 2       -
//	Tove M      3 polo, 2 apron  1 apron                3 polo M, 1 apron
//	Ned ?       3 polo, 2 apron  -                      2 apron; polos of no known size
func TestThreeStartersAreEquippedInOneEntry(t *testing.T) {
	ctx := context.Background()
	b := reissuing(t, "0.3")
	lie(t, b, programme.Lot{SKU: bookstest.PoloM, Pieces: 1, Washes: 4}, programme.Lot{SKU: apron, Pieces: 3})
	before := whole(t, b)
	three := record.Starters{Options: on(bookstest.Autumn), People: []record.Starter{
		{Name: "Kezia Larkfield", Role: "barista", Start: bookstest.Autumn + 3,
			Sizes: map[string]string{"top": "medium"}},
		{Name: "Tove Ashlock", Role: "barista", Start: bookstest.Autumn + 3, Sizes: map[string]string{"top": "M"}},
		{Name: "Ned Fenwick", Role: "barista", Start: bookstest.Autumn + 3},
	}}
	three.Try = true
	tried, err := record.Start(ctx, b, three)
	require.NoError(t, err)
	require.Equal(t, before, whole(t, b), "a trial keeps nothing")
	require.Empty(t, tried.Papers)

	three.Try = false
	out, err := record.Start(ctx, b, three)
	require.NoError(t, err)
	require.Equal(t, tried.Kits, out.Kits, "and says what will come")
	kezia, tove, ned := out.Kits[0], out.Kits[1], out.Kits[2]
	require.Equal(t, []programme.Lot{{SKU: bookstest.PoloM, Pieces: 1, Washes: 4}, {SKU: bookstest.PoloM, Pieces: 2},
		{SKU: apron, Pieces: 2}}, kezia.Picked)
	require.Empty(t, kezia.Proposed)
	require.Equal(t, []programme.Lot{{SKU: apron, Pieces: 1}}, tove.Picked)
	require.Equal(t, []programme.Lot{{SKU: bookstest.PoloM, Pieces: 3}, {SKU: apron, Pieces: 1}}, tove.Proposed)
	require.Equal(t, []programme.Lot{{SKU: apron, Pieces: 2}}, ned.Proposed)
	require.Equal(t, []string{"3 × Cotton polo: no size of top is known"}, ned.Unsized)
	require.Contains(t, hint.Commands(out.Notes), ned.StaffID+" Ned Fenwick: 3 × Cotton polo: no size of top is known")
	require.Contains(t, out.Notes[len(out.Notes)-1].Command, "after the first day of Tove Ashlock (", "Kezia's kit is whole")
	require.Equal(t, 6, out.Proposal.Pieces())
	require.Len(t, out.Papers, 2, "pick list and bag tags")
	require.Zero(t, shelf(t, b, bookstest.PoloM))
	require.Equal(t, map[programme.SKU]int{bookstest.PoloM: 3, apron: 2},
		held(t, b, kezia.StaffID, bookstest.Autumn+10))
	p, err := b.Store.Proposal(ctx, out.Proposal.Number)
	require.NoError(t, err)
	require.Equal(t, reorder.Drafted, p.State)
	require.Equal(t, p.Blanks, p.Lines[0].UnitCost*0+p.Lines[1].UnitCost*3, "polos are pressed on blanks of the shelf")
	require.Positive(t, p.Transfers)

	// Said again, nothing is proposed twice.
	again, err := record.Start(ctx, b, record.Starters{Options: on(bookstest.Autumn),
		People: []record.Starter{{Name: "Tove Ashlock"}, {Name: ned.StaffID}}})
	require.NoError(t, err)
	require.Nil(t, again.Proposal)
	require.Empty(t, again.Papers, "nothing is to be picked")
	require.Equal(t, []message.AwaitedLot{{Lot: programme.Lot{SKU: bookstest.PoloM, Pieces: 3}, Proposal: p.Number},
		{Lot: programme.Lot{SKU: apron, Pieces: 1}, Proposal: p.Number}}, again.Kits[0].Awaited)
	require.Empty(t, again.Kits[0].Proposed)
	_, err = record.Undo(ctx, b, "harbour", false)
	require.NoError(t, err)

	// The size becomes known: the same words with it give the rest.
	rest, err := record.Start(ctx, b, record.Starters{Options: on(bookstest.Autumn), Wait: true,
		People: []record.Starter{{Name: ned.StaffID, Sizes: map[string]string{"top": "L"}}}})
	require.NoError(t, err)
	require.Contains(t, rest.Kits[0].Waiting, programme.Lot{SKU: bookstest.PoloL, Pieces: 3})
	require.Nil(t, rest.Proposal)

	for range 2 {
		_, err = record.Undo(ctx, b, "harbour", false)
		require.NoError(t, err)
	}
	require.Equal(t, before, whole(t, b), "one undo takes all of an entry back")
}

// A kit that was ordered is on its way: saying again who starts takes no second one off the
// shelf, and proposes none.
func TestAKitThatIsOnItsWayIsNotGivenTwice(t *testing.T) {
	ctx := context.Background()
	b := reissuing(t, "0.3")
	first, err := record.Start(ctx, b, record.Starters{Options: on(bookstest.Autumn),
		People: []record.Starter{{Name: "Tove Ashlock", Role: "barista", Start: bookstest.Autumn,
			Sizes: map[string]string{"top": "L"}}}})
	require.NoError(t, err)
	n := first.Proposal.Number
	require.NoError(t, b.Store.InTx(ctx,
		func(tx *store.Tx) error { return tx.MoveProposal(n, reorder.Drafted, reorder.Accepted, "") }))
	lie(t, b, programme.Lot{SKU: bookstest.PoloL, Pieces: 3})
	out, err := record.Start(ctx, b, record.Starters{Options: on(bookstest.Autumn),
		People: []record.Starter{{Name: "Tove Ashlock"}}})
	require.NoError(t, err)
	require.Empty(t, out.Kits[0].Picked)
	require.Nil(t, out.Proposal)
	require.Contains(t, out.Kits[0].Awaited, message.AwaitedLot{Lot: programme.Lot{SKU: bookstest.PoloL, Pieces: 3},
		Proposal: n, OnItsWay: true})
	require.Contains(t, fmt.Sprint(out.Notes), "which is on its way")
}

// What is on its way for nobody by name is there for starters: a second order for them would be
// one too many. By hand, of three polos and ten aprons that come, where a kit is 3 polos and 2
// aprons, two polos lie on the shelf, and those who are there lack 4 aprons:
//
//	                                   Kezia takes   Tove takes   proposed
//	nobody else lacks                  1 and 2       2 and 2      1 polo
//	Ned took the shelf's, waits for 1  2 and 2       0 and 2      1 + 3 polos
//	nobody said yes                    -             -            1 + 3 polos, 4 aprons
func TestStartersTakeWhatIsOnItsWayForNobodyByName(t *testing.T) {
	ctx := context.Background()
	lot := func(k programme.SKU, n int) message.AwaitedLot {
		return message.AwaitedLot{Lot: programme.Lot{SKU: k, Pieces: n}, Proposal: 12, OnItsWay: true, Unnamed: true}
	}
	starter := func(name string) record.Starter {
		return record.Starter{Name: name, Role: "barista", Start: bookstest.Autumn,
			Sizes: map[string]string{"top": "M"}}
	}
	for _, c := range []struct {
		says        string
		state       reorder.State
		others      []record.Starter
		kezia, tove []message.AwaitedLot
		proposed    int
	}{
		{"nobody else lacks", reorder.Ordered, nil, []message.AwaitedLot{lot(bookstest.PoloM, 1), lot(apron, 2)},
			[]message.AwaitedLot{lot(bookstest.PoloM, 2), lot(apron, 2)}, 1},
		{"Ned took the shelf's and waits for the rest", reorder.Ordered, []record.Starter{starter("Ned Fenwick")},
			[]message.AwaitedLot{lot(bookstest.PoloM, 2), lot(apron, 2)}, []message.AwaitedLot{lot(apron, 2)}, 4},
		{"nobody said yes", reorder.Sent, nil, nil, nil, 8},
	} {
		b := reissuing(t, "0.3")
		if len(c.others) > 0 {
			_, err := record.Start(ctx, b, record.Starters{Options: on(bookstest.Autumn), Wait: true, People: c.others})
			require.NoError(t, err)
		}
		require.NoError(t, b.Store.InTx(ctx, func(tx *store.Tx) error {
			p := &reorder.Proposal{Number: 12, Client: "harbour", AsOf: bookstest.Autumn, State: c.state,
				OrderBy: bookstest.Autumn + 1, Arrives: bookstest.Autumn + 10, Lines: []reorder.Line{
					{SKU: bookstest.PoloM, Order: 5, Wanted: 5, Buy: 5}, {SKU: apron, Order: 10, Wanted: 10, Buy: 10}}}
			p.Pool = []reorder.Pool{{SKU: bookstest.PoloM, ForStarters: 3, Spare: 2, Got: 2}, {SKU: apron, Spare: 10}}
			return errors.Join(tx.AddRound(store.Round{ID: 1, AsOf: bookstest.Autumn, Summary: []byte("{}")}),
				tx.AddProposal(1, p))
		}), c.says)
		out, err := record.Start(ctx, b, record.Starters{Options: on(bookstest.Autumn),
			People: []record.Starter{starter("Kezia Larkfield"), starter("Tove Ashlock")}})
		require.NoError(t, err, c.says)
		require.Equal(t, c.kezia, out.Kits[0].Awaited, c.says)
		require.Equal(t, c.tove, out.Kits[1].Awaited, c.says)
		require.Equal(t, c.proposed, out.Proposal.Pieces(), c.says)
		if c.state == reorder.Ordered {
			require.Contains(t, hint.Commands(out.Notes),
				fmt.Sprintf("once they are here, 'kitmuster starter harbour %s' hands them out",
					out.Kits[0].StaffID), c.says)
		}
	}
}

// An exchange leaves what is on its way for nobody by name to come as well, as the next round would,
// and is proposed what that lacks. Where nobody said yes yet, all of it is proposed.
func TestAnExchangeTakesWhatIsOnItsWayForNobodyByName(t *testing.T) {
	ctx := context.Background()
	for _, c := range []struct {
		state reorder.State
		comes bool
	}{{reorder.Ordered, true}, {reorder.Sent, false}} {
		b := bookstest.New(t)
		require.NoError(t, b.Store.InTx(ctx, func(tx *store.Tx) error {
			p := &reorder.Proposal{Number: 12, Client: "harbour", AsOf: bookstest.Autumn, State: c.state,
				OrderBy: bookstest.Autumn + 1, Arrives: bookstest.Autumn + 10,
				Lines: []reorder.Line{{SKU: bookstest.PoloL, Order: 20, Wanted: 20, Buy: 20}},
				Pool:  []reorder.Pool{{SKU: bookstest.PoloL, Spare: 20}}}
			return errors.Join(tx.AddRound(store.Round{ID: 1, AsOf: bookstest.Autumn, Summary: []byte("{}")}),
				tx.AddProposal(1, p))
		}))
		out, err := record.Swap(ctx, b, record.Exchange{Options: on(bookstest.Autumn), Person: "0001",
			Sizes: map[string]string{"top": "L"}, Propose: true})
		require.NoError(t, err)
		kit := out.Kits[0]
		comes := 0
		for _, l := range kit.Awaited {
			require.True(t, l.Unnamed)
			comes += l.Pieces
		}
		kept := 0
		for _, l := range kit.Kept {
			kept += l.Pieces
		}
		require.Positive(t, kept, "who waits wears the old ones on")
		if c.comes {
			require.Equal(t, kept, comes)
			require.Nil(t, out.Proposal)
			require.Contains(t, hint.Commands(out.Notes), "once they are here, 'kitmuster exchange harbour 0001' hands them out")
		} else {
			require.Zero(t, comes)
			require.Equal(t, kept, out.Proposal.Pieces())
		}
	}
}

func TestAStarterWhoIsWrongIsRefusedWithTheOthers(t *testing.T) {
	ctx := context.Background()
	b := bookstest.New(t)
	before := whole(t, b)
	good := record.Starter{Name: "Kezia Larkfield", Role: "barista", Start: bookstest.Autumn,
		Sizes: map[string]string{"top": "M"}}
	for says, bad := range map[string]record.Starter{
		"write one of barista, baker, supervisor": {Name: "Tove Ashlock", Role: "welder",
			Start: bookstest.Autumn},
		"but the sizes are": {Name: "Tove Ashlock", Role: "baker",
			Start: bookstest.Autumn, Sizes: map[string]string{"top": "huge"}},
		"the kinds of sizes are bottom, head, top": {Name: "Tove Ashlock", Role: "baker",
			Start: bookstest.Autumn, Sizes: map[string]string{"shoe": "42"}},
		"another size is an exchange": {Name: "Ada Brackenholt",
			Sizes: map[string]string{"top": "L"}},
		"Dario Eastlake (0004) was here until": {Name: "Dario Eastlake", Role: "baker",
			Start: bookstest.Autumn},
		"is named twice": good,
		"the number 0001 is that of 0001 Ada Brackenholt": {Name: "Tove Ashlock", StaffID: "0001", Role: "baker",
			Start: bookstest.Autumn},
	} {
		_, err := record.Start(ctx, b, record.Starters{Options: on(bookstest.Autumn),
			People: []record.Starter{good, bad}})
		require.ErrorContains(t, err, says)
		require.Equal(t, before, whole(t, b), says)
	}
}

// Somebody who left and comes back is the same person, not "another": the refusal says what to do.
func TestWhoComesBackAfterLeavingIsEnteredAnew(t *testing.T) {
	ctx := context.Background()
	b := bookstest.New(t)
	again := record.Starters{Options: on(bookstest.Autumn), People: []record.Starter{{Name: "Dario Eastlake",
		Role: "baker", Start: bookstest.Autumn, Sizes: map[string]string{"top": "M", "bottom": "32/32"}}}}
	_, err := record.Start(ctx, b, again)
	require.ErrorContains(t, err, "was here until ")
	require.ErrorContains(t, err, "who comes back is entered anew")
	again.People[0].StaffID = "0001b"
	_, err = record.Start(ctx, b, again)
	require.NoError(t, err)
}

// 0001 holds three polos M and takes L from now on; two of L lie on the shelf. Two
// are handed out and two of M come back, one is worn on until the third is there.
func TestAnExchangeHandsOutWhatLiesThereAndKeepsTheRest(t *testing.T) {
	ctx := context.Background()
	b := reissuing(t, "0.1")
	lie(t, b, programme.Lot{SKU: bookstest.PoloL, Pieces: 2})
	before := whole(t, b)
	out, err := record.Swap(ctx, b, record.Exchange{Options: on(bookstest.Summer), Person: "0001",
		Sizes: map[string]string{"top": "L"}})
	require.NoError(t, err)
	k := out.Kits[0]
	require.Equal(t, []programme.Lot{{SKU: bookstest.PoloL, Pieces: 2}}, k.Picked)
	require.Equal(t, []programme.Lot{{SKU: bookstest.PoloL, Pieces: 1}}, k.Waiting)
	require.Equal(t, []programme.Lot{{SKU: bookstest.PoloM, Pieces: 1}}, k.Kept)
	require.Len(t, k.Shelved, 1)
	require.Equal(t, 2, k.Shelved[0].Pieces)
	// 5 wears a week over three polos are 5/3 washes a week each: 13 weeks make 21.7.
	require.Equal(t, 22, k.Shelved[0].Washes)
	require.Equal(t, map[programme.SKU]int{bookstest.PoloL: 2, bookstest.PoloM: 1},
		held(t, b, "0001", bookstest.Summer))
	require.Equal(t, 4, shelf(t, b, bookstest.PoloM), "two new and two worn")

	in, err := forecast.Inspect(ctx, b, "harbour", bookstest.Summer+1)
	require.NoError(t, err)
	owed := 0
	for _, s := range in.Muster(1).Short {
		if s.StaffID == "0001" && s.SKU == bookstest.PoloL {
			owed += s.Pieces
		}
	}
	require.Equal(t, 1, owed, "the third is owed, although three are held")

	_, err = record.Swap(ctx, b, record.Exchange{Options: on(bookstest.Summer + 1), Person: "0001"})
	require.ErrorContains(t, err, "worn on until the new pieces come")
	lie(t, b, programme.Lot{SKU: bookstest.PoloL, Pieces: 1})
	out, err = record.Swap(ctx, b, record.Exchange{Options: on(bookstest.Summer + 30), Person: "0001"})
	require.NoError(t, err)
	require.Equal(t, map[programme.SKU]int{bookstest.PoloL: 3}, held(t, b, "0001", bookstest.Summer+30))
	require.Equal(t, 1, total(out.Kits[0].Shelved))

	_, err = record.Undo(ctx, b, "harbour", false)
	require.NoError(t, err)
	require.NoError(t, b.Store.InTx(ctx, func(tx *store.Tx) error {
		_, err := tx.TakeStock(programme.FinishedGoods("harbour", bookstest.PoloL), 1)
		return err
	}))
	_, err = record.Undo(ctx, b, "harbour", false)
	require.NoError(t, err)
	require.Equal(t, before, whole(t, b))
}

// The goods of an exchange come with a proposal: what they take the place of is
// then read as handed over, and can still come back to the shelf.
func TestWhatAProposalTookThePlaceOfComesBack(t *testing.T) {
	ctx := context.Background()
	b := reissuing(t, "0.1")
	_, err := record.Swap(ctx, b, record.Exchange{Options: on(bookstest.Summer), Person: "0001",
		Sizes: map[string]string{"top": "L"}})
	require.NoError(t, err)
	require.NoError(t, b.Store.InTx(ctx, func(tx *store.Tx) error {
		_, _, err := tx.AddMovements("harbour", []programme.Movement{{Date: bookstest.Summer + 14,
			Kind: programme.Issued, StaffID: "0001", SKU: bookstest.PoloL, Pieces: 3, Proposal: 9, Ref: "p9"}}, 0)
		return err
	}))
	require.Equal(t, map[programme.SKU]int{bookstest.PoloL: 3}, held(t, b, "0001", bookstest.Summer+60))
	out, err := record.Swap(ctx, b, record.Exchange{Options: on(bookstest.Summer + 60), Person: "0001"})
	require.NoError(t, err)
	require.Equal(t, 3, total(out.Kits[0].Shelved))
	require.Equal(t, 25, out.Kits[0].Shelved[0].Washes, "15 weeks at 5/3, not worn since")
	require.Equal(t, map[programme.SKU]int{bookstest.PoloL: 3}, held(t, b, "0001", bookstest.Summer+60))
	in, err := forecast.Inspect(ctx, b, "harbour", bookstest.Summer+61)
	require.NoError(t, err)
	require.Zero(t, in.History.Unmatched)
	require.Zero(t, in.History.Implied, "what came back explains the hand-over")
	_, err = record.Swap(ctx, b, record.Exchange{Options: on(bookstest.Summer + 61), Person: "0001"})
	require.ErrorContains(t, err, "holds nothing of another size")
}

func total(lots []programme.Lot) (n int) {
	for _, l := range lots {
		n += l.Pieces
	}
	return n
}

func TestALeaversPiecesLieOnTheShelfWithTheirWear(t *testing.T) {
	ctx := context.Background()
	for name, c := range map[string]struct {
		share          string
		pieces         []record.Handed
		shelved, spent int
		shelf          int
	}{
		"the programme lets them go out again": {"0.1", nil, 3, 0, 5},
		"too worn":                             {"0.99", nil, 0, 3, 2},
		"never":                                {"0", nil, 0, 3, 2},
		"some came back":                       {"0.1", []record.Handed{{Garment: "polo", Pieces: 2}}, 2, 0, 4},
	} {
		t.Run(name, func(t *testing.T) {
			b := reissuing(t, c.share)
			before := whole(t, b)
			out, err := record.Back(ctx, b, record.Return{Options: on(bookstest.Summer), Person: "0001",
				LastDay: bookstest.Summer - 7, Pieces: c.pieces})
			require.NoError(t, err)
			require.Equal(t, c.shelved, total(out.Kits[0].Shelved))
			require.Equal(t, c.spent, total(out.Kits[0].Spent))
			require.Equal(t, c.shelf, shelf(t, b, bookstest.PoloM))
			in, err := forecast.Inspect(ctx, b, "harbour", bookstest.Summer)
			require.NoError(t, err)
			m := in.Muster(4)
			for _, l := range m.Lines {
				if l.SKU == bookstest.PoloM {
					require.Equal(t, c.shelf, l.OnHand, "the forecast counts what may be worn again")
					require.Equal(t, c.shelved, l.Reissuable)
				}
			}
			_, err = record.Undo(ctx, b, "harbour", false)
			require.NoError(t, err)
			require.Equal(t, before, whole(t, b))
		})
	}
	b := reissuing(t, "0.1")
	for says, r := range map[string]record.Return{
		"has no last day; give it with --last-day": {Person: "0001"},
		"held 3 of polo/navy/M": {Person: "0001", LastDay: bookstest.Summer,
			Pieces: []record.Handed{{Garment: "polo", Pieces: 4}}},
		"started on":   {Person: "0001", LastDay: bookstest.Hired - 1},
		"held nothing": {Person: "0004"},
	} {
		r.Options = on(bookstest.Summer)
		_, err := record.Back(ctx, b, r)
		require.ErrorContains(t, err, says)
	}
}

// Both who hold polos are away in weeks 3 to 5 after the first of July. By hand: no
// piece ends in those weeks, each has as many washes on the last of their days as
// on the day before the first, and 5/3 (of three) or 5/2 (of two) a week in others.
func TestLeaveReachesTheForecastWeekByWeek(t *testing.T) {
	ctx := context.Background()
	b := reissuing(t, "0")
	first, last := bookstest.Summer+15, bookstest.Summer+35
	for _, staff := range []string{"0001", "0002"} {
		_, err := record.Away(ctx, b, record.Absence{Options: on(bookstest.Summer), Person: staff, From: first,
			Until: last})
		require.NoError(t, err)
	}
	in, err := forecast.Inspect(ctx, b, "harbour", bookstest.Summer)
	require.NoError(t, err)
	m := in.Muster(9)
	for w, c := range m.Weekly {
		if w >= 2 && w < 5 {
			require.Zero(t, c.Endings.Sum(), "week %d", w+1)
		} else {
			require.Positive(t, c.Endings.Sum(), "week %d", w+1)
		}
	}
	weeks := func(day programme.Date) float64 { return float64(day-bookstest.Spring) / 7 }
	for _, c := range []struct {
		day  programme.Date
		worn float64 // weeks
	}{
		{bookstest.Summer, weeks(bookstest.Summer)}, {first - 1, weeks(first - 1)}, {first + 9, weeks(first - 1)},
		{last, weeks(first - 1)}, {last + 14, weeks(first-1) + 2},
	} {
		in, err := forecast.Inspect(ctx, b, "harbour", c.day)
		require.NoError(t, err)
		for _, p := range in.History.InService {
			each := 3.0
			if p.StaffID == "0002" {
				each = 2
			}
			require.InDelta(t, 5/each*c.worn, p.Washes, 1e-9, "%s on %s", p.StaffID, c.day)
		}
	}
	// Back early, and part-time: 2 of 5 days from the first of August on.
	_, err = record.Away(ctx, b, record.Absence{Options: on(bookstest.Summer), Person: "0001", From: first + 7,
		Usual: true})
	require.NoError(t, err)
	_, err = record.Away(ctx, b, record.Absence{Options: on(bookstest.Summer), Person: "0001", From: first + 21,
		WearsAWeek: 2})
	require.NoError(t, err)
	in, err = forecast.Inspect(ctx, b, "harbour", first+34)
	require.NoError(t, err)
	require.InDelta(t, 5.0/3*(weeks(first-1)+2+0.4*2), in.History.InService[0].Washes, 1e-9)
	for range 2 {
		_, err = record.Undo(ctx, b, "harbour", false)
		require.NoError(t, err)
	}
	people, err := b.Store.People(ctx, "harbour")
	require.NoError(t, err)
	require.Equal(t, []programme.Spell{{From: first, Until: last}}, people[0].Spells)
}

// A kit in two parts: two polos at first, the third after ten weeks. What the shelf
// has is for the first part alone, and the rest is named with its day; on the day the
// same words give it.
func TestAStarterGetsTheFirstPartOfTheKit(t *testing.T) {
	ctx := context.Background()
	b := inTwoParts(t)
	lie(t, b, programme.Lot{SKU: bookstest.PoloM, Pieces: 3 - shelf(t, b, bookstest.PoloM)},
		programme.Lot{SKU: apron, Pieces: 2})
	day := bookstest.Autumn
	out, err := record.Start(ctx, b, record.Starters{Options: on(day),
		People: []record.Starter{{Name: "Kezia Larkfield", Role: "barista", Start: day,
			Sizes: map[string]string{"top": "M"}}}})
	require.NoError(t, err)
	kit := out.Kits[0]
	require.Equal(t, []programme.Lot{{SKU: bookstest.PoloM, Pieces: 2}, {SKU: apron, Pieces: 2}}, kit.Picked)
	require.Equal(t, 1, shelf(t, b, bookstest.PoloM), "the third stays there")
	require.Empty(t, kit.Proposed)
	require.Equal(t, []message.LaterLot{{Lot: programme.Lot{SKU: bookstest.PoloM, Pieces: 1}, On: day.Add(70)}},
		kit.Later)

	again := record.Starters{Options: on(day.Add(69)), Wait: true, People: []record.Starter{{Name: "Kezia Larkfield"}}}
	out, err = record.Start(ctx, b, again)
	require.NoError(t, err)
	require.Empty(t, out.Kits[0].Picked, "the day before it is not due")
	again.On = day.Add(70)
	out, err = record.Start(ctx, b, again)
	require.NoError(t, err)
	require.Equal(t, []programme.Lot{{SKU: bookstest.PoloM, Pieces: 1}}, out.Kits[0].Picked)
	require.Empty(t, out.Kits[0].Later)
	require.Equal(t, 3, held(t, b, kit.StaffID, day.Add(71))[bookstest.PoloM])
}
