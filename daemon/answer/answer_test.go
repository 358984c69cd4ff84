package answer_test

import (
	"context"
	"encoding/json"
	"errors"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/journal"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/setup"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

var (
	monday = programme.NewDate(2026, 3, 2)
	teeM   = programme.SKU{Garment: "tee", Colour: "black", Size: "M"}
	teeL   = programme.SKU{Garment: "tee", Colour: "black", Size: "L"}
)

// desk is a shop with one client and one proposal: ten tees in M, of which
// three are for a, b and c, one more L for b, and five blanks on the shelf.
type desk struct {
	store  *store.Store
	shop   *programme.Shop
	client *programme.Client
	number int64
}

func newDesk(t *testing.T) *desk {
	t.Helper()
	st, err := store.Open(context.Background(), filepath.Join(t.TempDir(), "shop.db"), store.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, st.Close()) })
	logo := []programme.Decoration{{Artwork: "logo", Place: "left-chest"}}
	d := &desk{
		store: st,
		shop: &programme.Shop{
			Name: "Elm Lane Prints", Owner: programme.Contact{Name: "Ada Roe", Email: "ada@elmlane.example"},
			DateStyle: programme.DayFirst, TimeZone: "Europe/Dublin",
			Garments: []programme.Garment{{Code: "tee", Name: "Tee", SizeFamily: "top",
				Sizes: []programme.GarmentSize{{Code: "M"}, {Code: "L"}}}},
			Kinds:  []programme.TransferKind{{Code: "plastisol", Name: "screen-printed"}},
			Labels: setup.DefaultLabels(),
		},
		client: &programme.Client{Code: "bakery", Roles: []programme.Role{{Code: "counter",
			Kit: []programme.KitLine{{Garment: "tee", Colour: "black", Decorations: logo}}}}},
	}
	p := &reorder.Proposal{
		Client: "bakery", AsOf: monday, State: reorder.Drafted, OrderBy: monday + 4, Arrives: monday + 14,
		Lines: []reorder.Line{
			{SKU: teeM, Order: 10, Wanted: 10, BlanksOnShelf: 5, Buy: 7, StayBlank: 2},
			{SKU: teeL, Order: 1, Wanted: 1, Buy: 1},
		},
		Named: []reorder.Named{
			{StaffID: "a", SKU: teeM, Pieces: 2, Why: programme.CauseWorn},
			{StaffID: "b", SKU: teeM, Pieces: 1, Why: programme.CauseOwed},
			{StaffID: "c", SKU: teeM, Pieces: 1, Why: programme.CausePrint},
			{StaffID: "b", SKU: teeL, Pieces: 1, Why: programme.CauseWorn},
		},
		Pool: []reorder.Pool{{SKU: teeM, ForStarters: 2, Spare: 4}},
	}
	d.tx(t, func(tx *store.Tx) error {
		require.NoError(t, tx.PutClient("bakery", []byte("x")))
		require.NoError(t, tx.PutPeople("bakery", []programme.Person{
			{StaffID: "a", Role: "counter", Start: monday - 900, Sizes: map[string]string{"top": "M"}},
			{StaffID: "b", Role: "counter", Start: monday - 900, Sizes: map[string]string{"top": "L"}},
			{StaffID: "c", Role: "counter", Start: monday - 900, End: monday + 3, Sizes: map[string]string{"top": "M"}},
		}))
		require.NoError(t, tx.AddStock([]programme.StockLine{{AsOf: monday,
			Goods: programme.Goods{Kind: programme.Blank, Code: "tee", Colour: "black", Size: "M"}, Pieces: 8}}))
		err := tx.AddRound(store.Round{ID: 1, AsOf: monday, Summary: []byte("{}")})
		require.NoError(t, err)
		p.Number = 1
		require.NoError(t, tx.AddProposal(1, p))
		printed := []sheet.Item{{Artwork: "logo"}, {Artwork: "logo"}, {Artwork: "logo"}, {Artwork: "other"}}
		plan := sheet.Part{
			Order: sheet.Order{Kind: "plastisol", Layouts: []sheet.Layout{{Copies: 4, Items: printed}}},
			Lines: []sheet.Line{{Artwork: "logo", Client: "bakery", Kind: "plastisol", Asked: 11, Spoilage: 1,
				Print: 12, Printed: 12}},
		}
		_, err = tx.AddSheetOrder(store.SheetOrder{RoundID: 1, Kind: "plastisol", State: sheet.Planned, Plan: plan,
			Numbers: []int64{p.Number}})
		return err
	})
	d.number = p.Number
	return d
}

