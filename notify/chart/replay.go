package chart

import (
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"github.com/kitmuster/kitmuster/programme"
)

// Past holds what forecasts of past days said and what came, in order of days.
// All slices have one entry a day.
type Past struct {
	Days []programme.Date
	// Mean is the expected number of pieces, Low and High bound 8 of 10 chances, Came is
	// the number needed in the end, Rule the number that a rule of thumb expected.
	Mean, Low, High, Came, Rule []float64
	// RuleName names the rule of thumb, such as "mean of the last 12 weeks".
	RuleName string
}

// Replay draws past forecasts with their band, what came as dots, and a rule
// of thumb beside them. It needs at least two days.
func Replay(r Past) ([]byte, error) {
	x := make([]float64, len(r.Days))
	for i, d := range r.Days {
		x[i] = float64(d.Sub(r.Days[0]))
	}
	p := newPlot("", "pieces needed")
	band, err := area(x, r.Low, r.High, veil)
	if err != nil {
		return nil, err
	}
	said, err := line(xys(x, r.Mean), thread, 2, false)
	if err != nil {
		return nil, err
	}
	rule, err := line(xys(x, r.Rule), leaf, 1.4, false, vg.Points(6), vg.Points(3))
	if err != nil {
		return nil, err
	}
	came, err := plotter.NewScatter(xys(x, r.Came))
	if err != nil {
		return nil, err
	}
	came.GlyphStyle = draw.GlyphStyle{Color: ink, Radius: vg.Points(3), Shape: draw.CircleGlyph{}}
	p.Add(band, rule, said, came)
	days := int(x[len(x)-1])
	p.X.Min, p.X.Max = -0.02*float64(days), 1.02*float64(days)
	p.Y.Min = 0
	p.Y.Max = 1.08 * max(1, slices.Max(r.High), slices.Max(r.Came), slices.Max(r.Rule))
	p.X.Tick.Marker = months(r.Days[0], days)
	p.Y.Tick.Marker = plot.TickerFunc(whole)
	return finish(p, []key{
		{"said: mean, 8 of 10 chances", []plot.Thumbnailer{band, said}, 0.4},
		{"came", []plot.Thumbnailer{came}, 0.16},
		{r.RuleName, []plot.Thumbnailer{rule}, 0.44},
	})
}
