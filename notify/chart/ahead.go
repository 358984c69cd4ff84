package chart

import (
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"

	"github.com/kitmuster/kitmuster/programme"
)

// Ahead sets what one client will need against what is there. All slices have
// one entry a week, the first for today; numbers are pieces added up from today.
type Ahead struct {
	AsOf            programme.Date
	Mean, Low, High []float64
	// There is the stock on the shelf or come by then; WithOrder adds the proposal.
	There, WithOrder []float64
	// Date writes a date for people.
	Date func(programme.Date) string
}

// FromZero adds what is missing today to every number: the need then begins with it, and
// what is there with nothing, where else both would begin below zero.
func (a *Ahead) FromZero() {
	if len(a.There) == 0 || a.There[0] >= 0 {
		return
	}
	missing := -a.There[0]
	for _, list := range []*[]float64{&a.Mean, &a.Low, &a.High, &a.There, &a.WithOrder} {
		*list = slices.Clone(*list)
		for i := range *list {
			(*list)[i] += missing
		}
	}
}

// Demand draws the need to come, with its band, and what is there to meet it.
func Demand(a Ahead) ([]byte, error) {
	x := make([]float64, len(a.Mean))
	for i := range x {
		x[i] = float64(7 * i)
	}
	days := 7 * (len(x) - 1)
	p := newPlot("", "pieces, added up")
	band, err := area(x, a.Low, a.High, veil)
	if err != nil {
		return nil, err
	}
	need, err := line(xys(x, a.Mean), thread, 2, false)
	if err != nil {
		return nil, err
	}
	there, err := line(xys(x, a.There), ink, 1.6, true)
	if err != nil {
		return nil, err
	}
	with, err := line(xys(x, a.WithOrder), leaf, 2, true, vg.Points(6), vg.Points(3))
	if err != nil {
		return nil, err
	}
	p.Add(band, with, there, need)
	p.X.Min, p.X.Max = 0, float64(days)
	p.Y.Min = min(0, slices.Min(a.There))
	p.Y.Max = 1.08 * max(1, slices.Max(a.High), slices.Max(a.There), slices.Max(a.WithOrder))
	p.X.Tick.Marker = months(a.AsOf, days)
	p.Y.Tick.Marker = plot.TickerFunc(whole)
	return finish(p, []key{
		{"needed: mean, 8 of 10 chances", []plot.Thumbnailer{band, need}, 0.42},
		{"there now or coming", []plot.Thumbnailer{there}, 0.29},
		{"with this order", []plot.Thumbnailer{with}, 0.29},
	})
}
