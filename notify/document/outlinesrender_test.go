//go:build browser

package document_test

import (
	"fmt"
	"image"
	_ "image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// renderDPI is fine enough to see a tenth of a millimetre.
const renderDPI = 150

// oneArtwork is a proof of a single picture of so many inches.
func oneArtwork(svg string, w, h int, turned bool) *document.Proof {
	it := sheet.Item{Artwork: "a", Client: "c", X: inch, Y: inch, W: programme.Length(w) * inch,
		H: programme.Length(h) * inch, Turned: turned}
	if turned {
		it.W, it.H = it.H, it.W
	}
	return &document.Proof{
		Head: document.Head{Shop: "Harbour Street Decorating", Units: programme.Inches}, Ref: "one picture",
		Kind:     "Film",
		Pictures: map[string][]byte{"a": []byte(svg)},
		Order: &sheet.Order{Sheet: programme.SheetSize{Code: "s"}, Gutter: inch, Margin: inch, Cut: programme.Scissors,
			Layouts: []sheet.Layout{{Name: "A", Copies: 1, Width: 10 * inch, Height: 10 * inch,
				Items: []sheet.Item{it}}}},
	}
}

// rendered is the picture's place on the proof, as pdftoppm (Debian package
// poppler-utils) draws it. 12 mm and 24 mm are the proof's edge and head.
func rendered(t *testing.T, p *document.Proof) image.Image {
	t.Helper()
	pdf, warnings, err := p.PDF()
	require.NoError(t, err)
	require.Empty(t, warnings)
	file := filepath.Join(t.TempDir(), "proof.pdf")
	require.NoError(t, os.WriteFile(file, pdf, 0o600))
	it := p.Order.Layouts[0].Items[0]
	px := func(mm float64) string { return fmt.Sprint(int(math.Round(mm / 25.4 * renderDPI))) }
	out, err := exec.Command("pdftoppm", "-png", "-r", fmt.Sprint(renderDPI), "-x", px(12+it.X.Millimetres()), "-y",
		px(24+it.Y.Millimetres()),
		"-W", px(it.W.Millimetres()), "-H", px(it.H.Millimetres()), "-singlefile", file, file).CombinedOutput()
	require.NoError(t, err, string(out))
	return decode(t, file+".png")
}

func decode(t *testing.T, file string) image.Image {
	t.Helper()
	f, err := os.Open(file)
	require.NoError(t, err)
	defer f.Close()
	m, _, err := image.Decode(f)
	require.NoError(t, err)
	return m
}

// browsed is the file itself as a browser draws it in the same place, on a
// ground of that colour.
func browsed(t *testing.T, svg string, w, h int, ground string) image.Image {
	t.Helper()
	dir := t.TempDir()
	page, shot := filepath.Join(dir, "page.html"), filepath.Join(dir, "shot.png")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "a.svg"), []byte(svg), 0o600))
	require.NoError(t, os.WriteFile(page, fmt.Appendf(nil,
		`<!DOCTYPE html><body style="margin:0;background:%s"><img src="a.svg" width="%d" height="%d">`, ground,
		w*renderDPI, h*renderDPI), 0o600))
	_, err := exec.Command("chromium", "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic",
		"--no-first-run", "--disable-background-networking",
		"--disable-component-update", "--disable-sync", "--hide-scrollbars", "--user-data-dir="+dir,
		fmt.Sprintf("--window-size=%d,%d", w*renderDPI, h*renderDPI), "--screenshot="+shot, "file://"+page).Output()
	require.NoError(t, err, "this test needs a Chromium browser (Debian package chromium)")
	return decode(t, shot)
}

// away reports whether a dot is clear of what the proof writes over pictures:
// the caption at the lower edge, the outline, and the mark at the top.
func away(x, y, w, h int) bool {
	edge := max(6, w/25)
	return x > edge && y > edge && x < w-edge && y < h-edge
}

