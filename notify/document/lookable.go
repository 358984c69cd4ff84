package document

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/jpeg"
	"image/png"
	"math"
)

// A proof is looked at and cut by, never printed from: photos in it have at most
// proofDPI dots an inch at print size, whatever the file has, so that a detailed
// one does not make a mail that no server takes. One with up to a quarter more in
// a file of at most plainFile bytes stays as it is.
const (
	proofDPI  = 150
	plainFile = 200_000
	// mostUnpacked bounds the memory of a photo that is made smaller; a larger one
	// goes into the proof as it is, which takes none.
	mostUnpacked = 340 << 20
)

// lookable returns the photo as a proof of size w by h inches shows it: with fewer
// dots where it has more than a proof needs. See-through dots are laid over the
// ground that a proof has behind them. The error is a clause.
func (a *artwork) lookable(w, h float64) (*artwork, error) {
	if a.outlines != nil {
		return a, nil
	}
	c, _, err := image.DecodeConfig(bytes.NewReader(a.data))
	if err != nil {
		return nil, fmt.Errorf("it is broken: %w", err)
	}
	const spare = 1.25
	few := float64(c.Width) <= w*proofDPI*spare && float64(c.Height) <= h*proofDPI*spare
	if few && len(a.data) <= plainFile || a.unpacked(c) > mostUnpacked {
		return a, nil
	}
	src, _, err := image.Decode(bytes.NewReader(a.data))
	if err != nil {
		return nil, fmt.Errorf("it is broken: %w", err)
	}
	wide, high := min(c.Width, int(math.Ceil(w*proofDPI))), min(c.Height, int(math.Ceil(h*proofDPI)))
	ground := color.RGBA{R: uint8(groundRGB[0]), G: uint8(groundRGB[1]), B: uint8(groundRGB[2]), A: 255}
	small := averaged(src, wide, high, ground)
	shown := &artwork{code: a.code, ratio: a.ratio, clear: a.clear}
	if shown.kind, shown.data, err = packed(small); err != nil {
		return nil, err
	}
	if few && len(shown.data) >= len(a.data) {
		return a, nil
	}
	return shown, nil
}

// unpacked returns about how many bytes Go's readers take for a photo.
func (a *artwork) unpacked(c image.Config) int {
	dots := c.Width * c.Height
	if a.kind == "JPEG" {
		// Three parts, and a fourth from the fourth on; a progressive one (T.81,
		// table B.1: SOF2) keeps the coefficients of all, four bytes each, besides.
		if bytes.Contains(a.data, []byte{0xff, 0xc2}) {
			return 20 * dots
		}
		return 4 * dots
	}
	each := 4
	switch c.ColorModel {
	case color.GrayModel:
		each = 1
	case color.Gray16Model:
		each = 2
	case color.RGBA64Model, color.NRGBA64Model:
		each = 8
	}
	if _, indexed := c.ColorModel.(color.Palette); indexed {
		each = 1
	}
	if interlaced := a.data[28] != 0; interlaced {
		each *= 2 // the passes beside the whole
	}
	return each * dots
}

// averaged returns a picture of w by h dots, no more than src has, each the mean
// of the area of src that it covers (by their 8-bit values), over a ground.
func averaged(src image.Image, w, h int, ground color.RGBA) *image.RGBA {
	from := src.Bounds()
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	line := image.NewRGBA(image.Rect(0, 0, from.Dx(), 1))
	across, down := falls(from.Dx(), w), falls(from.Dy(), h)
	area := float64(from.Dx()) / float64(w) * float64(from.Dy()) / float64(h)
	sum := make([]float64, 3*w*2) // the row of out that is being filled, and the next
	thin := make([]float64, 3*w)
	for y := range from.Dy() {
		draw.Draw(line, line.Rect, image.NewUniform(ground), image.Point{}, draw.Src)
		draw.Draw(line, line.Rect, src, image.Pt(from.Min.X, from.Min.Y+y), draw.Over)
		clear(thin)
		for x, c := range across {
			for i := range 3 {
				v := float64(line.Pix[4*x+i])
				thin[3*c.at+i] += v * c.share
				if c.share < 1 {
					thin[3*c.at+3+i] += v * (1 - c.share)
				}
			}
		}
		c := down[y]
		for i, v := range thin {
			sum[i] += v * c.share
			sum[3*w+i] += v * (1 - c.share)
		}
		if y+1 == from.Dy() || down[y+1].at > c.at {
			for x := range w {
				at := out.PixOffset(x, c.at)
				for i := range 3 {
					out.Pix[at+i] = uint8(math.Round(sum[3*x+i] / area))
				}
				out.Pix[at+3] = 255
			}
			copy(sum, sum[3*w:])
			clear(sum[3*w:])
		}
	}
	return out
}

// fall tells which of fewer dots a dot falls into, with which share of it; the
// rest falls into the next.
type fall struct {
	at    int
	share float64
}

// falls lays n dots over the fewer dots m.
func falls(n, m int) []fall {
	out := make([]fall, n)
	for i := range out {
		at := i * m / n
		over := (i+1)*m - (at+1)*n // n-ths of the smaller dot beyond its end
		out[i] = fall{at, 1}
		if over > 0 {
			out[i].share = 1 - float64(over)/float64(m)
		}
	}
	return out
}

// packed writes a photo without see-through dots: as PNG, which keeps flat colours
// small and sharp, or as JPEG where that takes less than half, as with photographs.
func packed(m image.Image) (kind string, data []byte, err error) {
	var sharp, soft bytes.Buffer
	if err := png.Encode(&sharp, m); err != nil {
		return "", nil, fmt.Errorf("it cannot be made smaller: %w", err)
	}
	if sharp.Len() <= plainFile {
		return "PNG", sharp.Bytes(), nil
	}
	if err := jpeg.Encode(&soft, m, &jpeg.Options{Quality: 85}); err != nil {
		return "", nil, fmt.Errorf("it cannot be made smaller: %w", err)
	}
	if soft.Len() < sharp.Len()/2 {
		return "JPEG", soft.Bytes(), nil
	}
	return "PNG", sharp.Bytes(), nil
}
