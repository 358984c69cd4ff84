package chart

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"

	"github.com/kitmuster/kitmuster/programme/wear"
)

// Lives sets what records say of the wear life of a class against what was
// believed before them.
type Lives struct {
	// Steps of the Kaplan-Meier curve with its 95% band.
	Steps []wear.Step
	// Baseline and Learnt return the chance of outlasting a number of washes.
	Baseline, Learnt func(washes float64) float64
	// To is the end of the axis in washes; 0 = a little past the last step.
	To float64
}

// Survival draws the share of pieces that are still presentable after a number
// of washes: as recorded, as shipped, and as learnt.
func Survival(l Lives) ([]byte, error) {
	to := l.To
	if to <= 0 {
		to = 60
		if n := len(l.Steps); n > 0 {
			to = 1.15 * l.Steps[n-1].Washes
		}
	}
	p := newPlot("washes", "still presentable")
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = 0, to, 0, 1.02
	p.Y.Tick.Marker = plot.TickerFunc(percent)
	p.X.Tick.Marker = plot.TickerFunc(whole)
	keys, err := l.recorded(p, to)
	if err != nil {
		return nil, err
	}
	for _, c := range []struct {
		of     func(float64) float64
		words  string
		learnt bool
	}{{l.Baseline, "starting figure", false}, {l.Learnt, "learnt", true}} {
		if c.of == nil {
			continue
		}
		curve, err := l.curve(c.of, to, c.learnt)
		if err != nil {
			return nil, err
		}
		p.Add(curve)
		keys = append(keys, key{c.words, []plot.Thumbnailer{curve}, 0.27})
	}
	return finish(p, keys)
}

// curve draws a survival function over the axis.
func (l Lives) curve(of func(float64) float64, to float64, learnt bool) (*plotter.Line, error) {
	const points = 120
	var xy plotter.XYs
	for i := range points + 1 {
		x := to * float64(i) / points
		xy = append(xy, plotter.XY{X: x, Y: of(x)})
	}
	if learnt {
		return line(xy, thread, 2, false)
	}
	return line(xy, leaf, 1.6, false, vg.Points(5), vg.Points(3))
}

// recorded draws the curve of the records as steps from 1, with its band.
func (l Lives) recorded(p *plot.Plot, to float64) ([]key, error) {
	if len(l.Steps) == 0 {
		return nil, nil
	}
	x, y, low, high := []float64{0}, []float64{1}, []float64{1}, []float64{1}
	for _, s := range l.Steps {
		// The band has steps too: its old height holds until the next ending.
		n := len(low) - 1
		x, y = append(x, s.Washes, s.Washes), append(y, y[n], s.Survival)
		low, high = append(low, low[n], s.Lower), append(high, high[n], s.Upper)
	}
	n := len(x) - 1
	x, y, low, high = append(x, to), append(y, y[n]), append(low, low[n]), append(high, high[n])
	band, err := area(x, low, high, mist)
	if err != nil {
		return nil, err
	}
	steps, err := line(xys(x, y), ink, 1.4, false)
	if err != nil {
		return nil, err
	}
	p.Add(band, steps)
	return []key{{"your records, 95% band", []plot.Thumbnailer{band, steps}, 0.4}}, nil
}

// percent marks quarters of the whole.
func percent(_, _ float64) []plot.Tick {
	var out []plot.Tick
	for _, v := range []float64{0, 0.25, 0.5, 0.75, 1} {
		out = append(out, plot.Tick{Value: v, Label: fmt.Sprintf("%.0f%%", 100*v)})
	}
	return out
}