func (d *desk) tx(t *testing.T, f func(*store.Tx) error) {
	t.Helper()
	require.NoError(t, d.store.InTx(context.Background(), f))
}

func (d *desk) say(e reorder.Event, day programme.Date) (out answer.Outcome, err error) {
	err = d.store.InTx(context.Background(), func(tx *store.Tx) error {
		out, err = answer.Record(tx, d.shop, d.client, answer.Answer{Number: d.number, Event: e, Day: day,
			Note: "by telephone"}, 0, nil)
		return err
	})
	return out, err
}

func (d *desk) must(t *testing.T, e reorder.Event, day programme.Date) answer.Outcome {
	t.Helper()
	out, err := d.say(e, day)
	require.NoError(t, err)
	return out
}

// shelf counts the stock of a kind by code, client and size.
func (d *desk) shelf(t *testing.T) map[string]int {
	t.Helper()
	lines, err := d.store.Stock(context.Background())
	require.NoError(t, err)
	out := map[string]int{}
	for _, l := range lines {
		if l.Pieces > 0 {
			out[string(l.Kind)+" "+l.Client+" "+l.Code+" "+l.Size] += l.Pieces
		}
	}
	return out
}

func (d *desk) sheetState(t *testing.T) (state sheet.State) {
	t.Helper()
	d.tx(t, func(tx *store.Tx) error {
		list, err := tx.SheetOrdersOf(d.number)
		require.Len(t, list, 1)
		state = list[0].State
		return err
	})
	return state
}

func TestAWholeLifeMovesEveryPieceOnce(t *testing.T) {
	d := newDesk(t)
	out := d.must(t, reorder.Accept, monday+1)
	require.Equal(t, reorder.Accepted, out.Proposal.State)
	require.Empty(t, out.Notices)
	require.Equal(t, map[string]int{"blank  tee M": 3}, d.shelf(t), "five blanks are set aside")
	require.Len(t, out.Papers, 4, "ticket, tags, packing list to read and to print")
	letter, ok, err := d.store.Letter(context.Background(), 1)
	require.NoError(t, err)
	require.True(t, ok, "the papers are in the outbox, with the yes or not at all")
	require.Contains(t, string(letter.Bytes), "To: \"Ada Roe\" <ada@elmlane.example>")
	require.Equal(t, "job", letter.Kind)

	d.must(t, reorder.Order, monday+1)
	require.Equal(t, sheet.Ordered, d.sheetState(t))

	out = d.must(t, reorder.Receive, monday+14)
	require.Equal(t, 11, out.Issued+out.Shelved, "every piece has gone somewhere")
	require.Equal(t, sheet.Received, d.sheetState(t))
}

func TestReceivedPiecesGoToPeopleOrToTheShelf(t *testing.T) {
	d := newDesk(t)
	d.must(t, reorder.Accept, monday+1)
	d.must(t, reorder.Order, monday+1)
	out := d.must(t, reorder.Receive, monday+14)
	moves, err := d.store.Movements(context.Background(), "bakery")
	require.NoError(t, err)
	require.Equal(t, []programme.Movement{
		{Date: monday + 14, Kind: programme.Issued, StaffID: "a", SKU: teeM, Pieces: 2, Ref: "proposal-1-1",
			Proposal: 1},
		{Date: monday + 14, Kind: programme.Issued, StaffID: "b", SKU: teeL, Pieces: 1, Ref: "proposal-1-4",
			Proposal: 1},
	}, moves)
	require.Equal(t, []string{
		"1 × Tee, black, M for b went to the shelf instead: now wears L.",
		"1 × Tee, black, M for c went to the shelf instead: left on 5 Mar 2026.",
	}, hint.Commands(out.Notices))
	require.Equal(t, 3, out.Issued)
	require.Equal(t, 8, out.Shelved)
	require.Equal(t, map[string]int{
		"blank  tee M":          3 + 2, // what was left, and what stays blank
		"finished bakery tee M": 6 + 2,
		"transfer  logo ":       12 - 11, // four copies of three, eleven pressed
		"transfer  other ":      4,
	}, d.shelf(t))
}

