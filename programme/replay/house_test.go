package replay_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/replay"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

// house is the demo's shop as the replay sees it.
func house(w *simulate.World) (*replay.House, []replay.Records) {
	clients := make([]*programme.Client, len(w.Cases))
	records := make([]replay.Records, len(w.Cases))
	for i := range w.Cases {
		clients[i] = &w.Cases[i].Client
		records[i] = replay.Records{Roster: w.Cases[i].Roster, Ledger: w.Cases[i].Ledger}
	}
	return replay.NewHouse(&w.Shop, clients, records), records
}

// Over the demo's year the forecast loses less than every rule of thumb.
func TestTheForecastBeatsTheRulesOfThumb(t *testing.T) {
	w := simulate.NewWorld(asOf, simulate.Seed(1))
	h, records := house(&w)
	var results []replay.Result
	for i := range w.Cases {
		c := &w.Cases[i].Client
		res, err := replay.Run(&w.Shop, c, records[i], replay.Plan{From: asOf.Add(-364), Until: asOf, Every: 26,
			Weeks: 8}, h.Forecaster(c))
		require.NoError(t, err)
		results = append(results, res)
	}
	all := replay.Join(results)
	for _, r := range all.Rows {
		t.Logf("%-14s total %+v lines %+v", r.Name, r.Total, r.Lines)
	}
	for _, r := range all.Rows[1:] {
		require.Less(t, all.Rows[0].Lines.Pinball, r.Lines.Pinball, r.Name)
	}
}
