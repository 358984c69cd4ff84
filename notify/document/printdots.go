package document

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"math"

	"golang.org/x/image/draw"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

const (
	// printDPI is the resolution of a print file of dots, in dots an inch (common practice, no source).
	printDPI = 300
	// perMetre is the same in the unit of a PNG's pHYs chunk (Portable Network
	// Graphics, third edition, 11.3.4.3): over 20 m the rounding is 0.04 mm.
	perMetre = 11811
	// mostDots bounds what is drawn: 22 in by 7.7 m, some minute of work.
	mostDots = 600_000_000
	// bandRows are drawn at a time, so that a long roll does not fill the memory.
	bandRows = 512
	// keptDots bounds the artworks that are kept drawn from band to band.
	keptDots = 64_000_000
)

// PNG draws one layout as dots on a clear ground, at exactly the size of the
// sheet to half a dot (0.05 mm); see PDF for warnings and errors.
func (p *PrintFile) PNG(l *sheet.Layout) (data []byte, warnings []string, err error) {
	if warnings, err = p.read(); err != nil {
		return nil, nil, err
	}
	page := &dotPage{file: p, layout: l, w: dotsOf(l.Width), h: dotsOf(l.Height), drawn: map[drawnAs]*image.RGBA{}}
	if page.w*page.h > mostDots {
		return nil, nil, fmt.Errorf("layout %s has %d million dots at %d an inch, more than the %d million that are drawn; send the PDF, or give the kind a shorter greatest length",
			l.Name, page.w*page.h/1_000_000, printDPI, mostDots/1_000_000)
	}
	page.band = image.NewRGBA(image.Rect(0, 0, page.w, min(bandRows, page.h)))
	page.draw(0)
	var b bytes.Buffer
	enc := png.Encoder{CompressionLevel: png.BestSpeed}
	if err := errors.Join(enc.Encode(&b, page), page.err); err != nil {
		return nil, nil, fmt.Errorf("write the print file: %w", err)
	}
	return withSize(b.Bytes()), warnings, nil
}

// dotsOf is a length in dots.
func dotsOf(l programme.Length) int { return int(math.Round(l.Inches() * printDPI)) }

// withSize puts how large a dot is behind a PNG's header.
func withSize(file []byte) []byte {
	const header = 8 + 12 + 13 // signature, IHDR with its 13 bytes
	chunk := append([]byte{0, 0, 0, 9}, "pHYs"...)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = append(chunk, 1) // per metre
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))
	out := make([]byte, 0, len(file)+len(chunk))
	return append(append(append(out, file[:header]...), chunk...), file[header:]...)
}

// dotPage is a sheet as dots, drawn band after band as its rows are asked for.
type dotPage struct {
	file   *PrintFile
	layout *sheet.Layout
	w, h   int
	band   *image.RGBA
	drawn  map[drawnAs]*image.RGBA
	err    error
}

// drawnAs is an artwork in the way and at the size it lies.
type drawnAs struct {
	code   string
	turned bool
	w, h   int
}

// ColorModel, Bounds, At and Opaque make it an image.
func (*dotPage) ColorModel() color.Model   { return color.RGBAModel }
func (d *dotPage) Bounds() image.Rectangle { return image.Rect(0, 0, d.w, d.h) }
func (*dotPage) Opaque() bool              { return false }

// At draws the band that a dot lies in, if it is not the one in hand.
func (d *dotPage) At(x, y int) color.Color {
	if b := d.band.Rect; y < b.Min.Y || y >= b.Max.Y {
		d.draw(y - y%bandRows)
	}
	if d.file.mirrored {
		x = d.w - 1 - x
	}
	return d.band.RGBAAt(x, y)
}

// draw fills the band that begins at a row.
func (d *dotPage) draw(from int) {
	clear(d.band.Pix)
	d.band.Rect = image.Rect(0, from, d.w, min(d.h, from+bandRows))
	kept := 0
	for _, a := range d.drawn {
		kept += a.Rect.Dx() * a.Rect.Dy()
	}
	if kept > keptDots {
		clear(d.drawn)
	}
	for i := range d.layout.Items {
		it := &d.layout.Items[i]
		place := image.Rect(0, 0, dotsOf(it.W), dotsOf(it.H)).Add(image.Pt(dotsOf(it.X), dotsOf(it.Y)))
		seen := place.Intersect(d.band.Rect)
		if seen.Empty() || d.err != nil {
			continue
		}
		art, err := d.art(it, place.Dx(), place.Dy())
		if err != nil {
			d.err = fmt.Errorf("the picture of %s cannot be drawn: %w", it.Artwork, err)
			continue
		}
		draw.Draw(d.band, seen, art, seen.Min.Sub(place.Min), draw.Src)
	}
}

// art is an artwork drawn at w by h dots as it lies.
func (d *dotPage) art(it *sheet.Item, w, h int) (*image.RGBA, error) {
	key := drawnAs{it.Artwork, it.Turned, w, h}
	if known := d.drawn[key]; known != nil {
		return known, nil
	}
	if it.Turned {
		w, h = h, w
	}
	out, err := d.file.art[it.Artwork].dots(w, h)
	if err != nil {
		return nil, err
	}
	if it.Turned {
		out = quarterTurn(out)
	}
	d.drawn[key] = out
	return out, nil
}

// dots draws an artwork upright in the middle of w by h dots, as large as its
// shape allows.
func (a *artwork) dots(w, h int) (*image.RGBA, error) {
	wide := max(1, min(w, int(math.Round(float64(h)*a.ratio))))
	high := max(1, min(h, int(math.Round(float64(w)/a.ratio))))
	at := image.Rect(0, 0, wide, high).Add(image.Pt((w-wide)/2, (h-high)/2))
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	if a.outlines != nil {
		draw.Draw(out, at, rasterised(a.outlines, wide, high), image.Point{}, draw.Src)
		return out, nil
	}
	src, _, err := image.Decode(bytes.NewReader(a.data))
	if err != nil {
		return nil, fmt.Errorf("it is broken: %w", err)
	}
	if src.Bounds().Size() == at.Size() {
		draw.Draw(out, at, src, src.Bounds().Min, draw.Src)
		return out, nil
	}
	draw.CatmullRom.Scale(out, at, src, src.Bounds(), draw.Src, nil)
	return out, nil
}

// quarterTurn turns dots clockwise.
func quarterTurn(m *image.RGBA) *image.RGBA {
	w, h := m.Rect.Dx(), m.Rect.Dy()
	out := image.NewRGBA(image.Rect(0, 0, h, w))
	for y := range h {
		for x := range w {
			copy(out.Pix[out.PixOffset(h-1-y, x):][:4], m.Pix[m.PixOffset(x, y):][:4])
		}
	}
	return out
}
