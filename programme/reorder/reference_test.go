package reorder_test

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

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

// stake is what one piece too many and one too few cost.
type stake struct{ over, under float64 }

// ratio is the chance of no shortage worth having.
func (s stake) ratio() float64 { return s.under / (s.over + s.under) }

// leastLasting is the smallest stock whose chance of no shortage is at least p,
// but for the rounding of a sum.
func leastLasting(c reorder.Shortage, p float64) int {
	level := 0
	for 1-c.Gain(level) < p-1e-9 {
		level++
	}
	return level
}

// The newsvendor buys once: the least quantity whose chance of no shortage is
// the stake's ratio costs least (Arrow, Harris and Marschak, Econometrica 19,
// 1951, from memory). Worked on the product's own expected shortage, it shows
// that against published levels and costs.
func TestShortageGivesThePublishedNewsvendors(t *testing.T) {
	for _, c := range reference(t, "newsvendor.json") {
		t.Run(c.Input.ID, func(t *testing.T) {
			s := stake{c.Input.Over, c.Input.Under}
			pmf, unit, from, within := c.Input.PMF, 1.0, 0.0, 0.0
			switch c.Input.Kind {
			case "poisson":
				pmf = poissonPMF(c.Input.Mean)
			case "normal":
				// In thousandths of the spread and from far enough down to have none below.
				unit, within, from = c.Input.SD/1000, c.Input.SD/1000, c.Input.Mean-8*c.Input.SD
				pmf = normalPMF(8*1000, 1000)
			}
			short := reorder.NewShortage(pmf)
			level := leastLasting(short, s.ratio())
			cost := s.over*(float64(level)-short.Mean()+short.At(level)) + s.under*short.At(level)
			require.InDelta(t, c.Want.Level, from+float64(level)*unit, within)
			require.InEpsilon(t, c.Want.Cost, cost*unit, 1e-6)
			for q := 0; q < len(pmf); q += max(1, len(pmf)/50) {
				require.GreaterOrEqual(t, costOf(pmf, q, s), cost-1e-9, "no quantity is cheaper")
			}
		})
	}
}

// costOf sums over every demand, as the definition says.
func costOf(pmf []float64, q int, s stake) float64 {
	sum := 0.0
	for d, p := range pmf {
		sum += p * (s.over*math.Max(0, float64(q-d)) + s.under*math.Max(0, float64(d-q)))
	}
	return sum
}

// normalPMF is a normal demand cut into whole units.
func normalPMF(mean, sd float64) []float64 {
	n := distuv.Normal{Mu: mean, Sigma: sd}
	pmf := make([]float64, int(mean+8*sd))
	for k := range pmf {
		pmf[k] = n.CDF(float64(k)+0.5) - n.CDF(float64(k)-0.5)
	}
	pmf[0] = n.CDF(0.5)
	return pmf
}

// An order-up-to level of periodic review must last over review and lead time.
// Pieces short are waited for, so the shortage of one cycle is what is short at
// its end less what was short at its start (Silver, Pyke and Thomas, Inventory
// and Production Management in Supply Chains, from memory).
func TestShortageGivesTheComputedOrderUpToLevels(t *testing.T) {
	for _, c := range reference(t, "order_up_to.json") {
		t.Run(c.Input.ID, func(t *testing.T) {
			service := c.Input.Service
			if service == 0 {
				service = stake{c.Input.Over, c.Input.Under}.ratio()
			}
			both := reorder.NewShortage(poissonPMF(c.Input.Rate * (c.Input.Lead + c.Input.Review)))
			lead := reorder.NewShortage(poissonPMF(c.Input.Rate * c.Input.Lead))
			level := leastLasting(both, service)
			short := both.At(level)
			require.Equal(t, c.Want.OrderUpTo, level)
			require.InDelta(t, c.Want.NoShortage, 1-both.Gain(level), 1e-8)
			require.InDelta(t, c.Want.ShortAtEnd, short, 1e-8)
			require.InDelta(t, c.Want.LeftAtEnd, float64(level)-both.Mean()+short, 1e-8)
			require.InDelta(t, c.Want.FillRateHeld, reorder.FillRate(short-lead.At(level), both.Mean()-lead.Mean()),
				1e-8)
		})
	}
}
