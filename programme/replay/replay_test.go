package replay_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/replay"
	"github.com/kitmuster/kitmuster/programme/simulate"
)

var asOf = programme.NewDate(2026, 3, 2)

// A die's pinball loss worked by hand: quantiles at 0.05 ... 0.95 of a fair coin
// are 0 up to level 0.5 and 1 above, so with 1 the loss is the sum of the
// levels up to 0.5 over 19: (0.05 + ... + 0.50)/19 = 2.75/19.
func TestPinballOfACoin(t *testing.T) {
	require.InDelta(t, 2.75/19, replay.Pinball([]float64{0.5, 1}, 1), 1e-12)
	require.InDelta(t, 0, replay.Pinball([]float64{1}, 0), 1e-12)
}

func TestNeedsOfASmallLedger(t *testing.T) {
	tee := programme.SKU{Garment: "tee", Colour: "black", Size: "M"}
	day := func(n int) programme.Date { return programme.NewDate(2025, 1, 1).Add(n) }
	move := func(d int, kind programme.MovementKind, n int, why programme.Reason) programme.Movement {
		return programme.Movement{Date: day(d), Kind: kind, StaffID: "a", SKU: tee, Pieces: n, Reason: why}
	}
	client := &programme.Client{RecordsStart: day(0),
		Roles: []programme.Role{{Code: "r", Kit: []programme.KitLine{{Garment: "tee", Colour: "black", Each: 2}}}}}
	shop := &programme.Shop{Garments: []programme.Garment{{Code: "tee", SizeFamily: "top",
		Sizes: []programme.GarmentSize{{Code: "M"}, {Code: "L"}}}}}
	r := replay.Records{
		Roster: []programme.Person{{StaffID: "a", Role: "r", Start: day(-50)},
			{StaffID: "b", Role: "r", Start: day(60), Sizes: map[string]string{"top": "L"}}},
		Ledger: []programme.Movement{
			move(0, programme.Issued, 5, ""), move(10, programme.Ended, 1, programme.Worn),
			move(20, programme.Ended, 1, programme.SizeChange),
			move(40, programme.Counted, 2, ""), move(50, programme.Ended, 2, programme.LeftReason),
		},
	}
	large := programme.SKU{Garment: "tee", Colour: "black", Size: "L"}
	want := []replay.Need{
		{On: day(10), Known: day(10), SKU: tee}, {On: day(20), Known: day(40), SKU: tee},
		{On: day(60), Known: day(60), SKU: large}, {On: day(60), Known: day(60), SKU: large},
	}
	require.Equal(t, want, replay.Needs(shop, client, r),
		"one worn, one missing since day 0 to 40, two for the new starter")
	require.Equal(t, map[programme.SKU]int{tee: 1}, replay.Between(want, day(10), day(59)))
	require.Equal(t, map[programme.SKU]int{tee: 1}, replay.Came(want, day(30), day(59)),
		"the count will show what is missing already")
	require.Empty(t, replay.Came(want, day(40), day(59)))
}

// A replay that looked ahead would be worth nothing: rows after the day must
// not change what is known on it.
func TestNothingLaterIsKnown(t *testing.T) {
	c := simulate.NewWorld(asOf, simulate.Seed(1)).Cases[4]
	day := asOf.Add(-200)
	known := replay.Records{Roster: c.Roster, Ledger: c.Ledger}.AsOf(day)
	for _, m := range known.Ledger {
		require.LessOrEqual(t, m.Date, day)
	}
	for _, p := range known.Roster {
		require.LessOrEqual(t, p.Start, day)
		require.LessOrEqual(t, p.End, day)
	}
	require.Less(t, len(known.Roster), len(c.Roster))
}

