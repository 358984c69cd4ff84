package document_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/programme"
)

// TestDotsOfAPrintFile measures the PNG: its size by what its header says of a dot
// (pHYs), its edges to 0.1 mm, and that the ground lets through what it lies on.
func TestDotsOfAPrintFile(t *testing.T) {
	for _, mirrored := range []bool{false, true} {
		p, l := printFile(mirrored)
		data, warnings, err := p.PNG(l)
		require.NoError(t, err)
		require.Empty(t, warnings)
		at := bytes.Index(data, []byte("pHYs"))
		require.Equal(t, 37, at, "behind the header, before the dots")
		metre := float64(binary.BigEndian.Uint32(data[at+4:]))
		page, err := png.Decode(bytes.NewReader(data))
		require.NoError(t, err)
		require.InDelta(t, 200, float64(page.Bounds().Dx())/metre*1000, 0.05)
		require.InDelta(t, 100, float64(page.Bounds().Dy())/metre*1000, 0.05)
		covers := func(x, y float64) bool {
			_, _, _, a := page.At(int(x/1000*metre), int(y/1000*metre)).RGBA()
			return a > 0x8000
		}
		for _, it := range l.Items {
			x, y, w, h := it.X.Millimetres(), it.Y.Millimetres(), it.W.Millimetres(), it.H.Millimetres()
			if mirrored {
				x = 200 - x - w
			}
			const near = 0.1
			for _, c := range [][2]float64{{x + near, y + near}, {x + w - near, y + h - near}} {
				require.True(t, covers(c[0], c[1]), "%v", c)
				require.Equal(t, color.NRGBA{255, 0, 0, 255}, page.At(int(c[0]/1000*metre), int(c[1]/1000*metre)))
			}
			for _, c := range [][2]float64{{x - near, y + h/2}, {x + w + near, y + h/2}, {x + w/2, y - near},
				{x + w/2, y + h + near}} {
				require.False(t, covers(c[0], c[1]), "%v", c)
			}
		}
		clear := 0
		for y := range page.Bounds().Dy() {
			for x := range page.Bounds().Dx() {
				if page.At(x, y) == (color.NRGBA{}) {
					clear++
				}
			}
		}
		all := float64(page.Bounds().Dx() * page.Bounds().Dy())
		require.InDelta(t, 1-2*40*20/(200.0*100), float64(clear)/all, 0.001, "the ground is clear and nothing else")
	}
}

// TestDotsAreDrawnAsPopplerDrawsTheOutlines compares whole pictures: fills of both
// rules, strokes with every end and corner, dashes, clips and see-through inks.
// Poppler (Debian package poppler-utils) draws the PDF print file on white.
func TestDotsAreDrawnAsPopplerDrawsTheOutlines(t *testing.T) {
	for name, body := range map[string]string{
		"rules":   `<path d="M5 2h30v16h-30zM10 5h20v10h-20z" fill-rule="evenodd" fill="#0a5"/><path d="M15 7h6v6h-6zM17 8h2v4h-2z" fill="#a05"/>`,
		"strokes": `<g fill="none" stroke="#135" stroke-width="2"><path d="M4 15 10 5 16 15" stroke-linejoin="miter"/><path d="M20 15 24 5 28 15" stroke-linejoin="round" stroke-linecap="round"/><path d="M31 15 34 5 37 15" stroke-linejoin="bevel" stroke-linecap="square"/></g>`,
		"closed":  `<path d="M6 4h12v12h-12z" fill="none" stroke="#c30" stroke-width="3"/><circle cx="29" cy="10" r="6" fill="#fc0" stroke="#000" stroke-width="1.5"/>`,
		"dashes":  `<path d="M3 4C12 20 28 -8 37 12" fill="none" stroke="#000" stroke-width="1.5" stroke-dasharray="4 2" stroke-dashoffset="1"/>`,
		"clipped": `<clipPath id="c"><circle cx="20" cy="10" r="8"/></clipPath><path d="M0 0h40v12h-40z" fill="#07c" clip-path="url(#c)"/>`,
		"faint":   `<path d="M4 4h20v12h-20z" fill="#f00" fill-opacity=".5"/><path d="M14 2h20v10h-20z" fill="#00f" fill-opacity=".5"/>`,
	} {
		t.Run(name, func(t *testing.T) {
			p, l := printFile(false)
			p.Pictures["bun"] = []byte(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20">` + body + `</svg>`)
			mm := programme.Millimetre
			l.Width, l.Height = 64*mm, 42*mm
			l.Items[0].X, l.Items[0].Y, l.Items[1].X, l.Items[1].Y = mm, mm, 43*mm, mm
			dots, _, err := p.PNG(l)
			require.NoError(t, err)
			ours, err := png.Decode(bytes.NewReader(dots))
			require.NoError(t, err)
			pdf, _, err := p.PDF(l)
			require.NoError(t, err)
			file := filepath.Join(t.TempDir(), "print.pdf")
			require.NoError(t, os.WriteFile(file, pdf, 0o600))
			require.NoError(t, exec.CommandContext(t.Context(), "pdftoppm", "-png", "-r", "300", "-singlefile", file,
				file).Run())
			drawn, err := os.ReadFile(file + ".png")
			require.NoError(t, err)
			theirs, err := png.Decode(bytes.NewReader(drawn))
			require.NoError(t, err)
			require.InDelta(t, theirs.Bounds().Dx(), ours.Bounds().Dx(), 1)
			require.Less(t, farOff(ours, theirs), 0.002)
		})
	}
}

// farOff is the share of inked dots whose colour is not near: the two lay edges up
// to two dots apart.
func farOff(ours, theirs image.Image) float64 {
	const reach = 2
	b := ours.Bounds().Intersect(theirs.Bounds()).Inset(reach)
	off, inked := 0, 0
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			want := theirs.At(x, y)
			if r, g, bl, _ := want.RGBA(); min(r, g, bl) < 0xf000 {
				inked++
			}
			if !nearby(ours, x, y, reach, want) {
				off++
			}
		}
	}
	return float64(off) / float64(inked)
}

