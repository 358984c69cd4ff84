package supply_test

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/hint"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

const day = 20270 // some Monday of 2025

// desk is the books of two clients with proposals of eight polos each.
type desk struct {
	t *testing.T
	b *books.Books
}

func newDesk(t *testing.T, clients ...string) *desk {
	t.Helper()
	b := bookstest.New(t)
	d := &desk{t, b}
	d.tx(func(tx *store.Tx) {
		require.NoError(t, tx.AddRound(store.Round{ID: 1, AsOf: day, Summary: []byte("{}")}))
		for i, code := range clients {
			p, err := reorder.Direct(b.Shop, d.client(code), day, []reorder.Named{
				{StaffID: "0001", SKU: bookstest.PoloM, Pieces: 5, Why: programme.CauseWorn, PEnd: 0.8, By: day + 30},
				{StaffID: "0002", SKU: bookstest.PoloL, Pieces: 3, Why: programme.CauseOwed, PEnd: 1},
			}, nil)
			require.NoError(t, err)
			p.Number = int64(i + 1)
			require.NoError(t, tx.AddProposal(1, p))
		}
	})
	return d
}

func (d *desk) tx(f func(*store.Tx)) {
	d.t.Helper()
	require.NoError(d.t, d.b.Store.InTx(context.Background(), func(tx *store.Tx) error { f(tx); return nil }))
}

func (d *desk) client(code string) *programme.Client {
	d.t.Helper()
	c, err := d.b.Client(context.Background(), code)
	require.NoError(d.t, err)
	return c
}

func (d *desk) proposal(n int64) reorder.Proposal {
	d.t.Helper()
	p, err := d.b.Store.Proposal(context.Background(), n)
	require.NoError(d.t, err)
	return p
}

func (d *desk) say(n int64, a answer.Answer) answer.Outcome {
	d.t.Helper()
	p := d.proposal(n)
	a.Number, a.Known = n, true
	if a.Day == 0 {
		a.Day = day
	}
	out, err := answer.Give(context.Background(), d.b.Store, d.b.Shop, d.client(p.Client), a, false)
	require.NoError(d.t, err)
	return out
}

func (d *desk) drafts(w supply.Wish) *supply.Ordering {
	d.t.Helper()
	o, err := supply.Drafts(context.Background(), d.b, day, w)
	require.NoError(d.t, err)
	if !w.Try {
		require.NoError(d.t, d.b.Store.InTx(context.Background(), o.Commit))
	}
	return o
}

func (d *desk) sent() answer.OrderDone {
	d.t.Helper()
	done, err := answer.Sent(context.Background(), d.b, day, nil, false)
	require.NoError(d.t, err)
	return done
}

func (d *desk) orders(states ...store.OrderState) []supply.Order {
	d.t.Helper()
	list, err := supply.Orders(context.Background(), d.b.Store, states...)
	require.NoError(d.t, err)
	return list
}

// transfers counts what is on the shelf of an artwork.
func (d *desk) transfers() (n int) {
	d.t.Helper()
	stock, err := d.b.Store.Stock(context.Background())
	require.NoError(d.t, err)
	for _, l := range stock {
		if l.Kind == programme.Transfer {
			n += l.Pieces
		}
	}
	return n
}

func asideOf(p *reorder.Proposal) (n int) {
	for _, a := range p.Aside {
		n += a.Pieces
	}
	return n
}

// lines adds up what sheets print.
func printed(list []supply.Draft) (n int) {
	for i := range list {
		for _, s := range list[i].SheetOrders() {
			for _, l := range s.Plan.Lines {
				n += l.Print
			}
		}
	}
	return n
}

// Two proposals of one client need the same transfers, of which eleven lie on the
// shelf. What the first yes takes, the second cannot count on.
func TestTheShelfServesEachYesOnce(t *testing.T) {
	d := newDesk(t, "harbour", "harbour")
	d.tx(func(tx *store.Tx) {
		require.NoError(t, tx.ReplaceStockOf(programme.TransferGoods("harbour-mark"), []programme.StockLine{
			{AsOf: day, Goods: programme.TransferGoods("harbour-mark"), Pieces: 11, Made: day - 10},
		}))
	})
	before := d.transfers()
	d.say(1, answer.Answer{Event: reorder.Accept})
	d.say(2, answer.Answer{Event: reorder.Accept})
	first, second := d.proposal(1), d.proposal(2)
	require.Equal(t, 11, asideOf(&first)+asideOf(&second))
	require.Equal(t, before-11, d.transfers())
	require.Greater(t, asideOf(&first), asideOf(&second))

	one := d.drafts(supply.Wish{Numbers: []int64{1}})
	two := d.drafts(supply.Wish{Numbers: []int64{2}})
	need := 0
	for _, p := range []*reorder.Proposal{&first, &second} {
		for _, n := range p.TransfersOn(d.b.Shop, d.client("harbour"), bookstest.Staff()) {
			need += n
		}
	}
	require.GreaterOrEqual(t, printed(one.Orders)+printed(two.Orders)+11, need, "nothing is counted twice")

	d.say(1, answer.Answer{Event: reorder.Decline})
	require.Equal(t, before-asideOf(&second), d.transfers(), "a no gives back what it had")
}

