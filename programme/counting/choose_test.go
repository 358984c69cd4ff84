package counting_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/counting"
)

var (
	tee  = programme.SKU{Garment: "tee", Colour: "black", Size: "M"}
	polo = programme.SKU{Garment: "polo", Colour: "navy", Size: "L"}
)

// The saving of a count is worked out again by preposterior simulation: draw what
// is missing and what else is needed, let the order be made without and with the
// count, and compare what both cost (Raiffa and Schlaifer 1961).
func TestWhatACountSavesIsWhatOrdersWithItSave(t *testing.T) {
	row := func(i int) counting.Row {
		return counting.Row{StaffID: fmt.Sprint(i), SKU: tee, Pieces: 9, Missing: 4, Noise: 6}
	}
	rows := []counting.Row{row(1), row(2), row(3)}
	line := counting.Line{SD: math.Sqrt(25 + 3*6), Short: 9, Over: 3}
	got := counting.Choose(rows, map[programme.SKU]counting.Line{tee: line}, counting.Terms{Minute: 0.01}, 2)
	require.Len(t, got.Rows, 2)

	rng := rand.New(rand.NewPCG(5, 7))
	z := math.Sqrt2 * math.Erfinv(2*0.75-1)
	cost := func(need, order float64) float64 {
		return line.Short*max(0, need-order) + line.Over*max(0, order-need)
	}
	saved, n := 0.0, 400_000
	for range n {
		counted, rest := math.Sqrt(12)*rng.NormFloat64(), math.Sqrt(25+6)*rng.NormFloat64()
		saved += cost(counted+rest, z*line.SD) - cost(counted+rest, counted+z*math.Sqrt(31))
	}
	require.InDelta(t, saved/float64(n), got.Saving, 0.05)
	require.InDelta(t, 2*1.5+counting.FormMinutes, got.Minutes, 1e-9)
}

// Where nobody knows how many endings go unseen, a few rows tell of all others.
func TestAFewRowsTellOfTheCommonShare(t *testing.T) {
	var rows []counting.Row
	for i := range 40 {
		rows = append(rows, counting.Row{StaffID: fmt.Sprint(i), SKU: tee, Pieces: 4, Missing: 1, Noise: 0.4, Slope: 3})
	}
	lines := map[programme.SKU]counting.Line{tee: {SD: 40, Short: 10, Over: 5}}
	known := counting.Choose(rows, lines, counting.Terms{Minute: 0.3}, 0)
	require.Empty(t, known.Rows, "each row by itself tells too little")
	unknown := counting.Choose(rows, lines, counting.Terms{Minute: 0.3, ShareSD: 0.25}, 0)
	require.NotEmpty(t, unknown.Rows)
	require.Less(t, len(unknown.Rows), 20, "and some tell enough of all")
}

func TestTheSecondGarmentOfAPersonCostsLess(t *testing.T) {
	rows := []counting.Row{
		{StaffID: "a", SKU: tee, Missing: 1, Noise: 1}, {StaffID: "b", SKU: tee, Missing: 0.5, Noise: 0.5},
		{StaffID: "a", SKU: polo, Missing: 0.45, Noise: 0.5},
	}
	lines := map[programme.SKU]counting.Line{tee: {SD: 2, Short: 1, Over: 1, Week: 10},
		polo: {SD: 2, Short: 1, Over: 1, Week: 10}}
	got := counting.Choose(rows, lines, counting.Terms{Weeks: 4, Minute: 0.5}, 2)
	require.Equal(t, []int{0, 2}, got.Rows)
}

// More rows allowed never save less; nothing is asked for that costs more than it saves.
func TestACountIsNeverWorthLessThanNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var rows []counting.Row
		for i := range rapid.IntRange(0, 12).Draw(t, "rows") {
			p := rapid.Float64Range(0, 1).Draw(t, "chance")
			n := float64(rapid.IntRange(1, 5).Draw(t, "pieces"))
			rows = append(rows, counting.Row{StaffID: fmt.Sprint(i / 2), SKU: []programme.SKU{tee, polo}[i%2],
				Pieces: int(n), Missing: n * p, Noise: n * p * (1 - p), Slope: n * p * (1 - p)})
		}
		line := func(name string) counting.Line {
			return counting.Line{SD: rapid.Float64Range(0, 9).Draw(t, name),
				Short: rapid.Float64Range(0, 20).Draw(t, name), Over: rapid.Float64Range(0, 9).Draw(t, name),
				Week: rapid.Float64Range(0, 3).Draw(t, name)}
		}
		lines := map[programme.SKU]counting.Line{tee: line("tee"), polo: line("polo")}
		terms := counting.Terms{ShareSD: rapid.Float64Range(0, 0.3).Draw(t, "share"), Weeks: 4,
			Minute: rapid.Float64Range(0.01, 1).Draw(t, "minute")}
		last := 0.0
		for most := 1; most <= 12; most++ {
			c := counting.Choose(rows, lines, terms, most)
			require.GreaterOrEqual(t, c.Net(), last-1e-9)
			require.LessOrEqual(t, len(c.Rows), most)
			require.True(t, slices.IsSorted(c.Rows))
			last = c.Net()
		}
	})
}
