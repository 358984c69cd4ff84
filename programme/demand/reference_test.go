package demand_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/demand"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// readReference reads testdata/reference/NAME; each file names its source.
func readReference(t *testing.T, name string, into any) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", "reference", name))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, into))
}

func requirePMF(t *testing.T, want, got []float64, delta float64) {
	t.Helper()
	for i, p := range want {
		g := 0.0
		if i < len(got) {
			g = got[i]
		}
		require.InDelta(t, p, g, delta, "P(%d)", i)
	}
}

type described struct {
	Mean      float64        `json:"mean"`
	SD        float64        `json:"sd"`
	Quantiles map[string]int `json:"quantiles"`
	PMF       []float64      `json:"pmf"`
}

// requireQuantiles checks every quantile of the reference on the pmf itself.
func requireQuantiles(t *testing.T, want map[string]int, pmf []float64) {
	t.Helper()
	for p, q := range want {
		x, err := strconv.ParseFloat(p, 64)
		require.NoError(t, err)
		require.Equal(t, q, demand.Quantile(pmf, x), "quantile %s", p)
	}
}

func TestPoissonBinomialAgreesWithTheReference(t *testing.T) {
	var ref struct {
		Inputs []struct {
			ID string
			P  []float64
		}
		Cases []described
	}
	readReference(t, "poisson_binomial.json", &ref)
	for i, in := range ref.Inputs {
		t.Run(in.ID, func(t *testing.T) {
			got := demand.PoissonBinomial(in.P)
			requirePMF(t, ref.Cases[i].PMF, got, 1e-10)
			requireQuantiles(t, ref.Cases[i].Quantiles, got)
			d := demand.Describe(got)
			require.InDelta(t, ref.Cases[i].Mean, d.Mean, 1e-10)
			require.InDelta(t, ref.Cases[i].SD, d.SD, 1e-10)
		})
	}
}

func TestCompoundPoissonAgreesWithTheReference(t *testing.T) {
	var ref struct {
		Inputs []struct {
			ID       string
			Lambda   float64
			Severity []float64
			UpTo     int
		}
		Cases []described
	}
	readReference(t, "compound_poisson.json", &ref)
	for i, in := range ref.Inputs {
		t.Run(in.ID, func(t *testing.T) {
			got := demand.CompoundPoisson(in.Lambda, in.Severity, in.UpTo)
			requirePMF(t, ref.Cases[i].PMF, got, 1e-10)
			requireQuantiles(t, ref.Cases[i].Quantiles, got)
			long := demand.Describe(demand.CompoundPoisson(in.Lambda, in.Severity, 400))
			require.InDelta(t, ref.Cases[i].Mean, long.Mean, 1e-10)
			require.InDelta(t, ref.Cases[i].SD, long.SD, 1e-10)
		})
	}
}

// oneLifetime is that of a piece that only cloth ends, one wash a week.
func oneLifetime(shape, scale float64) []demand.Lifetime {
	return []demand.Lifetime{{Weight: 1, Wash: []wear.Weibull{{Shape: shape, Scale: scale}}, Number: []float64{1}}}
}

func TestRenewalFunctionAgreesWithTheReference(t *testing.T) {
	var ref struct {
		Cases []struct {
			Shape, Scale float64
			Values       []struct{ T, M float64 }
		}
	}
	readReference(t, "renewal_function.json", &ref)
	require.Len(t, ref.Cases, 4)
	for _, c := range ref.Cases {
		r := demand.NewRenewals(oneLifetime(c.Shape, c.Scale), demand.Rotation{Pace: 1}, 5)
		for _, v := range c.Values {
			m := 0.0
			for _, p := range r.Tails(0, v.T)[1:] {
				m += p
			}
			require.InDelta(t, v.M, m, 1e-6, "shape %g, t %g", c.Shape, v.T)
		}
	}
}

func TestRenewalCountsAgreeWithTheReference(t *testing.T) {
	type counts struct {
		Shape, Scale, T, Age, Window float64
		Tails                        []float64 `json:"prob_at_least_n"`
	}
	for _, name := range []string{"renewal_counts.json", "aged_item_counts.json"} {
		var ref struct{ Cases []counts }
		readReference(t, name, &ref)
		require.Len(t, ref.Cases, 2)
		for _, c := range ref.Cases {
			weeks := c.T + c.Window
			r := demand.NewRenewals(oneLifetime(c.Shape, c.Scale), demand.Rotation{Pace: 1}, weeks)
			got := r.Tails(c.Age, weeks)
			for n, p := range c.Tails {
				if n < len(got) {
					require.InDelta(t, p, got[n], 1e-6, "%s, n %d", name, n)
				} else {
					require.Less(t, p, 1e-6)
				}
			}
		}
	}
}
