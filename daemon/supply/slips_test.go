package supply_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// An order that is named twice is one order: the blank that the shelf gives for a piece to be made again
// leaves it once.
func TestAnOrderNamedTwiceIsSentOnce(t *testing.T) {
	d := newDesk(t, "harbour")
	d.say(1, answer.Answer{Event: reorder.Accept})
	d.say(1, answer.Answer{Event: reorder.Order})
	blank := programme.BlankGoods(bookstest.PoloL)
	d.tx(func(tx *store.Tx) {
		require.NoError(t, tx.ReplaceStockOf(blank, []programme.StockLine{{AsOf: day, Goods: blank, Pieces: 2}}))
	})
	d.say(1, answer.Answer{Event: reorder.Arrive, Day: day + 9,
		Deliveries: []reorder.Delivery{{SKU: bookstest.PoloL, Came: 2, Spoilt: 1}}})
	d.drafts(supply.Wish{})
	var twice []int64
	for _, o := range d.orders(store.OrderWritten) {
		twice = append(twice, o.Number, o.Number)
	}
	done, err := answer.Sent(context.Background(), d.b, day+9, twice, false)
	require.NoError(t, err)
	require.Len(t, done.Orders, len(twice)/2)
	p := d.proposal(1)
	require.Equal(t, 1, p.Line(bookstest.PoloL).SetAside)
}

// A proposal may be named twice, too.
func TestProposalsNamedTwiceShareSheetsOnce(t *testing.T) {
	d := newDesk(t, "harbour", "quay")
	d.say(1, answer.Answer{Event: reorder.Accept})
	once := d.drafts(supply.Wish{Numbers: []int64{1}, With: []int64{2}, Try: true})
	twice := d.drafts(supply.Wish{Numbers: []int64{1}, With: []int64{2, 2}, Try: true})
	require.Equal(t, printed(once.Orders), printed(twice.Orders))
}

// Three more of one size and three fewer of another are the same number of pieces and not the same order.
func TestOrdersOfOtherSizesAreNotStored(t *testing.T) {
	d := newDesk(t, "harbour")
	d.say(1, answer.Answer{Event: reorder.Accept})
	o, err := supply.Drafts(context.Background(), d.b, day, supply.Wish{})
	require.NoError(t, err)
	d.say(1, answer.Answer{Event: reorder.Change, Changes: []reorder.LineChange{
		{SKU: bookstest.PoloM, Pieces: 3}, {SKU: bookstest.PoloL, Pieces: 5}}})
	require.ErrorContains(t, d.b.Store.InTx(context.Background(), o.Commit), "write them again")
	require.Empty(t, d.orders(store.OrderWritten))
}

// What came of an order since it was said to be sent would be lost with that.
func TestUndoRefusesWhereAnOrderHasMovedOn(t *testing.T) {
	ctx := context.Background()
	d := newDesk(t, "harbour")
	d.say(1, answer.Answer{Event: reorder.Accept})
	d.drafts(supply.Wish{})
	d.say(1, answer.Answer{Event: reorder.Order})
	var number int64
	for _, o := range d.orders(store.OrderOrdered) {
		if len(o.Blanks) > 0 {
			number = o.Number
		}
	}
	_, err := answer.Arrived(ctx, d.b, answer.Goods{Order: number, Day: day + 3,
		Came: []reorder.LineChange{{SKU: bookstest.PoloM, Pieces: 5}}}, false)
	require.NoError(t, err)
	_, err = record.Undo(ctx, d.b, "harbour", false)
	require.ErrorContains(t, err, "something else has happened to order")
	_, err = record.Undo(ctx, d.b, "", false)
	require.NoError(t, err)
	_, err = record.Undo(ctx, d.b, "harbour", false)
	require.NoError(t, err)
	require.NotEmpty(t, d.orders(store.OrderWritten))
}

// An entry that left an order as it was leaves alone, when it is taken back, what came of the order since.
func TestUndoKeepsWhatCameSince(t *testing.T) {
	ctx := context.Background()
	d := newDesk(t, "harbour", "quay")
	d.say(1, answer.Answer{Event: reorder.Accept})
	d.say(2, answer.Answer{Event: reorder.Accept})
	d.drafts(supply.Wish{})
	d.sent()
	var number int64
	for _, o := range d.orders(store.OrderOrdered) {
		if len(o.Blanks) > 0 {
			number = o.Number
		}
	}
	d.say(1, answer.Answer{Event: reorder.Receive, Day: day + 5})
	_, err := answer.Arrived(ctx, d.b, answer.Goods{Order: number, Day: day + 6}, false)
	require.NoError(t, err)
	_, err = record.Undo(ctx, d.b, "harbour", false)
	require.NoError(t, err)
	for _, o := range d.orders(store.OrderArrived) {
		if o.Number == number {
			require.Zero(t, o.Outstanding())
			return
		}
	}
	t.Fatalf("order %d has not arrived any more", number)
}