func TestOrdersHaveNumbersAndGoodsAreReceivedAgainstThem(t *testing.T) {
	d := newDesk(t, "harbour", "quay")
	d.say(1, answer.Answer{Event: reorder.Accept})
	d.say(2, answer.Answer{Event: reorder.Accept})
	o := d.drafts(supply.Wish{})
	require.Greater(t, len(o.Orders), 1, "blanks and transfers come from different houses")
	numbers := map[int64]bool{}
	for i := range o.Orders {
		require.Positive(t, o.Orders[i].Number)
		require.False(t, numbers[o.Orders[i].Number], "each supplier has a number of its own")
		numbers[o.Orders[i].Number] = true
		require.False(t, o.Orders[i].SendBy.IsZero())
		require.LessOrEqual(t, o.Orders[i].SendBy, d.proposal(1).Arrives)
		require.Equal(t, "send it today", o.Orders[i].When(o.Orders[i].SendBy, programme.DayFirst.Date))
		require.Equal(t, "send it by "+programme.DayFirst.Date(o.Orders[i].SendBy),
			o.Orders[i].When(o.Orders[i].SendBy-1, programme.DayFirst.Date))
	}
	again := d.drafts(supply.Wish{})
	require.Len(t, d.orders(store.OrderWritten), len(again.Orders), "written again, the first ones are dropped")

	done := d.sent()
	require.Equal(t, []int64{1, 2}, done.Moved)
	require.Equal(t, reorder.Ordered, d.proposal(1).State)
	require.Empty(t, d.drafts(supply.Wish{Try: true}).Orders, "nothing is ordered twice")

	ctx := context.Background()
	for _, o := range d.orders(store.OrderOrdered) {
		if len(o.Blanks) == 0 {
			_, err := answer.Arrived(ctx, d.b, answer.Goods{Order: o.Number, Day: day + 5}, false)
			require.NoError(t, err)
			continue
		}
		left := o.Outstanding()
		k := o.Blanks[0].SKU
		_, err := answer.Arrived(ctx, d.b, answer.Goods{Order: o.Number, Day: day + 3,
			Came: []reorder.LineChange{{SKU: k, Pieces: 1}}}, false)
		require.NoError(t, err)
		done, err := answer.Arrived(ctx, d.b, answer.Goods{Order: o.Number, Day: day + 3,
			Back: []reorder.LineChange{{SKU: k, Pieces: 2}}, BackOn: day + 30}, false)
		require.NoError(t, err)
		require.Equal(t, left-1, done.Orders[0].Outstanding())
		for on, open := range map[programme.Date]int{day + 4: 2, day + 29: 2, day + 30: 0} {
			all, err := answer.Arrived(ctx, d.b, answer.Goods{Order: o.Number, Day: on}, true)
			require.NoError(t, err)
			require.Equal(t, open, all.Orders[0].Outstanding(), "what comes later does not come with the rest")
		}
		late := false
		for n := range int64(2) {
			p := d.proposal(n + 1)
			for _, c := range p.Coming() {
				late = late || c.SKU == k && c.On > day+30
			}
		}
		require.True(t, late, "the round counts on the back-order's day")
		_, err = answer.Arrived(ctx, d.b, answer.Goods{Order: o.Number, Day: day + 3,
			Came: []reorder.LineChange{{SKU: k, Pieces: 1000}}}, false)
		require.ErrorContains(t, err, "still to come; enter ")
		require.ErrorContains(t, err, fmt.Sprintf("'kitmuster receive blank %s ", k))
		require.Contains(t, hint.Desk(err), "under “Other goods that came”")
		_, err = record.Undo(ctx, d.b, "", false)
		require.NoError(t, err)
		_, err = answer.Arrived(ctx, d.b, answer.Goods{Order: o.Number, Day: day + 4}, false)
		require.NoError(t, err)
	}
	require.Empty(t, d.orders(store.OrderOrdered))
	p := d.proposal(1)
	require.Positive(t, asideOf(&p), "what was printed for it waits for the press")
	out := d.say(1, answer.Answer{Event: reorder.Receive, Day: day + 10})
	require.Equal(t, p.Pieces(), out.Issued+out.Shelved)
	p = d.proposal(1)
	require.Zero(t, asideOf(&p))
}

