package choose

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/wear"
)

// Rental work garments are built for at least 50 industrial washes (North
// American Association of Uniform Manufacturers & Distributors, article on
// uniform life, undated). The shipped work shirt is more cautious on purpose:
// under an industrial laundry its median is 58, and 35 of 100 end before 50.
func TestTheShippedWorkShirtIsCautiousAgainstFiftyIndustrialWashes(t *testing.T) {
	f, r := fabric(t, "blend-work-shirt"), regime(t, "industrial")
	w := wear.FromMedian(f.Median*r.Blend, f.Shape)
	require.InDelta(t, 58, w.Median(), 1)
	require.InDelta(t, 0.35, distuv.Weibull{K: w.Shape, Lambda: w.Scale}.CDF(50), 0.01)
}

// 35 to 50 washes is the life of shirts for claims (Drycleaning & Laundry
// Institute figure as quoted on cleaners' pages, a weak source).
func TestShippedCottonTopsLieInsideTheQuotedLife(t *testing.T) {
	for _, code := range []string{"cotton-tee-carded", "cotton-tee-ringspun", "cotton-polo"} {
		m := fabric(t, code).Median
		require.True(t, m >= 35 && m <= 50, "%s: %v", code, m)
	}
}

// A cap worn daily lasts about 12 months or 20 spot washes (common practice, no source).
func TestACapLastsAboutAYear(t *testing.T) {
	c := fabric(t, "cap")
	months := c.Median * c.WearsPerWash / 5 / weeksPerMonth
	require.InDelta(t, 12, months, 1.5)
}

// Hot and hard washing never lengthens a life, whatever the fibre.
func TestHarderWashingNeverLengthensLife(t *testing.T) {
	b := programme.DefaultBaselines()
	last := [3]float64{math.Inf(1), math.Inf(1), math.Inf(1)} // regimes stand from gentle to hard
	for _, r := range b.Regimes {
		now := [3]float64{r.Cotton, r.Blend, r.Polyester}
		for i := range now {
			require.LessOrEqual(t, now[i], last[i], r.Code)
		}
		last = now
	}
	for _, d := range b.Decorations {
		require.True(t, d.HomeHot >= d.OnPremises && d.OnPremises >= d.Industrial, d.Code)
	}
}

func fabric(t *testing.T, code string) programme.FabricBaseline {
	t.Helper()
	for _, f := range programme.DefaultBaselines().Fabrics {
		if f.Code == code {
			return f
		}
	}
	t.Fatalf("no fabric class %s", code)
	return programme.FabricBaseline{}
}

func regime(t *testing.T, code string) programme.Regime {
	t.Helper()
	for _, r := range programme.DefaultBaselines().Regimes {
		if r.Code == code {
			return r
		}
	}
	t.Fatalf("no regime %s", code)
	return programme.Regime{}
}
