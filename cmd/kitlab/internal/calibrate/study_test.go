package calibrate_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/calibrate"
)

// clients is how many are invented for each study. KITMUSTER_FULL=1 takes the
// numbers at which the stated margins mean something.
func clients() (n int, full bool) {
	if os.Getenv("KITMUSTER_FULL") == "1" {
		return 4000, true
	}
	return 80, false
}

func run(t *testing.T, name string, s calibrate.Study) calibrate.Result {
	t.Helper()
	r, err := calibrate.Run(s)
	require.NoError(t, err)
	t.Logf("%-28s came %.1f %% of claimed %.1f %% (80), %.1f of %.1f (95); PIT mean %.3f, chi-square p %.3f, bias %+.1f %%, log score %.3f",
		name, 100*r.Cover80, 100*r.Claim80, 100*r.Cover95, 100*r.Claim95, r.PITMean, r.PITP, 100*r.Bias, r.LogScore)
	return r
}

func TestIntervalsHold(t *testing.T) {
	n, full := clients()
	base := calibrate.Study{Clients: n, FromYears: 0.3, ToYears: 2.5, Factor: 1, Weeks: 10, Seed: 1}
	counted := base
	counted.Unseen = 0.3
	for name, s := range map[string]calibrate.Study{"records only": base, "30 % unseen until a count": counted} {
		r := run(t, name, s)
		margin80, margin95, mean, p := 0.13, 0.07, 0.09, 1e-4
		if full {
			margin80, margin95, mean, p = 0.02, 0.015, 0.02, 0.001
		}
		require.InDelta(t, r.Claim80, r.Cover80, margin80, name)
		require.InDelta(t, r.Claim95, r.Cover95, margin95, name)
		require.InDelta(t, 0.5, r.PITMean, mean, name)
		require.Greater(t, r.PITP, p, name)
	}
}

// Where records cannot tell a person's pieces apart, "an ending takes the
// oldest" is a guess that makes the pieces left look younger than they are:
// with counts only twice a year needs come out some 4 % low.
func TestPiecesThatLookAlikeCostLittle(t *testing.T) {
	n, full := clients()
	s := calibrate.Study{Clients: n, Alike: true, FromYears: 0.3, ToYears: 2.5, Factor: 1, Weeks: 10, Seed: 1,
		Unseen: 0.3}
	r := run(t, "alike, 30 % unseen", s)
	margin := 0.17
	if full {
		margin = 0.04
		require.InDelta(t, 0, r.Bias, 0.06)
	}
	require.InDelta(t, r.Claim80, r.Cover80, margin)
	require.InDelta(t, r.Claim95, r.Cover95, margin)
}

// With the last count up to half a year back, what has gone unknown to the books
// is needed now. Taken as still there, it made needs come out 15 % low; where
// records cannot tell pieces apart, they still do by some 9 %.
func TestWhatIsHiddenSinceTheLastCountIsForecast(t *testing.T) {
	n, full := clients()
	s := calibrate.Study{Clients: n, FromYears: 1, ToYears: 2.5, Factor: 1, Weeks: 10, Seed: 4, Unseen: 0.3,
		Stale: true}
	r := run(t, "last count months ago", s)
	margin, bias := 0.14, 0.08
	if full {
		margin, bias = 0.04, 0.03
	}
	require.InDelta(t, r.Claim80, r.Cover80, margin)
	require.InDelta(t, r.Claim95, r.Cover95, margin)
	require.InDelta(t, 0, r.Bias, bias)
	s.Alike = true
	require.InDelta(t, 0, run(t, "the same, alike", s).Bias, 0.15)
}

func TestThePlugInFitFailsTheSameTest(t *testing.T) {
	n, full := clients()
	s := calibrate.Study{Clients: max(n/4, 60), FromYears: 0.3, ToYears: 0.8, Factor: 1, Weeks: 10, Seed: 2}
	ours := run(t, "first year, ours", s)
	s.PlugIn = true
	r := run(t, "first year, plug-in", s)
	require.Greater(t, r.LogScore, ours.LogScore)
	if full {
		require.Greater(t, r.Claim80-r.Cover80, 0.03)
		require.Less(t, r.PITP, 0.001)
	}
}

func TestIntervalsHoldWithTheTruthOffThePrior(t *testing.T) {
	n, full := clients()
	for _, factor := range []float64{1.5, 1 / 1.5} {
		r := run(t, "off the prior", calibrate.Study{Clients: n, FromYears: 2, ToYears: 2, Factor: factor,
			Weeks: 10, Seed: 3})
		margin := 0.14
		if full {
			margin = 0.04
		}
		require.InDelta(t, r.Claim80, r.Cover80, margin)
		require.InDelta(t, r.Claim95, r.Cover95, margin)
	}
}