// What past orders let assume is no outcome: no forecast is judged by it, nor
// before the first entry or count that follows.
func TestHoldingsThatAreOnlyAssumedAreNotReplayed(t *testing.T) {
	tee := programme.SKU{Garment: "tee", Colour: "black", Size: "M"}
	ledger := []programme.Movement{{Date: asOf.Add(-600), Kind: programme.Issued, StaffID: "a", SKU: tee, Pieces: 5,
		Assumed: true}}
	plan := replay.Plan{From: asOf.Add(-364), Until: asOf, Every: 4, Weeks: 8}
	moments := func() []replay.Moment {
		res, err := replay.Run(&programme.Shop{}, &programme.Client{Code: "c"}, replay.InOrder(nil, ledger), plan,
			func(replay.Records, programme.Date, int) (replay.Forecast, error) {
				return replay.Forecast{Total: []float64{1}}, nil
			})
		require.NoError(t, err)
		return res.Moments
	}
	require.Empty(t, moments())
	ledger = append(ledger, programme.Movement{Date: asOf.Add(-100), Kind: programme.Counted, StaffID: "a",
		SKU: tee, Pieces: 3})
	require.Equal(t, asOf.Add(-100), moments()[0].AsOf)
}

// A forecaster that knows the needs to be Poisson at a steady rate has honest
// intervals, and the same scoring shows one at half the rate to be wrong.
func TestAnHonestForecastIsSeenToBeHonest(t *testing.T) {
	rng := simulate.Seed(12)
	tee := programme.SKU{Garment: "tee", Colour: "black", Size: "M"}
	start := asOf.Add(-7 * 1300)
	ledger := []programme.Movement{{Date: start, Kind: programme.Issued, StaffID: "a", SKU: tee, Pieces: 1 << 13}}
	for d := start + 7; d <= asOf; d += 7 {
		n := 0
		for u := rng.ExpFloat64(); u < 3.5; u += rng.ExpFloat64() {
			n++
		}
		ledger = append(ledger, programme.Movement{Date: d, Kind: programme.Ended, StaffID: "a", SKU: tee, Pieces: n,
			Reason: programme.Worn})
	}
	client := &programme.Client{Code: "c"}
	plan := replay.Plan{From: start.Add(7 * 60), Until: asOf, Every: 4, Weeks: 4, CalendarMonths: 12}
	run := func(mean float64) replay.Row {
		ask := func(replay.Records, programme.Date, int) (replay.Forecast, error) {
			pmf := poisson(mean)
			return replay.Forecast{Total: pmf, Lines: map[programme.SKU][]float64{tee: pmf}}, nil
		}
		res, err := replay.Run(&programme.Shop{}, client, replay.Records{Ledger: ledger}, plan, ask)
		require.NoError(t, err)
		return res.Rows[0]
	}
	honest, low := run(14), run(7)
	for _, x := range honest.Total.Intervals {
		require.InDelta(t, x.Claimed, x.Came, 0.06, "at %v", x.Nominal)
		require.GreaterOrEqual(t, x.Claimed, x.Nominal)
	}
	require.InDelta(t, 0, honest.Total.Bias, 0.03)
	require.Less(t, low.Total.Intervals[1].Came, 0.5)
	require.InDelta(t, -0.5, low.Total.Bias, 0.03)
	require.Less(t, honest.Total.Pinball, low.Total.Pinball)
}

func poisson(mean float64) []float64 {
	pmf := []float64{math.Exp(-mean)}
	for n := 1; n < 80; n++ {
		pmf = append(pmf, pmf[n-1]*mean/float64(n))
	}
	return pmf
}

func TestJoinedScoresWeighEveryDay(t *testing.T) {
	w := simulate.NewWorld(asOf, simulate.Seed(1))
	ask := func(replay.Records, programme.Date, int) (replay.Forecast, error) {
		return replay.Forecast{Total: poisson(10)}, nil
	}
	var results []replay.Result
	cells := 0
	for i := range w.Cases {
		c := &w.Cases[i]
		res, err := replay.Run(&w.Shop, &c.Client, replay.Records{Roster: c.Roster, Ledger: c.Ledger},
			replay.Plan{From: asOf.Add(-364), Until: asOf, Every: 8, Weeks: 8}, ask)
		require.NoError(t, err)
		results, cells = append(results, res), cells+len(res.Moments)
	}
	all := replay.Join(results)
	require.Equal(t, cells, all.Rows[0].Total.Cells)
	require.Equal(t, len(results[0].Moments), results[0].Rows[0].Total.Cells, "joining leaves the parts alone")
}
