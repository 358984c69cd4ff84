package document

import (
	"image"
	"image/color"
	"image/draw"

	"github.com/golang/freetype/raster"
	"github.com/srwiley/rasterx"
	"golang.org/x/image/math/fixed"

	"github.com/kitmuster/kitmuster/notify/vector"
)

// rasterised draws a picture of outlines as w by h dots on a clear ground. Dots
// at an edge cover as much as lies inside of it.
func rasterised(pic *vector.Picture, w, h int) *image.RGBA {
	r := &rasteriser{
		dots: image.NewRGBA(image.Rect(0, 0, w, h)), dx: float64(w) / pic.Width, dy: float64(h) / pic.Height,
		fill: raster.NewRasterizer(w, h),
	}
	for i := range pic.Shapes {
		r.shape(&pic.Shapes[i])
	}
	return r.dots
}

// rasteriser holds what drawing a picture's shapes shares.
type rasteriser struct {
	dots   *image.RGBA
	dx, dy float64 // dots a unit of the picture
	fill   *raster.Rasterizer
}

func (r *rasteriser) shape(s *vector.Shape) {
	clip := r.clip(s.Clips)
	if s.Fill != nil {
		r.path(s.Path)
		r.paint(s.EvenOdd, s.Fill, clip)
	}
	if s.Stroke != nil {
		r.stroke(s.Path, s.Stroke)
		r.paint(false, &s.Stroke.Ink, clip)
	}
}

// clip returns the intersection of all clips as a coverage of each dot; nil = nothing is clipped.
func (r *rasteriser) clip(clips []vector.Clip) *image.Alpha {
	var seen *image.Alpha
	for i := range clips {
		r.path(clips[i].Path)
		part := r.covered(clips[i].EvenOdd)
		if seen == nil {
			seen = part
			continue
		}
		for k, v := range part.Pix {
			seen.Pix[k] = uint8(int(seen.Pix[k]) * int(v) / 255)
		}
	}
	return seen
}

// covered returns the share of each dot that lies in the outline that was added.
func (r *rasteriser) covered(evenOdd bool) *image.Alpha {
	out := image.NewAlpha(r.dots.Rect)
	r.fill.UseNonZeroWinding = !evenOdd
	r.fill.Rasterize(raster.NewAlphaSrcPainter(out))
	r.fill.Clear()
	return out
}

// paint inks the outline that was added.
func (r *rasteriser) paint(evenOdd bool, ink *vector.Ink, clip *image.Alpha) {
	c := color.NRGBA{ink.RGB[0], ink.RGB[1], ink.RGB[2], uint8(ink.Opacity*255 + 0.5)}
	if clip != nil {
		part := r.covered(evenOdd)
		for k, v := range clip.Pix {
			part.Pix[k] = uint8(int(part.Pix[k]) * int(v) / 255)
		}
		draw.DrawMask(r.dots, r.dots.Rect, image.NewUniform(c), image.Point{}, part, image.Point{}, draw.Over)
		return
	}
	brush := raster.NewRGBAPainter(r.dots)
	brush.SetColor(c)
	r.fill.UseNonZeroWinding = !evenOdd
	r.fill.Rasterize(brush)
	r.fill.Clear()
}

// dot is a point of the picture in 64ths of a dot.
func (r *rasteriser) dot(p vector.Point) fixed.Point26_6 {
	return fixed.Point26_6{X: fixed.Int26_6(p.X*r.dx*64 + 0.5), Y: fixed.Int26_6(p.Y*r.dy*64 + 0.5)}
}

// path adds the area inside an outline; an open part is closed, as PDF and SVG do.
func (r *rasteriser) path(steps []vector.Step) {
	var first fixed.Point26_6
	open := false
	shut := func() {
		if open {
			r.fill.Add1(first)
		}
		open = false
	}
	for i := range steps {
		s := &steps[i]
		if s.Op != 'M' && !open && s.Op != 'Z' { // goes on where the last part ended
			r.fill.Start(first)
			open = true
		}
		switch s.Op {
		case 'M':
			shut()
			first = r.dot(s.To[0])
		case 'L':
			r.fill.Add1(r.dot(s.To[0]))
		case 'C':
			r.fill.Add3(r.dot(s.To[0]), r.dot(s.To[1]), r.dot(s.To[2]))
		case 'Z':
			shut()
		}
	}
	shut()
}

var (
	rasterCaps  = []rasterx.CapFunc{rasterx.ButtCap, rasterx.RoundCap, rasterx.SquareCap}
	rasterJoins = []rasterx.JoinMode{rasterx.Miter, rasterx.Round, rasterx.Bevel}
)

// stroke adds the area that a pen covers along an outline.
func (r *rasteriser) stroke(steps []vector.Step, s *vector.Stroke) {
	size := r.dots.Rect.Size()
	pen := rasterx.NewDasher(size.X, size.Y, nib{r.fill})
	each := (r.dx + r.dy) / 2
	dashes := make([]float64, len(s.Dash))
	for i, v := range s.Dash {
		dashes[i] = v * each
	}
	pen.SetStroke(fixed.Int26_6(s.Width*each*64+0.5), fixed.Int26_6(s.MiterLimit*64), rasterCaps[s.Cap],
		rasterCaps[s.Cap],
		nil, rasterJoins[s.Join], dashes, s.DashOffset*each)
	var first vector.Point
	open := false
	for i := range steps {
		st := &steps[i]
		if st.Op != 'M' && !open && st.Op != 'Z' {
			pen.Start(r.dot(first))
			open = true
		}
		switch st.Op {
		case 'M':
			if open {
				pen.Stop(false)
			}
			first, open = st.To[0], false
		case 'L':
			pen.Line(r.dot(st.To[0]))
		case 'C':
			pen.CubeBezier(r.dot(st.To[0]), r.dot(st.To[1]), r.dot(st.To[2]))
		case 'Z':
			if open {
				pen.Stop(true)
			}
			open = false
		}
	}
	if open {
		pen.Stop(false)
	}
}

// nib passes on what a pen draws; the rasteriser does the rest itself.
type nib struct{ *raster.Rasterizer }

func (n nib) Line(b fixed.Point26_6)                  { n.Add1(b) }
func (nib) Draw()                                     {}
func (nib) SetColor(any)                              {}
func (nib) SetWinding(bool)                           {}
func (nib) SetClip(image.Rectangle)                   {}
func (nib) GetPathExtent() (none fixed.Rectangle26_6) { return none }
