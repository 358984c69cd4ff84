package round_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/answer"
	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/programme/reorder"
)

// A no and a not now, each until a day, hold on the next Monday.
func TestANoIsNotAskedAgain(t *testing.T) {
	ctx := context.Background()
	w := randomShop(3)
	b := worldBooks(t, &w)
	first, err := round.Run(ctx, b, round.Options{AsOf: w.AsOf, Now: time.Unix(1772452800, 0)})
	require.NoError(t, err)
	said := map[string]reorder.Event{}
	for i := range first.Plan.Entries {
		e := &first.Plan.Entries[i]
		if e.Proposal == nil {
			continue
		}
		a := answer.Answer{Number: e.Proposal.Number, Event: reorder.Decline, Day: w.AsOf, Until: w.AsOf + 28}
		if len(said) == 0 {
			a.Event, a.Until = reorder.Wait, w.AsOf+14
		}
		said[e.Client.Code] = a.Event
		_, err := answer.Give(ctx, b.Store, b.Shop, e.Client, a, false)
		require.NoError(t, err)
	}
	require.Greater(t, len(said), 1)
	next, err := round.Make(ctx, b, w.AsOf+7)
	require.NoError(t, err)
	for i := range next.Entries {
		if e := &next.Entries[i]; said[e.Client.Code] != "" {
			require.Nil(t, e.Proposal, "%s had said %s", e.Client.Code, said[e.Client.Code])
		}
	}
	later, err := round.Make(ctx, b, w.AsOf+14)
	require.NoError(t, err)
	for i := range later.Entries {
		if e := &later.Entries[i]; said[e.Client.Code] == reorder.Wait {
			require.NotNil(t, e.Proposal, "its day has come")
		}
	}
}

// A no without a day holds where the programme sets no longest cover, too: as long as
// what was refused was meant to last.
func TestANoWithoutADayHoldsAsLongAsTheOrderWouldHaveLasted(t *testing.T) {
	ctx := context.Background()
	w := randomShop(3)
	for i := range w.Cases {
		w.Cases[i].Client.CoverWeeks = 0
	}
	b := worldBooks(t, &w)
	first, err := round.Run(ctx, b, round.Options{AsOf: w.AsOf, Now: time.Unix(1772452800, 0)})
	require.NoError(t, err)
	no := map[string]int{}
	for i := range first.Plan.Entries {
		if e := &first.Plan.Entries[i]; e.Proposal != nil {
			no[e.Client.Code] = e.Proposal.Pieces()
			_, err := answer.Give(ctx, b.Store, b.Shop, e.Client,
				answer.Answer{Number: e.Proposal.Number, Event: reorder.Decline, Day: w.AsOf}, false)
			require.NoError(t, err)
		}
	}
	require.NotEmpty(t, no)
	next, err := round.Make(ctx, b, w.AsOf+7)
	require.NoError(t, err)
	held := 0
	for i := range next.Entries {
		e := &next.Entries[i]
		if no[e.Client.Code] > 0 && e.Proposal == nil {
			held++
			require.NotEmpty(t, e.Refused, "the owner's mail says so")
		}
	}
	require.Positive(t, held)
}
