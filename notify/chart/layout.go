package chart

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// Layout draws a small view of one transfer sheet, each artwork in its own
// tint, and returns its width and height in pixels of the mail. A long piece of
// roll is drawn lying down.
func Layout(l *sheet.Layout) (data []byte, width, height int, err error) {
	w, h := l.Width, l.Height
	lying := h > 2*w
	if lying {
		w, h = h, w
	}
	if w <= 0 || h <= 0 {
		return nil, 0, 0, fmt.Errorf("draw sheet %s: it measures %v by %v mm", l.Name, l.Width.Millimetres(),
			l.Height.Millimetres())
	}
	const wide, high = 300, 150 // greatest size
	scale := min(wide/float64(w), high/float64(h))
	width, height = max(1, int(float64(w)*scale)), max(1, int(float64(h)*scale))
	img := image.NewNRGBA(image.Rect(0, 0, 2*width, 2*height))
	fill(img, img.Bounds(), ink)
	fill(img, img.Bounds().Inset(2), paper)
	colour := tintsOf(l)
	for i := range l.Items {
		it := l.Items[i]
		x, y, iw, ih := it.X, it.Y, it.W, it.H
		if lying {
			x, y, iw, ih = it.Y, it.X, it.H, it.W
		}
		fill(img, box(x, y, iw, ih, 2*scale), colour[it.Artwork])
	}
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		return nil, 0, 0, fmt.Errorf("draw sheet %s: %w", l.Name, err)
	}
	return b.Bytes(), width, height, nil
}

func box(x, y, w, h programme.Length, scale float64) image.Rectangle {
	at := func(l programme.Length) int { return int(float64(l)*scale + 0.5) }
	return image.Rect(at(x), at(y), max(at(x)+1, at(x+w)), max(at(y)+1, at(y+h)))
}

func fill(img draw.Image, r image.Rectangle, c color.Color) {
	draw.Draw(img, r, image.NewUniform(c), image.Point{}, draw.Src)
}

// tints tell artworks apart on a sheet.
var tints = []color.NRGBA{
	{0xc9, 0x7b, 0x4a, 0xff}, {0x4f, 0x83, 0x6b, 0xff}, {0x5b, 0x6f, 0x94, 0xff}, {0xb7, 0x9a, 0x3e, 0xff},
	{0x8c, 0x5a, 0x7d, 0xff}, {0x77, 0x8a, 0x4d, 0xff}, {0xa3, 0x55, 0x4a, 0xff}, {0x6a, 0x62, 0x57, 0xff},
}

// tintsOf gives each artwork of a layout its own colour, as far as they reach.
func tintsOf(l *sheet.Layout) map[string]color.NRGBA {
	var codes []string
	for i := range l.Items {
		if !slices.Contains(codes, l.Items[i].Artwork) {
			codes = append(codes, l.Items[i].Artwork)
		}
	}
	slices.Sort(codes)
	out := map[string]color.NRGBA{}
	for i, c := range codes {
		out[c] = tints[i%len(tints)]
	}
	return out
}
