package simulate_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/simulate"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// The simulator works the shipped multipliers out by itself. Where it and the
// product disagree about the prior, every study of calibration would be off.
func TestTruthsScatterAroundWhatTheProductBelieves(t *testing.T) {
	w := simulate.NewWorld(asOf, simulate.Seed(1))
	for i := range w.Cases {
		client := &w.Cases[i].Client
		book, err := wear.NewBook(&w.Shop, client, nil)
		require.NoError(t, err)
		for _, role := range client.Roles {
			for _, line := range role.Kit {
				use, ok := book.Use(role.Code, line.Garment, line.Colour)
				require.True(t, ok)
				g, _ := w.Shop.Garment(line.Garment)
				require.InEpsilon(t, use.Class.Cloth.Baseline.Scale, simulate.PriorFabric(&w.Shop, client, g).Scale, 1e-9, "%s %s", client.Code, g.Code)
				require.InEpsilon(t, line.WearsAWeek/g.WearsPerWash, use.PerWeek, 1e-12)
				for _, d := range line.Decorations {
					a, _ := w.Shop.Artwork(d.Artwork)
					k, _ := w.Shop.Kind(a.Kind)
					require.Contains(t, printScales(use.Class), simulate.PriorPrint(&w.Shop, client, k).Scale, "%s on %s", d.Artwork, g.Code)
				}
			}
		}
	}
}

func printScales(t *wear.Terms) []float64 {
	var scales []float64
	for _, p := range t.Prints {
		scales = append(scales, p.Baseline.Scale)
	}
	return scales
}
