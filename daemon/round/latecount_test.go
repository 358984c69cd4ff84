package round_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/daemon/round"
	"github.com/kitmuster/kitmuster/daemon/store"
	"github.com/kitmuster/kitmuster/programme"
)

// A count whose return day is over is told in the owner's mail with what is missing and what to do,
// until the rest comes or the owner stops it.
func TestAPartOfACountThatIsMissingIsTold(t *testing.T) {
	w := smallWorld(1)
	c := &w.Cases[0]
	w.Cases, w.Stock = w.Cases[:1], nil
	c.Client.CountEveryWeeks = 13
	for i := range c.Roster {
		c.Roster[i].Site = []string{"Main house", "Lodge"}[i%2]
	}
	b := worldBooks(t, &w)
	ctx := context.Background()
	plan := store.CountPlan{Client: c.Client.Code, Announced: asOf, SendOn: asOf + 7, ReturnBy: asOf + 17}
	asked := map[store.CountAsk]bool{}
	var main, lodge []programme.Movement
	for i := range c.Ledger {
		m := &c.Ledger[i]
		ask := store.CountAsk{StaffID: m.StaffID, SKU: m.SKU}
		person, ok := programme.Roster(c.Roster).Find(m.StaffID)
		if m.Kind != programme.Issued || asked[ask] || !ok || !person.ActiveOn(asOf+100) || m.Date > asOf {
			continue
		}
		asked[ask] = true
		plan.Asks.Rows = append(plan.Asks.Rows, ask)
		count := programme.Movement{Date: asOf + 10, Kind: programme.Counted, StaffID: m.StaffID, SKU: m.SKU,
			Pieces: m.Pieces}
		if person.Site == "Lodge" {
			lodge = append(lodge, count)
		} else {
			main = append(main, count)
		}
	}
	require.Greater(t, len(main), 2)
	require.Greater(t, len(lodge), 2)
	put := func(moves []programme.Movement) {
		require.NoError(t, b.Store.InTx(ctx, func(tx *store.Tx) error {
			_, _, err := tx.AddMovements(c.Client.Code, moves, 0)
			return err
		}))
	}
	require.NoError(t, b.Store.InTx(ctx, func(tx *store.Tx) error {
		_, err := tx.AddCountForm(c.Client.Code, plan.SendOn)
		if err != nil {
			return err
		}
		return tx.AddCountPlan(&plan)
	}))
	tell := func(days int) string {
		res, err := round.Run(ctx, b, round.Options{AsOf: asOf.Add(days), Now: time.Unix(1772452800, 0)})
		require.NoError(t, err)
		return strings.Join(strings.Fields(res.Messages[0].Text), " ")
	}
	require.NotContains(t, tell(14), "has not come back")
	require.Contains(t, tell(21), "The count form has not come back.")
	put(main)
	said := tell(28)
	require.NotContains(t, said, "has not come back")
	require.Contains(t, said, "nothing from Lodge ("+programme.NumberOf(len(lodge), "row")+")")
	require.Contains(t, said, "kitmuster counts drop "+c.Client.Code)
	put(lodge[1:])
	require.NotContains(t, tell(35), "Of the count", "single rows that nobody could fill in are not asked for again")
	require.NoError(t,
		b.Store.InTx(ctx, func(tx *store.Tx) error { return tx.DropCountPlan(c.Client.Code, plan.Announced) }))
	require.NotContains(t, tell(42), "Of the count")
}
