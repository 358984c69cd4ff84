// Package chart draws the pictures of mails and reports as PNG: the need to
// come against what is there, survival curves, the replay of past forecasts,
// and small views of transfer sheets. The same values give the same bytes.
package chart

import (
	"bytes"
	"fmt"
	"image/color"
	"slices"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"github.com/kitmuster/kitmuster/programme"
)

// Colours of all pictures. Each line also differs by its stroke, for readers
// who do not tell these colours apart.
var (
	ink    = color.NRGBA{0x2b, 0x27, 0x22, 0xff}
	faint  = color.NRGBA{0xd8, 0xd0, 0xc2, 0xff}
	paper  = color.NRGBA{0xff, 0xfd, 0xf8, 0xff}
	thread = color.NRGBA{0xa8, 0x45, 0x1c, 0xff}
	veil   = color.NRGBA{0xa8, 0x45, 0x1c, 0x38}
	leaf   = color.NRGBA{0x2d, 0x6a, 0x4f, 0xff}
	mist   = color.NRGBA{0x2d, 0x6a, 0x4f, 0x30}
)

// Size of a picture in pixels of the mail; the file has half as many again, to
// be sharp on fine screens.
const (
	Width  = 560
	Height = 280
	dpi    = 144
)

// points turns pixels of the mail (96 to the inch) into points.
func points(px float64) vg.Length { return vg.Points(px * 72 / 96) }

// newPlot returns an empty picture in the house's style.
func newPlot(x, y string) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = paper
	p.X.Label.Text, p.Y.Label.Text = x, y
	face := font.Font{Typeface: "Liberation", Variant: "Sans", Size: vg.Points(11)}
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Color, a.Tick.Color = ink, ink
		a.Label.TextStyle.Font, a.Tick.Label.Font = face, face
		a.Label.TextStyle.Color, a.Tick.Label.Color = ink, ink
		a.Padding = 0
	}
	grid := plotter.NewGrid()
	grid.Vertical.Color = nil
	grid.Horizontal.Color = faint
	p.Add(grid)
	return p
}

// key is one entry of the line of explanations above a picture.
type key struct {
	words  string
	sample []plot.Thumbnailer
	share  float64 // of the width
}

// finish writes the picture with its keys above it.
func finish(p *plot.Plot, keys []key) ([]byte, error) {
	c := vgimg.NewWith(vgimg.UseWH(points(Width), points(Height)), vgimg.UseDPI(dpi), vgimg.UseBackgroundColor(paper))
	dc := draw.New(c)
	top := vg.Points(16)
	at := dc.Min.X + vg.Points(6)
	room := dc.Max.X - at
	for _, k := range keys {
		l := plot.NewLegend()
		l.TextStyle.Font = font.Font{Typeface: "Liberation", Variant: "Sans", Size: vg.Points(10.5)}
		l.TextStyle.Color = ink
		l.Left, l.Top = true, true
		l.ThumbnailWidth = vg.Points(18)
		l.Add(k.words, k.sample...)
		width := room * vg.Length(k.share)
		l.Draw(draw.Canvas{Canvas: dc.Canvas, Rectangle: vg.Rectangle{Min: vg.Point{X: at, Y: dc.Max.Y - top},
			Max: vg.Point{X: at + width, Y: dc.Max.Y - vg.Points(3)}}})
		at += width
	}
	p.Draw(draw.Crop(dc, vg.Points(4), -vg.Points(10), vg.Points(4), -top-vg.Points(6)))
	var b bytes.Buffer
	if _, err := (vgimg.PngCanvas{Canvas: c}).WriteTo(&b); err != nil {
		return nil, fmt.Errorf("draw picture: %w", err)
	}
	return b.Bytes(), nil
}

// line returns a line through points, as steps where asked.
func line(xy plotter.XYs, c color.Color, wide float64, steps bool, dashes ...vg.Length) (*plotter.Line, error) {
	l, err := plotter.NewLine(xy)
	if err != nil {
		return nil, fmt.Errorf("draw line: %w", err)
	}
	l.Color, l.Width, l.Dashes = c, vg.Points(wide), dashes
	if steps {
		l.StepStyle = plotter.PostStep
	}
	return l, nil
}

// area returns the field between two lines over the same x.
func area(x, low, high []float64, c color.Color) (*plotter.Polygon, error) {
	var xy plotter.XYs
	for i := range x {
		xy = append(xy, plotter.XY{X: x[i], Y: high[i]})
	}
	for i, v := range slices.Backward(x) {
		xy = append(xy, plotter.XY{X: v, Y: low[i]})
	}
	p, err := plotter.NewPolygon(xy)
	if err != nil {
		return nil, fmt.Errorf("draw band: %w", err)
	}
	p.Color, p.Width = c, 0
	return p, nil
}

func xys(x, y []float64) plotter.XYs {
	out := make(plotter.XYs, len(x))
	for i := range x {
		out[i] = plotter.XY{X: x[i], Y: y[i]}
	}
	return out
}

// months marks the first of each month on an axis of days after from; long
// axes get every second or third month.
func months(from programme.Date, days int) plot.Ticker {
	return plot.TickerFunc(func(_, _ float64) []plot.Tick {
		every := 1 + days/250
		var out []plot.Tick
		first := from.Time()
		for d := time.Date(first.Year(), first.Month()+1, 1, 0, 0, 0, 0, time.UTC); ; d = d.AddDate(0, 1, 0) {
			n := programme.DateOf(d).Sub(from)
			if n > days {
				return out
			}
			label := ""
			if (int(d.Month())-1)%every == 0 {
				label = d.Format("Jan")
				if d.Month() == time.January {
					label = d.Format("Jan 2006")
				}
			}
			out = append(out, plot.Tick{Value: float64(n), Label: label})
		}
	})
}

// whole marks whole numbers only: pieces do not come in halves.
func whole(lo, hi float64) []plot.Tick {
	span := hi - lo
	step := 1.0
	for _, s := range []float64{1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000, 50000} {
		if step = s; span/s <= 6 {
			break
		}
	}
	var out []plot.Tick
	for v := float64(int(lo/step)) * step; v <= hi+1e-9; v += step {
		out = append(out, plot.Tick{Value: v, Label: fmt.Sprintf("%.0f", v)})
	}
	return out
}
