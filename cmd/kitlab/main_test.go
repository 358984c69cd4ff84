package main

import (
	"bytes"
	"context"
	"encoding/json"
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
	require.Zero(t, run(context.Background(), args, &out, &errs), "kitlab %s: %s", strings.Join(args, " "), errs.String())
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
}

func TestMoneyComparesProposalsWithEveryHabit(t *testing.T) {
	var r study.Report
	require.NoError(t, json.Unmarshal([]byte(kitlab(t, "money", "--shops", "1", "--clients", "1", "--weeks", "40", "--json")), &r))
	require.Len(t, r.Results, 5)
	for i := range r.Results {
		require.Positive(t, r.Results[i].Cost, r.Results[i].Name)
	}
}

func TestWrongUseIsRefused(t *testing.T) {
	for name, args := range map[string][]string{
		"no shops":             {"money", "--shops", "0"},
		"no clients":           {"calibrate", "--clients", "0"},
		"sizes not in figures": {"scale", "--pieces", "many"},
		"a folder too few":     {"sheets"},
		"a folder of nothing":  {"sheets", t.TempDir()},
		"a word too many":      {"money", "now"},
	} {
		t.Run(name, func(t *testing.T) {
			var out, errs bytes.Buffer
			require.Equal(t, 1, run(context.Background(), args, &out, &errs))
			require.Empty(t, out.String())
			require.True(t, strings.HasPrefix(errs.String(), "kitlab: "), errs.String())
		})
	}
}
