package wear

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme"
)

// washedBy returns the life of a print on a cloth under a regime of the catalogue.
func washedBy(f *programme.FabricBaseline, d *programme.DecorationBaseline, r *programme.Regime) *Terms {
	b := &Book{shop: &programme.Shop{}, client: &programme.Client{Known: true}, regime: *r}
	cloth := FromMedian(f.Median*b.clothFactor(f.Fibre), f.Shape)
	print := FromMedian(d.Median*b.printFactor(d, false), d.Shape)
	return &Terms{Cloth: Source{Baseline: cloth}, Prints: []PrintTerms{{Source{Baseline: print}, 1}}}
}

// endsIn returns the chance that a piece whose cloth and print have different ages ends within some washes.
func endsIn(t *Terms, cloth, print, washes float64) float64 {
	c, p := t.Cloth.Baseline, t.Prints[0].Baseline
	hazard := func(w Weibull, age float64) float64 {
		return math.Pow((age+washes)/w.Scale, w.Shape) - math.Pow(age/w.Scale, w.Shape)
	}
	return -math.Expm1(-hazard(c, cloth) - hazard(p, print))
}

// A piece has one age in washes, though a change of laundry may be harder on its print than on its cloth. Over
// every cloth, print and change of the shipped catalogue, of pieces that changed at 30 to 90 % of their life, the chance
// to end within a quarter of a life is close to the one of a piece that keeps two ages (accelerated
// failure time of each cause: W. Nelson, Accelerated Testing, 1990, chapter 10, from memory).
func TestOneWorthOfAFormerWashStandsForClothAndPrint(t *testing.T) {
	base := programme.DefaultBaselines()
	n, error, ignored := 0.0, 0.0, 0.0
	for i := range base.Fabrics {
		for j := range base.Decorations {
			for from := range base.Regimes {
				for to := range base.Regimes {
					f, d := &base.Fabrics[i], &base.Decorations[j]
					if from == to || d.Median <= 0 {
						continue
					}
					then, now := washedBy(f, d, &base.Regimes[from]), washedBy(f, d, &base.Regimes[to])
					worth := now.worth(then)
					ofCloth := now.Cloth.Baseline.Scale / then.Cloth.Baseline.Scale
					ofPrint := now.Prints[0].Baseline.Scale / then.Prints[0].Baseline.Scale
					for _, share := range []float64{0.3, 0.5, 0.7, 0.9} {
						age, washes := share*then.unharmedLife(), now.unharmedLife()/4
						exact := endsIn(now, age*ofCloth, age*ofPrint, washes)
						off := math.Abs(endsIn(now, age*worth, age*worth, washes) - exact)
						require.Less(t, off, 0.12, "%s with %s, %s to %s at %.0f %%", f.Code, d.Code,
							base.Regimes[from].Code, base.Regimes[to].Code, 100*share)
						n, error = n+1, error+off
						ignored += math.Abs(endsIn(now, age, age, washes) - exact)
					}
				}
			}
		}
	}
	require.Less(t, error/n, 0.003)
	require.Greater(t, ignored/n, 0.1, "as much as it would be off if all had been washed as today")
}

// A label allows so many washes, however gentle they were.
func TestWhatALabelLimitsIsCountedInWashesAsTheyWere(t *testing.T) {
	monday := programme.NewDate(2026, 1, 5)
	base := programme.DefaultBaselines()
	shop := &programme.Shop{Baselines: base, Garments: []programme.Garment{
		{Code: "vest", FabricClass: "high-visibility", LabelWashes: 25}, {Code: "tee", FabricClass: "cotton-tee-carded"}}}
	kit := []programme.KitLine{{Garment: "vest", Each: 1, WearsAWeek: 7}, {Garment: "tee", Each: 1, WearsAWeek: 7}}
	client := &programme.Client{Code: "one", Roles: []programme.Role{{Code: "floor", Kit: kit}},
		Laundering: programme.Laundering{Regime: "industrial",
			Before: []programme.FormerLaundering{{Until: monday.Add(70), Regime: "home-low"}}}}
	book, err := NewBook(shop, client, nil)
	require.NoError(t, err)
	vest, _ := book.Use("floor", "vest", "")
	tee, _ := book.Use("floor", "tee", "")
	require.InDelta(t, 100, vest.Wearing(book, nil, monday, monday.Add(100)), 1e-9)
	// Cotton lasts half as long in industrial laundry: trade-facts, 0.5.
	require.InDelta(t, 70*0.5+30, tee.Wearing(book, nil, monday, monday.Add(100)), 1e-6)
	require.InDelta(t, 20*0.5, tee.Wearing(book, nil, monday, monday.Add(20)), 1e-6)
	require.InDelta(t, 10, tee.Wearing(book, nil, monday.Add(70), monday.Add(80)), 1e-9)

	client.Laundering.Before[0].Regime = "river"
	_, err = NewBook(shop, client, nil)
	require.ErrorContains(t, err, `laundering regime "river"`)
}
