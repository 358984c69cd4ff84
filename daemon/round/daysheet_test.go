package round_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/books/bookstest"
	"github.com/kitmuster/kitmuster/daemon/handover"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/notify/message"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/setup"
)

func TestDaySheetsGoOutOnceAWeekToThoseWhoKeepTheRecords(t *testing.T) {
	ctx := context.Background()
	b := bookstest.New(t)
	client, err := b.Client(ctx, "harbour")
	require.NoError(t, err)
	changed := *client
	changed.DaySheets, changed.ByMail.DaySheets = programme.WeeklyDaySheets, []string{"records@harbour.example"}
	require.NoError(t,
		b.Store.InTx(ctx, func(tx *store.Tx) error { return tx.PutClient("harbour", setup.WriteClient(&changed)) }))
	sheets := func(day programme.Date) (out []round.Message) {
		res, err := round.Run(ctx, b, round.Options{AsOf: day, Clients: []string{"harbour"}, From: b.Shop.Owner,
			Now: day.Time()})
		require.NoError(t, err)
		for _, m := range res.Messages {
			if m.Kind == message.KindDaySheet {
				out = append(out, whole(t, b, m))
			}
		}
		return out
	}
	first := sheets(bookstest.Summer)
	require.Len(t, first, 1)
	require.Equal(t, "records@harbour.example", first[0].To[0].Email)
	require.Equal(t, "day-sheet--harbour--2025-06-30.xlsx", first[0].Attachments[0].Name)
	require.Empty(t, sheets(bookstest.Summer+1), "the same week")
	require.Len(t, sheets(bookstest.Summer+7), 1)

	client, err = b.Client(ctx, "harbour")
	require.NoError(t, err)
	d, err := round.DaySheet(ctx, b, client, bookstest.Summer)
	require.NoError(t, err)
	held := map[string]int{}
	for _, r := range d.Rows {
		held[r.Person.StaffID+" "+r.String()] = r.OnRecord
	}
	require.Equal(t, 3, held["0001 polo/navy/M"])
	require.Contains(t, held, "0001 apron/black/one", "what the kit says and nobody holds yet")
	for key := range held {
		require.NotContains(t, key, "0004", "who left in spring")
	}
	_, err = handover.ReadDays(ctx, b, "harbour", first[0].Attachments[0].Name, first[0].Attachments[0].Data,
		handover.Options{AsOf: bookstest.Summer})
	require.ErrorContains(t, err, "no row of this day sheet has a number", "an empty one is read as one")
}
