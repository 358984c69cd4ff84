package laboratory_test

import (
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/laboratory"
)

// allowed is how far coverage may lie from its claim, and the mean forecast
// from what came, in a world.
type allowed struct{ cover, bias float64 }

// What must hold of the worlds.
var must = map[string]allowed{
	"a": {0.015, 0.015}, "b": {0.04, 0.03}, "c": {0.03, 0.03}, "s": {0.04, 0.03}, "f": {0.05, 0.03}, "d": {0.03, 0.03},
	"d2": {0.05, 0.05}, "e": {0.05, 0.03}, "eu": {0.06, 0.05}, "h": {0.06, 0.05}, "bef": {0.08, 0.05},
}

// Small trials leave the error of the draw beside the margin: 80 % of so many
// clients, four standard errors. KITMUSTER_FULL=1 takes many.
func TestForecastsHoldWhereRecordsAreKeptAsShopsKeepThem(t *testing.T) {
	n := 40
	if os.Getenv("KITMUSTER_FULL") == "1" {
		n = 3000
	}
	for _, w := range laboratory.Worlds() {
		m, ok := must[w.Code]
		if !ok {
			continue
		}
		t.Run(w.Code, func(t *testing.T) {
			r, err := laboratory.Run(laboratory.Trial{World: w, Clients: n, Weeks: 13, Seed: 11})
			require.NoError(t, err)
			t.Logf("%s: 80 %%: %.1f of %.1f, lines %.1f of %.1f; bias %+.1f %% (%.1f)", w.Name, 100*r.Cover80,
				100*r.Claim80, 100*r.LineCover80, 100*r.LineClaim80, 100*r.Bias, 100*r.BiasError)
			require.InDelta(t, r.Claim80, r.Cover80, m.cover+4*coverError(n))
			require.InDelta(t, 0, r.Bias, m.bias+3*r.BiasError)
		})
	}
}

func coverError(clients int) float64 { return 0.4 / math.Sqrt(float64(clients)) }

func TestTheSameTrialGivesTheSameResult(t *testing.T) {
	w, ok := laboratory.WorldOf("bef")
	require.True(t, ok)
	trial := laboratory.Trial{World: w, Clients: 3, Weeks: 13, Seed: 2}
	one, err := laboratory.Run(trial)
	require.NoError(t, err)
	two, err := laboratory.Run(trial)
	require.NoError(t, err)
	require.Equal(t, one, two)
	_, ok = laboratory.WorldOf("z")
	require.False(t, ok)
}

// Where all is as believed hardly an alarm is raised, and where a laundry has
// changed most clients' are. 'kitlab alarms' measures both on many shops.
func TestAlarmsAreRareWhereNothingIsWrong(t *testing.T) {
	watch := func(code string) laboratory.Alarms {
		w, ok := laboratory.WorldOf(code)
		require.True(t, ok)
		got, err := laboratory.Watch(laboratory.Watching{World: w, Shops: 1, Clients: 4, Years: 0.6,
			Every: 28, Seed: 3})
		require.NoError(t, err)
		return got
	}
	require.LessOrEqual(t, watch("a").Found, 0.25)
	require.LessOrEqual(t, watch("f").Found, 0.25, "who wears hard is handed out more, which is no bad delivery")
	require.GreaterOrEqual(t, watch("l").Found, 0.5)
}

// A form asks for few rows of many, and orders after a count are no worse than
// without; how much better takes hundreds of clients to see.
func TestCountsAreComparedOnTheSameLives(t *testing.T) {
	w, ok := laboratory.WorldOf("s")
	require.True(t, ok)
	got, err := laboratory.Count(laboratory.Trial{World: w, Clients: 12, Weeks: 13, Seed: 5})
	require.NoError(t, err)
	require.Zero(t, got.Rows[0])
	require.LessOrEqual(t, got.Rows[1], 25.0)
	require.Greater(t, got.Rows[2], got.Rows[1])
	require.Positive(t, got.Expected)
	require.InEpsilon(t, got.Cost[0], got.Cost[1], 0.15)
	require.Less(t, got.Cost[2], 1.05*got.Cost[0])
}