// Nothing of an open proposal is bought unless the owner names it, and then only
// its transfers, with what that costs; its later yes finds them.
func TestAnUndecidedProposalSharesTheSheetsWhenNamed(t *testing.T) {
	d := newDesk(t, "harbour", "quay")
	d.tx(func(tx *store.Tx) {
		require.NoError(t, tx.ReplaceStockOf(programme.TransferGoods("harbour-mark"), nil))
	})
	d.say(1, answer.Answer{Event: reorder.Accept})
	plain := d.drafts(supply.Wish{Try: true})
	require.Len(t, plain.Undecided, 1)
	u := plain.Undecided[0]
	require.Equal(t, int64(2), u.Number)
	require.False(t, u.With)
	require.Positive(t, u.Alone)
	require.Equal(t, d.proposal(1).OrderBy, u.Until)
	for i := range plain.Orders {
		require.Equal(t, []int64{1}, plain.Orders[i].Proposals)
	}

	with := d.drafts(supply.Wish{With: []int64{2}})
	require.Greater(t, printed(with.Orders), printed(plain.Orders))
	require.Equal(t, u.More, with.Undecided[0].More)
	for i := range with.Orders {
		for _, x := range with.Orders[i].Blanks {
			require.Equal(t, int64(1), x.Proposal, "no blank for whom no yes is there")
		}
	}
	require.Equal(t, []int64{1}, d.sent().Moved, "it is not ordered by that")
	require.True(t, d.proposal(2).State.Open())

	d.say(2, answer.Answer{Event: reorder.Accept})
	later := d.drafts(supply.Wish{})
	require.Zero(t, printed(later.Orders), "its transfers are on their way")
	require.NotEmpty(t, later.Orders, "and its blanks are bought now")

	_, err := supply.Drafts(context.Background(), d.b, day, supply.Wish{With: []int64{1}})
	require.ErrorContains(t, err, "proposal 1 is ordered already")
}

// A yes is recorded as ordered without the orders having been written: the round's
// sheets, which also carry images of somebody who has not answered, are not
// ordered for them.
func TestOrderedWithoutOrdersBuysForTheYesAlone(t *testing.T) {
	d := newDesk(t, "harbour", "quay")
	d.tx(func(tx *store.Tx) {
		_, err := tx.AddSheetOrder(store.SheetOrder{RoundID: 1, Kind: "plastisol", State: sheet.Planned,
			Numbers: []int64{1, 2}, Plan: sheet.Part{
				Order: sheet.Order{Kind: "plastisol", Layouts: []sheet.Layout{{Copies: 99,
					Items: []sheet.Item{{Artwork: "harbour-mark", Client: "harbour"},
						{Artwork: "quay-mark", Client: "quay"}}}}},
				Lines: []sheet.Line{{Artwork: "harbour-mark", Client: "harbour", Print: 9},
					{Artwork: "quay-mark", Client: "quay", Print: 9}},
			}})
		require.NoError(t, err)
		require.NoError(t, tx.ReplaceStockOf(programme.TransferGoods("harbour-mark"), nil))
	})
	d.say(1, answer.Answer{Event: reorder.Accept})
	out := d.say(1, answer.Answer{Event: reorder.Order})
	require.Contains(t, out.Notices[0].Command, "also carried transfers of proposal 2, which has no yes")
	d.tx(func(tx *store.Tx) {
		list, err := tx.SheetOrdersOf(1)
		require.NoError(t, err)
		require.NotEmpty(t, list)
		for _, o := range list {
			require.Equal(t, []int64{1}, o.Numbers)
			require.Equal(t, sheet.Ordered, o.State)
			require.Less(t, o.Plan.Order.Sheets(), 99)
		}
		list, err = tx.SheetOrdersOf(2)
		require.NoError(t, err)
		require.Equal(t, sheet.Planned, list[0].State)
	})
	_, err := record.Undo(context.Background(), d.b, "harbour", false)
	require.NoError(t, err)
	d.tx(func(tx *store.Tx) {
		list, err := tx.SheetOrdersOf(1)
		require.NoError(t, err)
		require.Len(t, list, 1)
		require.Equal(t, []int64{1, 2}, list[0].Numbers, "undone, the round's plan is back")
	})
}