// TestOutlinesLookAsABrowserShowsThem compares dot by dot with a browser: an
// SVG reader and a painter that have nothing in common with ours.
func TestOutlinesLookAsABrowserShowsThem(t *testing.T) {
	for _, c := range []struct {
		file   string
		w, h   int
		ground string // grey where a picture has ink as pale as paper
	}{{"badge.svg", 6, 4, "#d6dbde"}, {"wheel.svg", 6, 4, "#fff"}, {"clipped.svg", 4, 4, "#fff"}} {
		t.Run(c.file, func(t *testing.T) {
			svg := fixture(t, c.file)
			want, got := browsed(t, svg, c.w, c.h, c.ground), rendered(t, oneArtwork(svg, c.w, c.h, false))
			require.Less(t, apart(want, got, func(x, y int) (int, int) { return x, y }), 0.004)
			turned := rendered(t, oneArtwork(svg, c.w, c.h, true))
			wide := turned.Bounds().Dx()
			require.Less(t, apart(want, turned, func(x, y int) (int, int) { return wide - 1 - y, x }), 0.004)
		})
	}
}

// apart is the share of dots that differ by more than a tenth in any colour;
// along edges, where both blend, some do. at finds a dot of the first picture
// in the second.
func apart(a, b image.Image, at func(x, y int) (int, int)) float64 {
	n, differ := 0, 0
	w, h := a.Bounds().Dx(), a.Bounds().Dy()
	for y := range h {
		for x := range w {
			if !away(x, y, w, h) {
				continue
			}
			n++
			r0, g0, b0, _ := a.At(x, y).RGBA()
			bx, by := at(x, y)
			r1, g1, b1, _ := b.At(bx, by).RGBA()
			if d := max(off(r0, r1), off(g0, g1), off(b0, b1)); d > 0.1 && !edge(a, x, y) {
				differ++
			}
		}
	}
	return float64(differ) / float64(n)
}

func off(a, b uint32) float64 { return math.Abs(float64(a)-float64(b)) / 0xffff }

// edge is true next to where the colour changes.
func edge(m image.Image, x, y int) bool {
	r0, g0, b0, _ := m.At(x, y).RGBA()
	for _, d := range [][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}} {
		r, g, b, _ := m.At(x+d[0], y+d[1]).RGBA()
		if max(off(r0, r), off(g0, g), off(b0, b)) > 0.05 {
			return true
		}
	}
	return false
}

// TestOutlinesMeasureOnPaper counts the dots of shapes whose size is known.
func TestOutlinesMeasureOnPaper(t *testing.T) {
	for _, c := range []struct {
		name, shape string
		want        float64 // square inches
	}{
		{"a disc of 1 in across", `<circle cx="1" cy=".85" r=".5"/>`, math.Pi / 4},
		{"a square of 1 in", `<rect x=".5" y=".4" width="1" height="1"/>`, 1},
		{"a ring of ¼ in", `<circle cx="1" cy=".85" r=".4" fill="none" stroke="#000" stroke-width=".25"/>`,
			math.Pi * (0.525*0.525 - 0.275*0.275)},
		{"a bar whose square ends reach over by half its width",
			`<path d="M.6 1h1" stroke="#000" stroke-width=".2" stroke-linecap="square"/>`, 0.24},
		{"a corner sharp to its point", `<path d="M.5 1.2V.5H1.2" fill="none" stroke="#000" stroke-width=".2"/>`,
			0.2*0.8 + 0.2*0.6},
		{"a square with a square hole", `<path fill-rule="evenodd" d="M.5.4h1v1h-1zM.7.6h.6v.6h-.6z"/>`, 0.64},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := rendered(t, oneArtwork(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 6 4">`+c.shape+`</svg>`,
				6, 4, false))
			dark := 0.0
			for y := range m.Bounds().Dy() {
				for x := range m.Bounds().Dx() {
					if r, _, _, _ := m.At(x, y).RGBA(); away(x, y, m.Bounds().Dx(), m.Bounds().Dy()) {
						dark += 1 - float64(r)/0xffff
					}
				}
			}
			require.InEpsilon(t, c.want, dark/renderDPI/renderDPI, 0.006)
		})
	}
}
