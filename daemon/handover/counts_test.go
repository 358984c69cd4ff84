package handover_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/daemon/record"
	"github.com/kitmuster/kitmuster/programme"
	lists "github.com/kitmuster/kitmuster/programme/ledger"
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
		r, err := ledger(b,
			"Counted on,"+bookstest.Autumn.String()+"\nName,Garment,Presentable,No.\n,polo,"+pieces+",0001\n", today)
		require.NoError(t, err)
		return r.Notes
	}
	day := b.Shop.DateStyle.Date(bookstest.Autumn)
	require.Equal(t, []string{"counted on " + day}, form("1"))
	require.Equal(t, 1, held())
	require.Equal(t, []string{"counted on " + day}, form("1"), "the same once more")
	require.Contains(t, form("2")[1],
		"other numbers than in a count before (no. 0001, polo/navy/M: 2 here, 1 on "+day+")")
	require.Equal(t, 2, held(), "a corrected form counts as if the first had never come")
}

// A form on which nobody wrote a day was counted on the day on which it came, and said so; the same form once
// more a week later is that one and no new count.
func TestAFormWithoutADayCountsOnTheDayThatItComes(t *testing.T) {
	b := bookstest.New(t)
	form := func(pieces string, on programme.Date) *handover.Report {
		r, err := ledger(b, "Counted on,,"+lists.AnyDay+"\nName,Garment,Presentable,No.\n,polo,"+pieces+",0001\n",
			handover.Options{AsOf: on})
		require.NoError(t, err)
		return r
	}
	today, day := bookstest.Autumn, b.Shop.DateStyle.Date
	first := form("1", today)
	require.Equal(t, []string{"no day stands on the form, so it is taken as counted on " + day(today)}, first.Notes)
	require.Equal(t, 1, first.New)
	again := form("1", today+7)
	require.Equal(t, []string{"no day stands on the form, and its numbers are known as counted on " + day(today)},
		again.Notes)
	require.Zero(t, again.New)
	require.Equal(t, 1, form("2", today+7).New, "other numbers are another form")
	require.Equal(t, 1, form("2", today+60).New, "as is one of weeks later")
}
