package round_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/daemon/supply"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// A round shares its sheets between clients; one says yes, the others no. What
// is ordered and comes in carries images of the one alone.
func TestNothingIsPrintedForWhoSaidNo(t *testing.T) {
	ctx := context.Background()
	w := randomShop(3)
	b := worldBooks(t, &w)
	res, err := round.Run(ctx, b, round.Options{AsOf: w.AsOf, Now: time.Unix(1772452800, 0)})
	require.NoError(t, err)
	say := func(e *round.Entry, event reorder.Event) {
		_, err := answer.Give(ctx, b.Store, b.Shop, e.Client, answer.Answer{Number: e.Proposal.Number, Event: event,
			Day: w.AsOf}, false)
		require.NoError(t, err)
	}
	var yes *round.Entry
	refused := 0
	for i := range res.Plan.Entries {
		e := &res.Plan.Entries[i]
		switch {
		case e.Proposal == nil:
		case yes == nil:
			yes = e
			say(e, reorder.Accept)
		default:
			refused++
			say(e, reorder.Decline)
		}
	}
	require.Positive(t, refused, "nobody who said no proves nothing")
	ordering, err := supply.Drafts(ctx, b, w.AsOf, supply.Wish{})
	require.NoError(t, err)
	require.NotEmpty(t, ordering.Orders)
	require.NoError(t, b.Store.InTx(ctx, ordering.Commit))
	require.NoError(t, b.Store.InTx(ctx, func(tx *store.Tx) error {
		list, err := tx.SheetOrdersOf(yes.Proposal.Number)
		require.NotEmpty(t, list)
		for _, o := range list {
			require.Equal(t, []int64{yes.Proposal.Number}, o.Numbers)
		}
		return err
	}))
	say(yes, reorder.Order)
	say(yes, reorder.Receive)
	stock, err := b.Store.Stock(ctx)
	require.NoError(t, err)
	for _, l := range stock {
		if l.Kind != programme.Transfer {
			continue
		}
		a, ok := b.Shop.Artwork(l.Code)
		require.True(t, ok)
		require.Equal(t, yes.Client.Code, a.Client, "%d transfers of %s lie on the shelf", l.Pieces, l.Code)
	}
}

// What is offered for free room is printed at the same cost with one word, lies
// on the shelf once the sheets are there, and is of the clients on the sheets.
func TestFreeRoomIsOfferedAndFilledAtNoCost(t *testing.T) {
	ctx := context.Background()
	w := randomShop(3)
	b := worldBooks(t, &w)
	res, err := round.Run(ctx, b, round.Options{AsOf: w.AsOf, Now: time.Unix(1772452800, 0)})
	require.NoError(t, err)
	dated := 0
	for i := range res.Plan.Sheets.Orders {
		for _, r := range res.Plan.Sheets.Orders[i].Room {
			if !r.From.IsZero() {
				dated++
			}
		}
	}
	require.Positive(t, dated, "the round knows when the next need of its clients is")
	clients := map[string]*round.Entry{}
	say := func(e *round.Entry, event reorder.Event) {
		_, err := answer.Give(ctx, b.Store, b.Shop, e.Client, answer.Answer{Number: e.Proposal.Number, Event: event,
			Day: w.AsOf}, false)
		require.NoError(t, err)
	}
	for i := range res.Plan.Entries {
		if e := &res.Plan.Entries[i]; e.Proposal != nil {
			clients[e.Client.Code] = e
			say(e, reorder.Accept)
		}
	}
	sheets := func(room bool) (*supply.Ordering, []sheet.Order) {
		o, err := supply.Drafts(ctx, b, w.AsOf, supply.Wish{Room: room, Spares: round.SparesOn(b, w.AsOf)})
		require.NoError(t, err)
		var list []sheet.Order
		for i := range o.Orders {
			for _, so := range o.Orders[i].SheetOrders() {
				list = append(list, so.Plan.Order)
			}
		}
		return o, list
	}
	_, offered := sheets(false)
	filled, printed := sheets(true)
	pieces := map[string]int{}
	for i := range printed {
		require.Equal(t, offered[i].Cost, printed[i].Cost)
		require.Len(t, printed[i].Room, len(offered[i].Room))
		for _, r := range printed[i].Room {
			require.True(t, r.Taken)
			require.Contains(t, clients, r.Client)
			if !r.From.IsZero() {
				require.Equal(t, clients[r.Client].Proposal.CoverUntil, r.From)
			}
			pieces[r.Artwork] += r.Pieces
		}
	}
	require.NotEmpty(t, pieces, "a world without free room proves nothing")
	require.NoError(t, b.Store.InTx(ctx, filled.Commit))
	for _, e := range clients {
		say(e, reorder.Order)
		say(e, reorder.Receive)
	}
	stock, err := b.Store.Stock(ctx)
	require.NoError(t, err)
	for art, n := range pieces {
		on := programme.Positions(stock, 0)[programme.TransferGoods(art)]
		require.GreaterOrEqual(t, on.Together(), n, "%s on the shelf", art)
	}
}