func TestPiecesReceivedBesideOldOnesSaySo(t *testing.T) {
	d := newDesk(t)
	d.must(t, reorder.Accept, monday+1)
	d.must(t, reorder.Order, monday+1)
	d.tx(t, func(tx *store.Tx) error {
		_, err := answer.Record(tx, d.shop, d.client, answer.Answer{Number: d.number, Event: reorder.Receive,
			Day: monday + 14, OldKept: true}, 0, nil)
		return err
	})
	moves, err := d.store.Movements(context.Background(), "bakery")
	require.NoError(t, err)
	require.NotEmpty(t, moves)
	for _, m := range moves {
		require.True(t, m.OldKept)
	}
}

func TestANoPutsBlanksBackAndDropsSheets(t *testing.T) {
	d := newDesk(t)
	before := d.shelf(t)
	d.must(t, reorder.Accept, monday)
	d.must(t, reorder.Decline, monday+1)
	require.Equal(t, before, d.shelf(t))
	require.Equal(t, sheet.Dropped, d.sheetState(t))
	p, err := d.store.Proposal(context.Background(), d.number)
	require.NoError(t, err)
	require.Equal(t, reorder.Declined, p.State)
	for _, l := range p.Lines {
		require.Zero(t, l.SetAside, "nothing is set aside for a proposal that was declined")
	}
}

// The last day counts, and whoever takes a garment of one size wears it.
func TestWhoGetsTheNamedPieces(t *testing.T) {
	for name, c := range map[string]struct {
		change func(d *desk, c *programme.Person)
		issued int
	}{
		"c left before":          {func(*desk, *programme.Person) {}, 3},
		"c leaves on that day":   {func(_ *desk, c *programme.Person) { c.End = monday + 14 }, 4},
		"c was there till then":  {func(_ *desk, c *programme.Person) { c.End = monday + 13 }, 3},
		"c is not in the roster": {func(_ *desk, c *programme.Person) { c.StaffID = "z" }, 3},
		"there is but one size": {func(d *desk, _ *programme.Person) {
			d.shop.Garments[0].Sizes = d.shop.Garments[0].Sizes[:1]
		}, 4},
	} {
		t.Run(name, func(t *testing.T) {
			d := newDesk(t)
			people, err := d.store.People(context.Background(), "bakery")
			require.NoError(t, err)
			person := people[2]
			c.change(d, &person)
			d.tx(t, func(tx *store.Tx) error {
				return errors.Join(tx.RemovePerson("bakery", "c"), tx.PutPeople("bakery", []programme.Person{person}))
			})
			d.must(t, reorder.Accept, monday+1)
			d.must(t, reorder.Order, monday+1)
			out := d.must(t, reorder.Receive, monday+14)
			require.Equal(t, c.issued, out.Issued)
			require.Equal(t, 11, out.Issued+out.Shelved)
		})
	}
}

// Sheets that two proposals share come in once.
func TestTransfersOfASharedSheetAreShelvedOnce(t *testing.T) {
	d := newDesk(t)
	d.must(t, reorder.Accept, monday+1)
	d.must(t, reorder.Order, monday+1)
	d.tx(t, func(tx *store.Tx) error { // the other proposal was received before
		list, err := tx.SheetOrdersOf(d.number)
		require.NoError(t, err)
		return errors.Join(tx.MoveSheetOrder(list[0].ID, sheet.Received),
			tx.AddStock([]programme.StockLine{{AsOf: monday,
				Goods: programme.Goods{Kind: programme.Transfer, Code: "logo"}, Pieces: 12, Made: monday}}))
	})
	d.must(t, reorder.Receive, monday+14)
	require.Equal(t, 12-11, d.shelf(t)["transfer  logo "])
}