// Two pieces are spoilt at the press. Orders buy their blanks and no more, and
// once sent ask for nothing again.
func TestWhatMustBeMadeAgainIsOrderedOnce(t *testing.T) {
	d := newDesk(t, "harbour")
	d.say(1, answer.Answer{Event: reorder.Accept})
	d.say(1, answer.Answer{Event: reorder.Order})
	d.tx(func(tx *store.Tx) { // one blank of it lies on the shelf
		require.NoError(t, tx.ReplaceStockOf(programme.BlankGoods(bookstest.PoloL),
			[]programme.StockLine{{AsOf: day, Goods: programme.BlankGoods(bookstest.PoloL), Pieces: 1}}))
	})
	d.say(1, answer.Answer{Event: reorder.Arrive, Day: day + 9,
		Deliveries: []reorder.Delivery{{SKU: bookstest.PoloM, Came: 5}, {SKU: bookstest.PoloL, Came: 1, Spoilt: 2}}})
	o := d.drafts(supply.Wish{})
	var blanks []supply.Blank
	for i := range o.Orders {
		blanks = append(blanks, o.Orders[i].Blanks...)
	}
	require.Len(t, blanks, 1)
	require.Equal(t, supply.Blank{Proposal: 1, SKU: bookstest.PoloL, Pieces: 1, Shelf: 1, Again: true,
		UnitCost: blanks[0].UnitCost}, blanks[0])
	d.sent()
	require.Empty(t, d.drafts(supply.Wish{Try: true}).Orders)
	p := d.proposal(1)
	require.Equal(t, 2, p.Outstanding())
	out := d.say(1, answer.Answer{Event: reorder.Receive, Day: day + 20})
	require.Equal(t, 2, out.Issued)
	require.Equal(t, reorder.Received, d.proposal(1).State)
	require.Empty(t, d.orders(store.OrderOrdered), "its orders have come")
}

// A no after the orders were written takes the drafts with it.
func TestANoDropsTheDraftsThatCarryIt(t *testing.T) {
	d := newDesk(t, "harbour")
	d.say(1, answer.Answer{Event: reorder.Accept})
	o := d.drafts(supply.Wish{})
	out := d.say(1, answer.Answer{Event: reorder.Decline})
	require.Len(t, out.Notices, len(o.Orders))
	require.Contains(t, out.Notices[0].Command, "Do not send order ")
	_, err := answer.Sent(context.Background(), d.b, day, nil, false)
	require.ErrorContains(t, err, "no order is written")
	_, err = record.Undo(context.Background(), d.b, "harbour", false)
	require.NoError(t, err)
	require.Len(t, d.orders(store.OrderWritten), len(o.Orders))
}

// Where the kit has the wearer's name, sheets carry it for each piece; a name that cannot
// be printed stops the order with the person's, until it is entered or there is to be none.
func TestNamesAreBoughtForTheirWearers(t *testing.T) {
	d := newDesk(t, "harbour")
	d.b.Shop.Artworks = append(d.b.Shop.Artworks, programme.Artwork{Code: "harbour-name", Client: "harbour",
		Name: "Name", Kind: "film",
		Width: 3 * programme.Inch, Height: programme.Inch / 2, Turn: true, Text: programme.FirstName,
		LetterColour: "#ffffff"})
	people := bookstest.Staff()
	people[1].Name = "李娜"
	text, err := os.ReadFile("../../testdata/bakery/harbour.yaml")
	require.NoError(t, err)
	text = bytes.ReplaceAll(text, []byte("place: left-chest}]"),
		[]byte("place: left-chest}, {artwork: harbour-name, place: left-chest}]"))
	d.tx(func(tx *store.Tx) {
		require.NoError(t, tx.PutClient("harbour", text))
		require.NoError(t, tx.PutPeople("harbour", people))
	})
	d.say(1, answer.Answer{Event: reorder.Accept})
	_, err = supply.Drafts(t.Context(), d.b, day, supply.Wish{})
	require.ErrorContains(t, err, "0002 李娜")
	require.ErrorContains(t, err, "kitmuster change harbour 0002 --print-name NAME")

	printed := func(name string) (n int) {
		o := d.drafts(supply.Wish{Try: true})
		for i := range o.Orders {
			for _, so := range o.Orders[i].SheetOrders() {
				for _, l := range so.Plan.Lines {
					if l.Artwork == "harbour-name="+name {
						require.Equal(t, l.Asked, l.Printed)
						n += l.Printed
					}
				}
			}
		}
		return n
	}
	people[1].PrintName = "Lina"
	d.tx(func(tx *store.Tx) { require.NoError(t, tx.PutPeople("harbour", people)) })
	first, _, _ := strings.Cut(people[0].Name, " ")
	require.Equal(t, 5, printed(first))
	require.Equal(t, 3, printed("Lina"))
	people[1].PrintName = programme.NothingPrinted
	d.tx(func(tx *store.Tx) { require.NoError(t, tx.PutPeople("harbour", people)) })
	require.Zero(t, printed("Lina"))
}
