package wear_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/optimize"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme/wear"
)

// Open data sets with published fits, each checked against the digits printed
// there and against a computation that shares no code with ours: the
// likelihood written with gonum's Weibull and climbed by Nelder and Mead.
func TestOpenDataSetsHaveTheirPublishedFits(t *testing.T) {
	for _, c := range []struct {
		file, source          string
		shape, scale          float64
		shapeDelta, scaleDelt float64
		seLogScale            float64
	}{
		{"ball_bearings.csv", "shape 2.102, scale 81.88: Lawless, example 5.2.2 (scale from memory; the shape also in Dekking et al., A Modern Introduction to Probability and Statistics, 2005)",
			2.102, 81.88, 5e-4, 5e-3, 0},
		{"ovarian.csv", "R documentation of survreg, Surv(futime, fustat) ~ 1: intercept 7.111 (se 0.293), scale 0.902",
			1 / 0.902, math.Exp(7.111), 7e-4, 0.7, 0.293},
	} {
		t.Run(c.file, func(t *testing.T) {
			obs := readLives(t, c.file)
			fit, err := wear.FitWeibull(obs)
			require.NoError(t, err)
			require.InDelta(t, c.shape, fit.Shape, c.shapeDelta, c.source)
			require.InDelta(t, c.scale, fit.Scale, c.scaleDelt, c.source)
			if c.seLogScale > 0 {
				require.InDelta(t, c.seLogScale, fit.SELogScale, 5e-4)
			}
			requireSameOptimum(t, obs, fit)
		})
	}
}

func TestIntervalCensoredFitHasTheSameOptimumByAnotherRoad(t *testing.T) {
	f, err := os.Open(filepath.Join("testdata", "reference", "cosmesis.csv"))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 47)
	var obs []wear.Observation
	for _, row := range rows[1:] {
		left, err := strconv.ParseFloat(row[0], 64)
		require.NoError(t, err)
		o := wear.Observation{Kind: wear.Right, Exit: left, Count: 1}
		if row[1] != "" {
			o.Kind = wear.Interval
			o.Upper, err = strconv.ParseFloat(row[1], 64)
			require.NoError(t, err)
		}
		obs = append(obs, o)
	}
	fit, err := wear.FitWeibull(obs)
	require.NoError(t, err)
	requireSameOptimum(t, obs, fit)
	require.InDelta(t, 21, fit.Endings, 0)
}

// requireSameOptimum climbs an independently written likelihood.
func requireSameOptimum(t *testing.T, obs []wear.Observation, fit wear.Fit) {
	t.Helper()
	minus := func(x []float64) float64 {
		w := distuv.Weibull{K: math.Exp(x[0]), Lambda: math.Exp(x[1])}
		sum := 0.0
		for _, o := range obs {
			switch o.Kind {
			case wear.Exact:
				sum -= w.LogProb(o.Exit)
			case wear.Right:
				sum -= w.LogSurvival(o.Exit)
			case wear.Interval:
				sum -= math.Log(w.CDF(o.Upper) - w.CDF(o.Exit))
			}
		}
		return sum
	}
	best, err := optimize.Minimize(optimize.Problem{Func: minus}, []float64{0.3, math.Log(fit.Scale) + 0.2},
		&optimize.Settings{Converger: &optimize.FunctionConverge{Absolute: 1e-15, Iterations: 400}},
		&optimize.NelderMead{})
	require.NoError(t, err)
	require.InDelta(t, -best.F, fit.LogLikelihood, 1e-9*math.Abs(best.F))
	require.InEpsilon(t, math.Exp(best.X[0]), fit.Shape, 1e-6)
	require.InEpsilon(t, math.Exp(best.X[1]), fit.Scale, 1e-6)
}

func TestWithoutEndingsThereIsNoFit(t *testing.T) {
	_, err := wear.FitWeibull([]wear.Observation{{Exit: 20, Count: 5}})
	require.ErrorIs(t, err, wear.ErrNoEndings)
	_, err = wear.FitWeibull([]wear.Observation{{Kind: wear.Exact, Exit: 20, Count: 5}})
	require.ErrorContains(t, err, "fit no Weibull distribution")
	_, err = wear.FitWeibull([]wear.Observation{{Kind: wear.Exact, Entry: 30, Exit: 20, Count: 1}})
	require.ErrorContains(t, err, "not end before it starts")
}