// A yes that is taken back leaves sheets ordered that were ordered since for another proposal on them, and
// puts back those that it ordered itself.
func TestATakenBackAnswerLeavesSheetsThatOthersOrdered(t *testing.T) {
	d := newDesk(t)
	takeBack := func() {
		d.tx(t, func(tx *store.Tx) error {
			last, ok, err := tx.LastImport(store.ByHand, "bakery")
			require.NoError(t, err)
			require.True(t, ok)
			var entry struct{ Journal journal.Record }
			require.NoError(t, json.Unmarshal([]byte(last.Note), &entry))
			require.NoError(t, entry.Journal.TakeBack(tx, "taken back"))
			return tx.RemoveImport(last.ID)
		})
	}
	for _, event := range []reorder.Event{reorder.Accept, reorder.Order} {
		said := answer.Answer{Number: d.number, Event: event, Day: monday + 1}
		_, err := answer.Give(context.Background(), d.store, d.shop, d.client, said, false)
		require.NoError(t, err)
	}
	require.Equal(t, sheet.Ordered, d.sheetState(t))
	takeBack()
	require.Equal(t, sheet.Planned, d.sheetState(t))
	d.tx(t, func(tx *store.Tx) error {
		list, err := tx.SheetOrdersOf(d.number)
		require.NoError(t, err)
		return tx.MoveSheetOrder(list[0].ID, sheet.Ordered)
	})
	takeBack()
	require.Equal(t, sheet.Ordered, d.sheetState(t))
}

func TestBlanksThatAreGoneAreSaid(t *testing.T) {
	d := newDesk(t)
	d.tx(t, func(tx *store.Tx) error {
		_, err := tx.TakeStock(programme.BlankGoods(teeM), 6)
		return err
	})
	out := d.must(t, reorder.Accept, monday)
	require.Equal(t, []string{"Of Tee, black, M, 3 blanks that were counted on are no longer on the shelf: see whether they are on their way, or order 3 more."}, hint.Commands(out.Notices))
	d.must(t, reorder.Decline, monday)
	require.Equal(t, map[string]int{"blank  tee M": 2}, d.shelf(t), "only what was taken comes back")
}

func TestALateYesMovesThePromise(t *testing.T) {
	d := newDesk(t)
	out := d.must(t, reorder.Accept, monday+7)
	require.Equal(t, []string{"The yes came after 6 Mar 2026, so the pieces arrive by 19 Mar 2026 instead of 16 Mar 2026."}, hint.Commands(out.Notices))
	p, err := d.store.Proposal(context.Background(), d.number)
	require.NoError(t, err)
	require.Equal(t, "2026-03-19", p.Arrives.String())
}

func TestARefusedAnswerChangesNothing(t *testing.T) {
	d := newDesk(t)
	before := d.shelf(t)
	for _, c := range []struct {
		event reorder.Event
		day   programme.Date
		want  string
	}{
		{reorder.Receive, monday,
			"proposal 1: the proposal is drafted and has not gone out; record the client's yes first: accept it"},
		{reorder.Accept, monday - 1, "proposal 1 was made on 2026-03-02, so nothing can have happened to it on 2026-03-01; give the right day with --on"},
	} {
		_, err := d.say(c.event, c.day)
		require.EqualError(t, err, c.want)
	}
	require.Equal(t, before, d.shelf(t))
	moves, err := d.store.Movements(context.Background(), "bakery")
	require.NoError(t, err)
	require.Empty(t, moves)
	d.number = 99
	_, err = d.say(reorder.Accept, monday)
	require.ErrorIs(t, err, store.ErrNoProposal)
}
