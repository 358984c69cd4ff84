package wear_test

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme/wear"
)

// readReference reads testdata/reference/NAME; each file names its source.
func readReference(t *testing.T, name string, into any) {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", "reference", name))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, into))
}

// readLives reads a data set: [entry,]time,status below a source line.
func readLives(t *testing.T, name string) []wear.Observation {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", "reference", name))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	column := func(row []string, name string) float64 {
		i := slices.Index(rows[0], name)
		if i < 0 {
			return 0
		}
		v, err := strconv.ParseFloat(row[i], 64)
		require.NoError(t, err)
		return v
	}
	var obs []wear.Observation
	for _, row := range rows[1:] {
		o := wear.Observation{Kind: wear.Right, Entry: column(row, "entry"), Exit: column(row, "time"), Count: 1}
		if column(row, "status") == 1 {
			o.Kind = wear.Exact
		}
		obs = append(obs, o)
	}
	return obs
}

type mleCase struct {
	ID         string  `json:"id"`
	File       string  `json:"file"`
	Shape      float64 `json:"shape"`
	Scale      float64 `json:"scale"`
	LogLik     float64 `json:"loglik"`
	SELogShape float64 `json:"se_log_shape"`
	SELogScale float64 `json:"se_log_scale"`
	Cov        float64 `json:"cov_log_shape_log_scale"`
	SEShape    float64 `json:"se_shape"`
	SEScale    float64 `json:"se_scale"`
	Median     float64 `json:"median_life"`
	B10        float64 `json:"b10_life"`
	Mean       float64 `json:"mean_life"`
}

func TestWeibullFitsAgreeWithTheReference(t *testing.T) {
	var ref struct{ Cases []mleCase }
	readReference(t, "weibull_mle.json", &ref)
	require.Len(t, ref.Cases, 6)
	for _, c := range ref.Cases {
		t.Run(c.ID, func(t *testing.T) {
			fit, err := wear.FitWeibull(readLives(t, c.File))
			require.NoError(t, err)
			require.InEpsilon(t, c.Shape, fit.Shape, 1e-6)
			require.InEpsilon(t, c.Scale, fit.Scale, 1e-6)
			require.InEpsilon(t, c.LogLik, fit.LogLikelihood, 1e-9)
			require.InEpsilon(t, c.SELogShape, fit.SELogShape, 1e-5)
			require.InEpsilon(t, c.SELogScale, fit.SELogScale, 1e-5)
			require.InEpsilon(t, c.Cov, fit.CovLog, 1e-4)
			require.InEpsilon(t, c.SEShape, fit.SEShape(), 1e-5)
			require.InEpsilon(t, c.SEScale, fit.SEScale(), 1e-5)
			require.InEpsilon(t, c.Median, fit.Median(), 1e-6)
			require.InEpsilon(t, c.B10, fit.Quantile(0.1), 1e-6)
			require.InEpsilon(t, c.Mean, distuv.Weibull{K: fit.Shape, Lambda: fit.Scale}.Mean(), 1e-6)
		})
	}
}

func TestKaplanMeierAndGreenwoodAgreeWithTheReference(t *testing.T) {
	type row struct {
		Time     float64 `json:"time"`
		AtRisk   float64 `json:"at_risk"`
		Events   float64 `json:"events"`
		Survival float64 `json:"survival"`
		SE       float64 `json:"greenwood_se"`
		Lower    float64 `json:"lower95"`
		Upper    float64 `json:"upper95"`
	}
	var ref struct {
		Cases []struct {
			ID    string   `json:"id"`
			File  string   `json:"file"`
			From  *float64 `json:"from"`
			Total int      `json:"event_times_total"`
			Table []row    `json:"table"`
		}
	}
	readReference(t, "kaplan_meier.json", &ref)
	for _, c := range ref.Cases {
		t.Run(c.ID, func(t *testing.T) {
			obs := readLives(t, c.File)
			if c.From != nil {
				obs = slices.DeleteFunc(obs, func(o wear.Observation) bool { return o.Exit <= *c.From })
				for i := range obs {
					obs[i].Entry = max(obs[i].Entry, *c.From)
				}
			}
			steps := wear.KaplanMeier(obs)
			require.Len(t, steps, c.Total)
			at := map[float64]wear.Step{}
			for _, s := range steps {
				at[s.Washes] = s
			}
			for _, want := range c.Table {
				got := at[want.Time]
				require.InDelta(t, want.AtRisk, got.AtRisk, 0)
				require.InDelta(t, want.Events, got.Endings, 0)
				require.InDelta(t, want.Survival, got.Survival, 1e-9)
				require.InDelta(t, want.SE, got.SE, 1e-9)
				if want.Survival > 0 {
					require.InDelta(t, want.Lower, got.Lower, 1e-9)
					require.InDelta(t, want.Upper, got.Upper, 1e-9)
				}
			}
		})
	}
}

func TestConjugateCaseEqualsTheReference(t *testing.T) {
	var ref struct {
		Inputs []struct {
			ID            string    `json:"id"`
			Shape         float64   `json:"shape"`
			PriorScale    float64   `json:"prior_scale"`
			PriorFailures float64   `json:"prior_failures"`
			Failures      []float64 `json:"failures"`
			Censored      []float64 `json:"censored"`
			EntryFailures []float64 `json:"entry_failures"`
			EntryCensored []float64 `json:"entry_censored"`
			Items         []float64 `json:"items"`
			Window        float64   `json:"window"`
		}
		Cases []struct {
			Alpha    float64            `json:"posterior_alpha"`
			Beta     float64            `json:"posterior_beta"`
			Interval []float64          `json:"scale_90pc_interval"`
			New      map[string]float64 `json:"new_item_survival"`
			Items    []float64          `json:"item_failure_prob_in_window"`
		}
	}
	readReference(t, "gamma_shrink.json", &ref)
	for i, in := range ref.Inputs {
		t.Run(in.ID, func(t *testing.T) {
			want := ref.Cases[i]
			var obs []wear.Observation
			for j, x := range in.Failures {
				obs = append(obs, wear.Observation{Kind: wear.Exact, Entry: in.EntryFailures[j], Exit: x, Count: 1})
			}
			for j, x := range in.Censored {
				obs = append(obs, wear.Observation{Entry: in.EntryCensored[j], Exit: x, Count: 1})
			}
			prior := wear.Prior{Weibull: wear.Weibull{Shape: in.Shape, Scale: in.PriorScale},
				Strength: in.PriorFailures, ShapeKnown: true}
			post, err := wear.Learn(prior, obs)
			require.NoError(t, err)
			require.Len(t, post.Nodes, 1)
			rate := post.Nodes[0].Rate
			require.InEpsilon(t, want.Alpha, rate.Count, 1e-12)
			require.InEpsilon(t, want.Beta, rate.Exposure*math.Pow(post.Unit, in.Shape), 1e-12)
			for j, p := range []float64{0.95, 0.05} {
				scale := post.Unit * math.Pow(rate.Quantile(p), -1/in.Shape)
				require.InEpsilon(t, want.Interval[j], scale, 1e-8)
			}
			for z, s := range want.New {
				f, err := strconv.ParseFloat(z, 64)
				require.NoError(t, err)
				require.InEpsilon(t, s, survival(post, f*in.PriorScale, 0), 1e-8)
			}
			for j, a := range in.Items {
				require.InEpsilon(t, want.Items[j], 1-survival(post, a+in.Window, a), 1e-8)
			}
		})
	}
}
