package demand_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Somebody who is away for weeks 3 to 5 of 12 needs nothing then: with a rate of
// mishaps m a year and nothing else, m/52.18 pieces in each of the other nine weeks
// and none in those three. By hand:
//
//	week    1    2    3  4  5  6 ... 12
//	pieces  x    x    0  0  0  x ... x     x = m*7/365.2425
func TestWeeksAwayNeedNothing(t *testing.T) {
	const m, weeks = 1.7, 12
	in := lasting(t, 1, 1, 1, wear.Certain(m), wear.Certain(1e-12))
	in.Staff[0].Spells = []programme.Spell{{From: asOf + 15, Until: asOf + 35}}
	muster := in.Muster(weeks)
	x := m * 7 / 365.2425
	for w, got := range muster.Lines[0].Weekly {
		want := x
		if w >= 2 && w < 5 {
			want = 0
		}
		require.InDelta(t, want, got, 1e-4, "week %d", w+1)
	}
	require.InEpsilon(t, 9*x, muster.Lines[0].Mean, 1e-3)
	require.InEpsilon(t, -math.Expm1(-9*x), muster.Pieces[0].PEnd, 1e-3)
	// Half of such pieces would have ended after ln 2 / m years; three weeks later than that.
	half := asOf.Add(int(math.Round((math.Ln2/m*365.2425/7 + 3) * 7)))
	require.InDelta(t, float64(half), float64(muster.Pieces[0].D50), 2)

	in.Staff[0].Spells = []programme.Spell{{From: asOf - 10}}
	muster = in.Muster(weeks)
	require.InDelta(t, 0, muster.Lines[0].Mean, 1e-9, "nobody knows of a return")
	require.Zero(t, muster.Pieces[0].PEnd)
	require.True(t, muster.Pieces[0].D50.IsZero())
}

// A label allows 40 washes and a piece has 34 behind it, at three a week: it ends
// in the second week, or in the sixth when its holder is away for the first four,
// and in the fourth when half as much is worn.
func TestALabelsLimitWaitsForWhoeverIsAway(t *testing.T) {
	for name, c := range map[string]struct {
		spells []programme.Spell
		week   int
	}{
		"there":          {nil, 2},
		"away at once":   {[]programme.Spell{{From: asOf, Until: asOf + 28}}, 6},
		"away before":    {[]programme.Spell{{From: asOf - 60, Until: asOf - 20}}, 2},
		"away after it":  {[]programme.Spell{{From: asOf + 29, Until: asOf + 40}}, 2},
		"away a while":   {[]programme.Spell{{From: asOf + 8, Until: asOf + 21}}, 4},
		"half the wears": {[]programme.Spell{{From: asOf - 7, Share: 0.5}}, 4},
	} {
		t.Run(name, func(t *testing.T) {
			in := lasting(t, 1, 1, 1, wear.Certain(1e-12), wear.Certain(1e-12))
			in.Shop.Garments[0].LabelWashes = 40
			in.History.InService[0].Washes = 34.5
			in.Staff[0].Spells = c.spells
			var err error
			in.Book, err = wear.NewBook(in.Shop, in.Client, nil)
			require.NoError(t, err)
			muster := in.Muster(8)
			for w, got := range muster.Lines[0].Weekly {
				want := 0.0
				if w == c.week-1 {
					want = 1
				}
				require.InDelta(t, want, got, 1e-6, "week %d", w+1)
			}
			require.InDelta(t, 1, muster.Lines[0].Mean, 1e-6)
		})
	}
}

// Who is away is short of nothing today; what the kit lacks is needed on the day
// of the return, if that is known.
func TestWhoIsAwayIsOwedNothingUntilTheReturn(t *testing.T) {
	for name, c := range map[string]struct {
		until       programme.Date
		owed, later int
	}{
		"back within the weeks": {asOf + 20, 0, 2},
		"back after them":       {asOf + 100, 0, 0},
		"no return known":       {0, 0, 0},
		"back already":          {asOf - 1, 2, 0},
	} {
		t.Run(name, func(t *testing.T) {
			in := lasting(t, 1, 3, 1, wear.Certain(1e-12), wear.Certain(1e-12))
			in.Staff[0].Spells = []programme.Spell{{From: asOf - 30, Until: c.until}}
			l := in.Muster(6).Lines[0]
			require.Equal(t, c.owed, l.Owed)
			require.InDelta(t, float64(c.later), l.Mean, 1e-6)
			require.Len(t, in.Short(), min(1, c.owed))
		})
	}
}

// A starter of next week whose kit is packed already needs nothing more.
func TestAStarterWithAPackedKitNeedsNothingMore(t *testing.T) {
	in := lasting(t, 1, 3, 2, wear.Certain(1e-12), wear.Certain(1e-12))
	in.Staff[0].Start = asOf + 7
	l := in.Muster(6).Lines[0]
	require.Zero(t, l.Owed)
	require.InDelta(t, 1, l.Mean, 1e-6, "one of three is not packed yet")
}
