package reorder_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/reorder"
)

type referenceCase struct {
	Input struct {
		ID, Kind                    string
		Over, Under, Mean, SD       float64
		Rate, Lead, Review, Service float64
		PMF                         []float64
	}
	Want struct {
		Level        float64
		Cost         float64
		CDFAtLevel   float64 `json:"cdf_at_level"`
		OrderUpTo    int     `json:"order_up_to"`
		NoShortage   float64 `json:"prob_no_shortage"`
		ShortAtEnd   float64 `json:"expected_short_at_end"`
		LeftAtEnd    float64 `json:"expected_left_at_end"`
		FillRateHeld float64 `json:"fill_rate_backorders"`
	}
}

// reference reads published and independently computed cases; each file names
// its source in its first line.
func reference(t *testing.T, name string) []referenceCase {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", "reference", name))
	require.NoError(t, err)
	var file struct{ Cases []referenceCase }
	require.NoError(t, json.Unmarshal(b, &file))
	require.NotEmpty(t, file.Cases)
	return file.Cases
}

func TestNewsvendorAgreesWithPublishedCases(t *testing.T) {
	for _, c := range reference(t, "newsvendor.json") {
		t.Run(c.Input.ID, func(t *testing.T) {
			stake := reorder.Stake{Over: c.Input.Over, Under: c.Input.Under}
			if c.Input.Kind == "normal" {
				got := reorder.NewsvendorNormal(c.Input.Mean, c.Input.SD, stake)
				require.InEpsilon(t, c.Want.Level, got.Level, 1e-8)
				require.InEpsilon(t, c.Want.Cost, got.Cost, 1e-8)
				return
			}
			pmf := c.Input.PMF
			if c.Input.Kind == "poisson" {
				pmf = poissonPMF(c.Input.Mean)
			}
			got := reorder.Newsvendor(pmf, stake)
			require.InDelta(t, c.Want.Level, got.Level, 0)
			require.InEpsilon(t, c.Want.Cost, got.Cost, 1e-8)
			for q := range pmf {
				require.GreaterOrEqual(t, costOf(pmf, q, stake), got.Cost-1e-9, "no quantity is cheaper")
			}
		})
	}
}

// costOf sums over every demand, as the definition says.
func costOf(pmf []float64, q int, s reorder.Stake) float64 {
	sum := 0.0
	for d, p := range pmf {
		sum += p * (s.Over*math.Max(0, float64(q-d)) + s.Under*math.Max(0, float64(d-q)))
	}
	return sum
}

func TestOrderUpToAgreesWithComputedCases(t *testing.T) {
	for _, c := range reference(t, "order_up_to.json") {
		t.Run(c.Input.ID, func(t *testing.T) {
			service := c.Input.Service
			if service == 0 {
				service = reorder.Stake{Over: c.Input.Over, Under: c.Input.Under}.Ratio()
			}
			got := reorder.OrderUpTo(poissonPMF(c.Input.Rate*(c.Input.Lead+c.Input.Review)), poissonPMF(c.Input.Rate*c.Input.Lead), service)
			require.Equal(t, c.Want.OrderUpTo, got.Level)
			require.InDelta(t, c.Want.NoShortage, got.NoShortage, 1e-8)
			require.InDelta(t, c.Want.ShortAtEnd, got.ShortAtEnd, 1e-8)
			require.InDelta(t, c.Want.LeftAtEnd, got.LeftAtEnd, 1e-8)
			require.InDelta(t, c.Want.FillRateHeld, got.FillRateHeld, 1e-8)
		})
	}
}