func nearby(m image.Image, x, y, reach int, want color.Color) bool {
	for dy := -reach; dy <= reach; dy++ {
		for dx := -reach; dx <= reach; dx++ {
			if unlike(onWhite(m.At(x+dx, y+dy)), want) < 0.25 {
				return true
			}
		}
	}
	return false
}

func onWhite(c color.Color) color.Color {
	r, g, b, a := c.RGBA()
	white := 0xffff - a
	return color.RGBA64{uint16(r + white), uint16(g + white), uint16(b + white), 0xffff}
}

func unlike(a, b color.Color) float64 {
	ar, ag, ab, _ := a.RGBA()
	br, bg, bb, _ := b.RGBA()
	d := func(x, y uint32) float64 { return math.Abs(float64(x)-float64(y)) / 0xffff }
	return max(d(ar, br), d(ag, bg), d(ab, bb))
}

// TestPhotosGoIntoTheDotsAsTheyAre: one of exactly 300 dots an inch keeps each of
// its dots, see-through ones too.
func TestPhotosGoIntoTheDotsAsTheyAre(t *testing.T) {
	p, l := printFile(false)
	inch := programme.Inch
	p.Shop.Artworks[0].Width, p.Shop.Artworks[0].Height = inch, inch/2
	for i := range l.Items {
		it := &l.Items[i]
		it.X, it.Y, it.W, it.H = inch*programme.Length(1+i), inch, inch, inch/2
		if it.Turned {
			it.W, it.H = it.H, it.W
		}
	}
	photo := image.NewNRGBA(image.Rect(0, 0, 300, 150))
	for y := range 150 {
		for x := range 300 {
			photo.Set(x, y, color.NRGBA{uint8(x), uint8(y), 77, []uint8{0, 255}[(x/10+y/10)%2]})
		}
	}
	var b bytes.Buffer
	require.NoError(t, png.Encode(&b, photo))
	p.Pictures["bun"] = b.Bytes()
	data, warnings, err := p.PNG(l)
	require.NoError(t, err)
	require.Empty(t, warnings)
	page, err := png.Decode(bytes.NewReader(data))
	require.NoError(t, err)
	for y := 5; y < 150; y += 10 {
		for x := 5; x < 300; x += 10 {
			want := photo.NRGBAAt(x, y)
			if want.A == 0 {
				want = color.NRGBA{}
			}
			require.Equal(t, want, page.At(300+x, 300+y), "%d %d", x, y)
			require.Equal(t, want, page.At(600+149-y, 300+x), "turned clockwise: %d %d", x, y)
		}
	}
}

// TestARollTooLongForDotsIsRefused before anything is drawn.
func TestARollTooLongForDotsIsRefused(t *testing.T) {
	p, l := printFile(false)
	l.Width, l.Height = 22*programme.Inch, 20_000*programme.Millimetre
	_, _, err := p.PNG(l)
	require.ErrorContains(t, err, "send the PDF")
}

// TestTheFormOfAPrintFile: PDF, or PNG where the kind or whoever asks wants it.
func TestTheFormOfAPrintFile(t *testing.T) {
	p, l := printFile(false)
	for _, c := range []struct {
		dots, png bool
		want      document.PrintKind
	}{{false, false, document.PrintPDF}, {true, false, document.PrintPNG}, {false, true, document.PrintPNG}} {
		p.Dots = c.dots
		p.Shop.Kinds = []programme.TransferKind{{Code: "film", PrintPNG: c.png}}
		files, _, err := p.Files()
		require.NoError(t, err)
		require.Len(t, files, 1)
		require.Equal(t, document.PrintFileName(p.Shop, p.Order, l, p.AsOf, c.want), files[0].Name)
		require.Equal(t, c.want.Type(), files[0].Type)
		require.Contains(t, string(files[0].Data[:8]),
			map[document.PrintKind]string{".pdf": "%PDF", ".png": "PNG"}[c.want], fmt.Sprint(c))
	}
}
