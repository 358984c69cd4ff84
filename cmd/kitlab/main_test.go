package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/calibrate"
	"github.com/kitmuster/kitmuster/cmd/kitlab/internal/study"
)

// kitlab runs one measurement and returns what it printed.
func kitlab(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	require.Zero(t, run(context.Background(), args, &out, &errs), "kitlab %s: %s", strings.Join(args, " "),
		errs.String())
	return out.String()
}

func TestCalibrateSaysWhatWasClaimedAndWhatHeld(t *testing.T) {
	var r calibrate.Result
	require.NoError(t, json.Unmarshal([]byte(kitlab(t, "calibrate", "--clients", "4", "--json")), &r))
	require.Equal(t, 4, r.Clients)
	require.InDelta(t, 0.8, r.Claim80, 0.15)
	text := kitlab(t, "calibrate", "--clients", "4")
	require.Contains(t, text, "80 % interval: claimed")
}

func TestScaleMeasuresARoundOfTheAskedSize(t *testing.T) {
	lines := strings.Split(strings.TrimSpace(kitlab(t, "scale", "--pieces", "1000,2000", "--weeks", "20")), "\n")
	require.Len(t, lines, 3)
	require.Equal(t, "clients", strings.Fields(lines[0])[1])
	require.Equal(t, "1", strings.Fields(lines[1])[1])
	require.Equal(t, "2", strings.Fields(lines[2])[1])
}

func TestSheetsComparesWithTheKnownOptimum(t *testing.T) {
	out := kitlab(t, "sheets", "../../testdata/sheets/strip", "--iterations", "5")
	require.Contains(t, out, "C1-1")
	require.Contains(t, out, "strip, mean of 21")
	var one []benchResult
	require.NoError(t, json.Unmarshal([]byte(kitlab(t, "sheets", "../../testdata/sheets/strip/C1-1.csv", "--iterations",
		"5", "--json")), &one))
	require.Len(t, one, 1)
	require.GreaterOrEqual(t, one[0].Found, one[0].Known)
	require.InDelta(t, 20, one[0].Known, 0, "as the file says")
}

func TestNeedsComparesPlansWithBoundsAndExactSearch(t *testing.T) {
	var r needsReport
	require.NoError(t, json.Unmarshal([]byte(kitlab(t, "needs", "--count", "1", "--iterations", "40", "--json")), &r))
	require.Len(t, r.Rolls, 2)
	for _, roll := range r.Rolls {
		require.Positive(t, roll.Mean, roll.Cut)
		require.Less(t, roll.Mean, 0.1, roll.Cut)
	}
	require.LessOrEqual(t, r.Pages.Sheets, r.Pages.General)
	require.Equal(t, 1, r.Single.Needs)
	require.GreaterOrEqual(t, r.Pooled.Over, 0.0, "below the least cost")
	require.Len(t, r.Forty, 3)
	require.LessOrEqual(t, r.Forty[2].Cost, r.Forty[0].Cost)
	require.Contains(t, kitlab(t, "needs", "--count", "1", "--seconds", "0.1", "--only", "single"),
		"small needs, one client: 1 of 1 at the least cost")
}

func TestMoneyComparesProposalsWithEveryOtherWay(t *testing.T) {
	var r study.Report
	require.NoError(t, json.Unmarshal([]byte(kitlab(t, "money", "--shops", "1", "--clients", "1", "--weeks", "40",
		"--json")), &r))
	require.Len(t, r.Results, 6)
	for i := range r.Results {
		require.Positive(t, r.Results[i].Cost, r.Results[i].Name)
	}
}

// A file of our own with one problem that states no optimum.
func TestOrdersComparesThePolicyWithTheOptimum(t *testing.T) {
	file := filepath.Join(t.TempDir(), "orders.json")
	require.NoError(t, os.WriteFile(file, []byte(`{"single": [{"name": "A", "rate": 0.5, "dispersion": 1.5, "keeping_week": 0.1, "missing_week": 1, "lead_weeks": 2, "ordering": 15}],
		"joint": [{"name": "B", "lead_weeks": 1, "ordering": 12, "optimum": {"cost_week": 1},
			"lines": [{"rate": 0.2, "dispersion": 1, "keeping_week": 0.06, "missing_week": 1}, {"rate": 0.3, "dispersion": 1, "keeping_week": 0.09, "missing_week": 0.5}]}]}`), 0o600))
	var r ordersReport
	require.NoError(t, json.Unmarshal([]byte(kitlab(t, "orders", file, "--json")), &r))
	require.Len(t, r.Problems, 2)
	require.Equal(t, "A", r.Problems[0].Name)
	require.InDelta(t, 1, r.Problems[0].Ratio, 1e-6)
	require.InDelta(t, 1, r.Problems[1].Optimum, 0, "as the file says")
	require.InDelta(t, r.Problems[1].Cost, r.Problems[1].Ratio, 1e-12)
	require.Contains(t, kitlab(t, "orders", file), "2 problems:")
}

func emptyOrders(t *testing.T) string {
	file := filepath.Join(t.TempDir(), "orders.json")
	require.NoError(t, os.WriteFile(file, []byte("{}"), 0o600))
	return file
}

func TestWrongUseIsRefused(t *testing.T) {
	for name, args := range map[string][]string{
		"no shops":             {"money", "--shops", "0"},
		"no clients":           {"calibrate", "--clients", "0"},
		"sizes not in figures": {"scale", "--pieces", "many"},
		"a folder too few":     {"sheets"},
		"a folder of nothing":  {"sheets", t.TempDir()},
		"no such needs":        {"needs", "--only", "wide"},
		"no time":              {"needs", "--seconds", "0"},
		"a word too many":      {"money", "now"},
		"no such problems":     {"orders", "none.json"},
		"nothing to order":     {"orders", emptyOrders(t)},
	} {
		t.Run(name, func(t *testing.T) {
			var out, errs bytes.Buffer
			require.Equal(t, 1, run(context.Background(), args, &out, &errs))
			require.Empty(t, out.String())
			require.True(t, strings.HasPrefix(errs.String(), "kitlab: "), errs.String())
		})
	}
}

func TestWorldsComparesForecastsWithWhatComes(t *testing.T) {
	text := kitlab(t, "worlds", "--clients", "2", "--only", "a,d2")
	require.Contains(t, text, "all endings recorded")
	require.Contains(t, text, "the same, not replaced")
	require.Len(t, strings.Split(strings.TrimSpace(text), "\n"), 3)
	require.NotZero(t, run(context.Background(), []string{"worlds", "--only", "z"}, io.Discard, io.Discard))
}
