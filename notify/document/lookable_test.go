package document

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"
)

// noise is a picture that nothing packs: every dot is drawn at random.
func noise(w, h int, alpha bool) *image.NRGBA {
	rng := rand.New(rand.NewPCG(5, 8))
	m := image.NewNRGBA(image.Rect(0, 0, w, h))
	for i := range m.Pix {
		m.Pix[i] = uint8(rng.Uint32())
		if i%4 == 3 && !alpha {
			m.Pix[i] = 255
		}
	}
	return m
}

// Every dot of a smaller picture is the mean of what it covers: compared with both
// pictures cut into pieces so small that none belongs to two dots.
func TestASmallerPictureIsTheMeanOfTheLarger(t *testing.T) {
	ground := color.RGBA{R: 214, G: 219, B: 222, A: 255}
	for _, c := range []struct{ w, h, to, high int }{{8, 6, 4, 3}, {7, 5, 3, 2}, {9, 4, 9, 3}, {10, 11, 7, 11},
		{5, 5, 1, 1}, {4, 4, 4, 4}, {31, 1, 30, 1}} {
		src := noise(c.w, c.h, true)
		got := averaged(src, c.to, c.high, ground)
		require.Equal(t, image.Rect(0, 0, c.to, c.high), got.Rect)
		for y := range c.high {
			for x := range c.to {
				var sum [3]float64
				for j := range c.h { // the dot is c.w by c.h pieces large, those of src c.to by c.high
					for i := range c.w {
						p := src.NRGBAAt((x*c.w+i)/c.to, (y*c.h+j)/c.high)
						over := func(v, under uint8) float64 {
							return (float64(v)*float64(p.A) + float64(under)*float64(255-p.A)) / 255
						}
						sum[0] += over(p.R, ground.R)
						sum[1] += over(p.G, ground.G)
						sum[2] += over(p.B, ground.B)
					}
				}
				dot := got.RGBAAt(x, y)
				for i, v := range []uint8{dot.R, dot.G, dot.B} {
					// two roundings
					require.InDelta(t, sum[i]/float64(c.w*c.h), float64(v), 1.51, "%v: dot %d, %d", c, x, y)
				}
				require.Equal(t, uint8(255), dot.A)
			}
		}
	}
}

func encoded(t *testing.T, m image.Image, kind string) *artwork {
	t.Helper()
	var b bytes.Buffer
	if kind == "JPEG" {
		require.NoError(t, jpeg.Encode(&b, m, &jpeg.Options{Quality: 95}))
	} else {
		require.NoError(t, (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&b, m))
	}
	a, err := readArtwork("a", b.Bytes())
	require.NoError(t, err)
	return a
}

func TestAProofShowsNoMoreDotsThanAreLookedAt(t *testing.T) {
	flat := image.NewPaletted(image.Rect(0, 0, 1200, 900), color.Palette{color.White, color.Black})
	for x := 300; x < 900; x++ {
		for y := 300; y < 600; y++ {
			flat.SetColorIndex(x, y, 1)
		}
	}
	for _, c := range []struct {
		name       string
		of         *artwork
		w, h       float64 // inches
		kind       string
		wide, high int
		most       int // bytes
	}{
		{"a photograph at 300 dots an inch", encoded(t, noise(1200, 900, false), "PNG"), 4, 3, "JPEG", 600,
			450, 450_000},
		{"one from a camera", encoded(t, noise(1200, 900, false), "JPEG"), 2.4, 1.8, "JPEG", 360, 270, 120_000},
		{"see-through", encoded(t, noise(1200, 900, true), "PNG"), 4, 3, "JPEG", 600, 450, 450_000},
		{"flat colours stay sharp", encoded(t, flat, "PNG"), 4, 3, "PNG", 600, 450, 5_000},
		{"of another shape than its artwork", encoded(t, noise(900, 900, false), "PNG"), 4, 1, "JPEG", 600,
			150, 150_000},
		{"few dots in a large file", encoded(t, noise(600, 450, false), "PNG"), 4, 3, "JPEG", 600, 450, 450_000},
		{"few dots in a small file", encoded(t, noise(200, 150, false), "PNG"), 4, 3, "PNG", 200, 150, 130_000},
	} {
		got, err := c.of.lookable(c.w, c.h)
		require.NoError(t, err, c.name)
		m, kind, err := image.DecodeConfig(bytes.NewReader(got.data))
		require.NoError(t, err, c.name)
		require.Equal(t, map[string]string{"JPEG": "jpeg", "PNG": "png"}[c.kind], kind, c.name)
		require.Equal(t, c.kind, got.kind, c.name)
		require.Equal(t, []int{c.wide, c.high}, []int{m.Width, m.Height}, c.name)
		require.LessOrEqual(t, len(got.data), c.most, c.name)
		require.Equal(t, c.of.pale(), got.pale(), "%s: what lies behind it is said as before", c.name)
		require.InDelta(t, c.of.ratio, got.ratio, 0, c.name)
	}
	torn := encoded(t, flat, "PNG")
	torn.data = torn.data[:len(torn.data)/2]
	_, err := torn.lookable(4, 3)
	require.ErrorContains(t, err, "it is broken: ")
}

// BenchmarkLargestPhotoMadeSmaller shows what a sheet-wide picture costs a round.
func BenchmarkLargestPhotoMadeSmaller(b *testing.B) {
	var data bytes.Buffer
	require.NoError(b, (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&data, noise(5800, 5800, false)))
	a, err := readArtwork("a", data.Bytes())
	require.NoError(b, err)
	b.ReportAllocs()
	for b.Loop() {
		_, err := a.lookable(19, 19)
		require.NoError(b, err)
	}
}
