package store_test

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

func TestProposalMovesOnceAndKeepsItsHistory(t *testing.T) {
	ctx := context.Background()
	s := open(t)
	day := programme.NewDate(2026, 3, 2)
	sku := programme.SKU{Garment: "tee", Colour: "black", Size: "M"}
	p := reorder.Proposal{Client: "bakery", AsOf: day, OrderBy: day.Add(3), State: reorder.Drafted,
		Lines: []reorder.Line{{SKU: sku, Order: 6}}}
	require.NoError(t, s.InTx(ctx, func(tx *store.Tx) error {
		if err := tx.PutClient("bakery", []byte("x")); err != nil {
			return err
		}
		err := tx.AddRound(store.Round{ID: 1, AsOf: day, Slot: "round/2026-03-02T06:00", Summary: []byte("{}")})
		if err != nil {
			return err
		}
		p.Number = 1
		return tx.AddProposal(1, &p)
	}))
	require.EqualValues(t, 1, p.Number)

	move := func(from, to reorder.State) error {
		return s.InTx(ctx, func(tx *store.Tx) error { return tx.MoveProposal(p.Number, from, to, "by telephone") })
	}
	require.NoError(t, move(reorder.Drafted, reorder.Accepted))
	require.ErrorContains(t, move(reorder.Drafted, reorder.Declined), "proposal 1 is no longer drafted")

	steps, err := s.Steps(ctx, p.Number)
	require.NoError(t, err)
	require.Len(t, steps, 2)
	require.Equal(t, reorder.Accepted, steps[1].To)
	got, err := s.Proposal(ctx, 1)
	require.NoError(t, err)
	require.Equal(t, reorder.Accepted, got.State, "the state of the row is the truth, not the one in the body")
	_, err = s.Proposal(ctx, 2)
	require.ErrorIs(t, err, store.ErrNoProposal)
}

func TestASlotHoldsOneRound(t *testing.T) {
	ctx := context.Background()
	s := open(t)
	add := func() error {
		return s.InTx(ctx, func(tx *store.Tx) error {
			err := tx.AddRound(store.Round{ID: 2, AsOf: programme.NewDate(2026, 3, 2), Slot: "round/2026-03-02T06:00",
				Summary: []byte("{}")})
			return err
		})
	}
	require.NoError(t, add())
	require.Error(t, add())
}

func TestStockStatementReplacesItsKindOnly(t *testing.T) {
	ctx := context.Background()
	s := open(t)
	day := programme.NewDate(2026, 3, 2)
	blank := programme.StockLine{AsOf: day, Goods: programme.Goods{Kind: programme.Blank, Code: "tee", Colour: "black",
		Size: "M"}, Pieces: 10}
	oldBlank := programme.StockLine{AsOf: day.Add(-7), Goods: programme.Goods{Kind: programme.Blank, Code: "tee",
		Colour: "black", Size: "S"}, Pieces: 4}
	mark := programme.StockLine{AsOf: day, Goods: programme.Goods{Kind: programme.Transfer, Code: "mark"}, Pieces: 30,
		Made: day.Add(-90)}
	fresh := programme.StockLine{AsOf: day, Goods: programme.Goods{Kind: programme.Transfer, Code: "mark"}, Pieces: 20,
		Made: day.Add(-9)}
	replace := func(lines ...programme.StockLine) {
		require.NoError(t, s.InTx(ctx, func(tx *store.Tx) error { return tx.ReplaceStock(lines) }))
	}
	replace(oldBlank, mark, fresh)
	replace(blank)
	got, err := s.Stock(ctx)
	require.NoError(t, err)
	require.Equal(t, []programme.StockLine{blank, mark, fresh}, got)

	require.NoError(t, s.InTx(ctx, func(tx *store.Tx) error {
		taken, err := tx.TakeStock(programme.TransferGoods("mark"), 35)
		require.Equal(t, 35, taken)
		return err
	}))
	got, err = s.Stock(ctx)
	require.NoError(t, err)
	require.Equal(t, 0, got[1].Pieces, "the oldest transfers go first")
	require.Equal(t, 15, got[2].Pieces)
}

func TestAFailedTransactionLeavesNothing(t *testing.T) {
	ctx := context.Background()
	s := open(t)
	stop := errors.New("stop")
	require.ErrorIs(t, s.InTx(ctx, func(tx *store.Tx) error {
		require.NoError(t, tx.PutClient("bakery", []byte("x")))
		return stop
	}), stop)
	rows, err := s.Clients(ctx)
	require.NoError(t, err)
	require.Empty(t, rows)
	_, err = s.Client(ctx, "bakery")
	require.ErrorIs(t, err, store.ErrNoClient)
}

func TestRosterComesBackAsStoredAndLeaversAreForgotten(t *testing.T) {
	ctx := context.Background()
	s := open(t)
	day := programme.NewDate(2026, 3, 2)
	list := []programme.Person{
		{StaffID: "a1", Name: "Ida Ørsted", Role: "counter", Site: "north", Start: day.Add(-400),
			Sizes: map[string]string{"top": "M"}},
		{StaffID: "a2", Name: "Left Long Ago", Role: "counter", Start: day.Add(-900), End: day.Add(-300),
			Sizes: map[string]string{}},
	}
	require.NoError(t, s.InTx(ctx, func(tx *store.Tx) error {
		return errors.Join(tx.PutClient("bakery", []byte("x")), tx.PutPeople("bakery", list))
	}))
	got, err := s.People(ctx, "bakery")
	require.NoError(t, err)
	require.Equal(t, list, got)
	require.NoError(t, s.InTx(ctx, func(tx *store.Tx) error {
		n, err := tx.ForgetLeavers("bakery", day.Add(-180), "")
		require.Equal(t, 1, n)
		return err
	}))
	got, err = s.People(ctx, "bakery")
	require.NoError(t, err)
	require.Empty(t, got[1].Name)
	require.Equal(t, "Ida Ørsted", got[0].Name)
}
