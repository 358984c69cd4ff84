package chart_test

import (
	"bytes"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/chart"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/wear"
)

var monday = programme.NewDate(2026, 3, 2)

func anAhead() chart.Ahead {
	a := chart.Ahead{AsOf: monday, Date: programme.DayFirst.Date}
	for w := range 27 {
		m := 3.5 * float64(w)
		sd := math.Sqrt(m + 0.01*m*m)
		a.Mean, a.Low, a.High = append(a.Mean, m), append(a.Low, max(0, m-1.28*sd)), append(a.High, m+1.28*sd)
		there, with := 12.0, 12.0
		if w >= 3 {
			there, with = 16, 60
		}
		a.There, a.WithOrder = append(a.There, there), append(a.WithOrder, with)
	}
	return a
}

func someLives() chart.Lives {
	var obs []wear.Observation
	for i := range 40 {
		o := wear.Observation{Kind: wear.Exact, Exit: 12 + 1.3*float64(i), Count: 1}
		if i%4 == 0 {
			o.Kind = wear.Right
		}
		obs = append(obs, o)
	}
	survival := func(scale float64) func(float64) float64 {
		return func(x float64) float64 { return math.Exp(-math.Pow(x/scale, 2.5)) }
	}
	return chart.Lives{Steps: wear.KaplanMeier(obs), Baseline: survival(52), Learnt: survival(44)}
}

func somePast() chart.Past {
	p := chart.Past{RuleName: "12-week mean"}
	for i := range 20 {
		e := 24 + 5*math.Sin(float64(i)/3)
		p.Days = append(p.Days, monday.Add(28*i))
		p.Mean, p.Low, p.High = append(p.Mean, e), append(p.Low, e-6), append(p.High, e+6)
		p.Came, p.Rule = append(p.Came, e+float64((i*7)%11-5)), append(p.Rule, 22)
	}
	return p
}

func aLayout(w, h programme.Length) sheet.Layout {
	in := programme.Inch
	l := sheet.Layout{Name: "A", Copies: 3, Width: w, Height: h}
	for i := range 3 {
		l.Items = append(l.Items, sheet.Item{Artwork: "loaf", X: in / 4, Y: in/4 + programme.Length(i)*(3*in+in/4),
			W: 3 * in, H: 3 * in}, sheet.Item{Artwork: "fern", X: 4 * in, Y: in/4 + programme.Length(i)*(3*in+in/4),
			W: 4 * in, H: 2 * in})
	}
	return l
}

func TestPicturesAreSharpSmallAndTheSameEachTime(t *testing.T) {
	for name, draw := range map[string]func() ([]byte, error){
		"ahead":    func() ([]byte, error) { return chart.Demand(anAhead()) },
		"survival": func() ([]byte, error) { return chart.Survival(someLives()) },
		"replay":   func() ([]byte, error) { return chart.Replay(somePast()) },
	} {
		t.Run(name, func(t *testing.T) {
			data, err := draw()
			require.NoError(t, err)
			img, err := png.Decode(bytes.NewReader(data))
			require.NoError(t, err)
			require.InDelta(t, 1.5*chart.Width, img.Bounds().Dx(), 1)
			require.InDelta(t, 1.5*chart.Height, img.Bounds().Dy(), 1)
			require.Less(t, len(data), 60_000, "a picture for a mail")
			again, err := draw()
			require.NoError(t, err)
			require.Equal(t, data, again)
			if dir := os.Getenv("KITMUSTER_LOOK"); dir != "" {
				require.NoError(t, os.WriteFile(filepath.Join(dir, "chart-"+name+".png"), data, 0o600))
			}
		})
	}
}

func TestLayoutKeepsItsShape(t *testing.T) {
	in := programme.Inch
	for name, c := range map[string]struct {
		w, h          programme.Length
		width, height int
	}{
		"a sheet stands as it is":     {12 * in, 18 * in, 100, 150},
		"a length of roll lies down":  {22 * in, 240 * in, 300, 27},
		"a short piece of roll keeps": {22 * in, 20 * in, 165, 150},
	} {
		t.Run(name, func(t *testing.T) {
			l := aLayout(c.w, c.h)
			data, width, height, err := chart.Layout(&l)
			require.NoError(t, err)
			require.Equal(t, c.width, width)
			require.InDelta(t, c.height, height, 1)
			img, err := png.Decode(bytes.NewReader(data))
			require.NoError(t, err)
			require.Equal(t, 2*width, img.Bounds().Dx())
			require.NotEqual(t, img.At(width, 1), img.At(2*width*2/10, 2*height*3/10),
				"images are drawn where they lie")
		})
	}
	_, _, _, err := chart.Layout(&sheet.Layout{Name: "Z"})
	require.ErrorContains(t, err, "sheet Z")
}

func TestSurvivalWithoutRecordsShowsWhatIsBelieved(t *testing.T) {
	data, err := chart.Survival(chart.Lives{Baseline: func(x float64) float64 { return math.Exp(-x / 40) }})
	require.NoError(t, err)
	require.NotEmpty(t, data)
}

func BenchmarkDemand(b *testing.B) {
	a := anAhead()
	for b.Loop() {
		if _, err := chart.Demand(a); err != nil {
			b.Fatal(err)
		}
	}
}

// What is missing today is need, not less than nothing on the shelf.
func TestAPictureBeginsAtZero(t *testing.T) {
	a := chart.Ahead{Mean: []float64{0, 2}, Low: []float64{0, 1}, High: []float64{0, 4}, There: []float64{-80, -78},
		WithOrder: []float64{-80, 2}}
	mean := a.Mean
	a.FromZero()
	require.Equal(t, chart.Ahead{Mean: []float64{80, 82}, Low: []float64{80, 81}, High: []float64{80, 84},
		There: []float64{0, 2}, WithOrder: []float64{0, 82}}, a)
	require.Equal(t, []float64{0, 2}, mean, "the slices of the caller stay")
	b := a
	b.FromZero()
	require.Equal(t, a, b)
}
