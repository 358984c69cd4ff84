package handover_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/record"
)

// A count form that comes twice with other numbers: the last one holds, and the shop is told what differs.
func TestTheSecondFormOfACountHoldsAndIsTold(t *testing.T) {
	b := bookstest.New(t)
	held := func() int {
		ctx := context.Background()
		client, err := b.Client(ctx, "harbour")
		require.NoError(t, err)
		people, err := b.Store.People(ctx, "harbour")
		require.NoError(t, err)
		moves, err := b.Store.Movements(ctx, "harbour")
		require.NoError(t, err)
		pieces, err := record.Held(b.Shop, client, people, moves, "0001", bookstest.Autumn)
		require.NoError(t, err)
		return pieces[bookstest.PoloM]
	}
	form := func(pieces string) []string {
		r, err := ledger(b, "Counted on,"+bookstest.Autumn.String()+"\nName,Garment,Presentable,No.\n,polo,"+pieces+",0001\n", today)
		require.NoError(t, err)
		return r.Notes
	}
	day := b.Shop.DateStyle.Date(bookstest.Autumn)
	require.Equal(t, []string{"counted on " + day}, form("1"))
	require.Equal(t, 1, held())
	require.Equal(t, []string{"counted on " + day}, form("1"), "the same once more")
	require.Contains(t, form("2")[1], "other numbers than in a count before (no. 0001, polo/navy/M: 2 here, 1 on "+day+")")
	require.Equal(t, 2, held(), "a corrected form counts as if the first had never come")
}
