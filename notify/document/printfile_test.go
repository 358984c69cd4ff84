package document_test

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// redSquare is art that fills its place, so that its edges can be measured.
const redSquare = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20"><path d="M0 0h40v20h-40z" fill="#ff0000"/></svg>`

func printFile(mirrored bool) (*document.PrintFile, *sheet.Layout) {
	mm := programme.Millimetre
	shop := &programme.Shop{
		Currency: "USD", Units: programme.Millimetres,
		Kinds: []programme.TransferKind{{Code: "film", Mirrored: mirrored}},
		Artworks: []programme.Artwork{{Code: "bun", Client: "bunshop", Kind: "film", Width: 40 * mm, Height: 20 * mm,
			Turn: true}},
	}
	l := sheet.Layout{Name: "A", Copies: 3, Width: 200 * mm, Height: 100 * mm, Items: []sheet.Item{
		{Artwork: "bun", Client: "bunshop", X: 10 * mm, Y: 15 * mm, W: 40 * mm, H: 20 * mm},
		{Artwork: "bun", Client: "bunshop", X: 60 * mm, Y: 50 * mm, W: 20 * mm, H: 40 * mm, Turned: true},
	}}
	o := &sheet.Order{Kind: "film", Printer: "films", Layouts: []sheet.Layout{l}}
	return &document.PrintFile{
		Shop: shop, AsOf: programme.NewDate(2026, 3, 9), Order: o,
		Pictures: map[string][]byte{"bun": []byte(redSquare)},
	}, &o.Layouts[0]
}

// TestThePrintFileIsTheArtAloneAtExactSize looks at the dots that poppler draws:
// the edges of the art lie where the layout has them to 0.1 mm, and nothing
// else is on the page.
func TestThePrintFileIsTheArtAloneAtExactSize(t *testing.T) {
	for _, mirrored := range []bool{false, true} {
		p, l := printFile(mirrored)
		data, warnings, err := p.PDF(l)
		require.NoError(t, err)
		require.Empty(t, warnings)
		require.Regexp(t, `/TrimBox ?\[ ?0(\.0+)? 0(\.0+)? 566\.93 283\.46`, string(data))
		require.NotContains(t, string(data), "/Font <<\n/F")
		dir := t.TempDir()
		file := filepath.Join(dir, "print.pdf")
		require.NoError(t, os.WriteFile(file, data, 0o600))
		text, err := exec.CommandContext(t.Context(), "pdftotext", file, "-").Output()
		require.NoError(t, err)
		require.Empty(t, strings.TrimSpace(string(text)))
		const dpi = 508 // 20 dots a millimetre
		page := asDots(t, data)
		require.InDelta(t, 200*dpi/25.4, page.Bounds().Dx(), 2)
		require.InDelta(t, 100*dpi/25.4, page.Bounds().Dy(), 2)
		for _, it := range l.Items {
			x := it.X.Millimetres()
			if mirrored {
				x = 200 - x - it.W.Millimetres()
			}
			inside(t, page, x, it.Y.Millimetres(), it.W.Millimetres(), it.H.Millimetres())
		}
		require.InDelta(t, 2*800*400, float64(inked(page)), 2*2*(800+400)*2, "only the art is printed")
	}
}

// inside checks that the art reaches to within 0.1 mm of its edges and not beyond.
func inside(t *testing.T, page image.Image, x, y, w, h float64) {
	t.Helper()
	red := func(x, y float64) bool {
		r, g, _, _ := page.At(int(x*20), int(y*20)).RGBA()
		return r > 0xc000 && g < 0x4000
	}
	const near = 0.1
	for _, c := range [][2]float64{{x + near, y + near}, {x + w - near, y + near}, {x + near, y + h - near},
		{x + w - near, y + h - near}} {
		require.True(t, red(c[0], c[1]), "%v", c)
	}
	for _, c := range [][2]float64{{x - near, y + h/2}, {x + w + near, y + h/2}, {x + w/2, y - near},
		{x + w/2, y + h + near}} {
		require.False(t, red(c[0], c[1]), "%v", c)
	}
}

func inked(page image.Image) (n int) {
	for y := range page.Bounds().Dy() {
		for x := range page.Bounds().Dx() {
			if _, g, _, _ := page.At(x, y).RGBA(); g < 0x8000 {
				n++
			}
		}
	}
	return n
}

// TestCoarsePicturesAreSaidOrRefused: 40 mm are 1.575 in, so 300 dpi are 473 dots.
func TestCoarsePicturesAreSaidOrRefused(t *testing.T) {
	dots := func(w int) []byte {
		img := image.NewNRGBA(image.Rect(0, 0, w, w/2))
		img.Set(1, 1, color.NRGBA{255, 0, 0, 255})
		var b bytes.Buffer
		require.NoError(t, png.Encode(&b, img))
		return b.Bytes()
	}
	p, l := printFile(false)
	p.Pictures["bun"] = dots(480)
	_, warnings, err := p.PDF(l)
	require.NoError(t, err)
	require.Empty(t, warnings)
	p.Pictures["bun"] = dots(320)
	_, warnings, err = p.PDF(l)
	require.NoError(t, err)
	require.Len(t, warnings, 1)
	require.Contains(t, warnings[0], "203 dots an inch")
	p.Pictures["bun"] = dots(160)
	_, _, err = p.PDF(l)
	require.ErrorContains(t, err, "102 dots an inch")
	p.Shop.Artworks[0].CoarseAllowed = true
	_, warnings, err = p.PDF(l)
	require.NoError(t, err)
	require.Len(t, warnings, 1)
	delete(p.Pictures, "bun")
	_, _, err = p.PDF(l)
	require.EqualError(t, err, "bun cannot go into a print file: there is no picture; name its file in shop.yaml",
		"all without one are named in one line")
}

func TestPrintFilesAreNamedByTheShopsRule(t *testing.T) {
	p, l := printFile(false)
	require.Equal(t, "film-a-200mmx100mm-x3.pdf", document.PrintFileName(p.Shop, p.Order, l, p.AsOf, document.PrintPDF))
	p.Shop.PrintFileName = "{printer} {date} {sheet} {copies}"
	require.Equal(t, "films-2026-03-09-a-3.png", document.PrintFileName(p.Shop, p.Order, l, p.AsOf, document.PrintPNG))
}

// TestProofAndPrintFileAgree lays the dots of both over each other as poppler
// draws them: what the shop cuts by is what the printer prints, to 0.1 mm.
func TestProofAndPrintFileAgree(t *testing.T) {
	p, l := printFile(false)
	p.Order.Cut, p.Order.Gutter, p.Order.Margin = programme.Trimmer, programme.Millimetre, programme.Millimetre
	art, _, err := p.PDF(l)
	require.NoError(t, err)
	proof := document.Proof{Head: document.NewHead(p.Shop, "", p.AsOf), Order: p.Order, Kind: "film",
		Pictures: p.Pictures}
	drawn, _, err := proof.PDF()
	require.NoError(t, err)
	printed, shown := asDots(t, art), asDots(t, drawn)
	const edge, head = 12.0, 24.0 // of the proof's page around the sheet
	const dots = 20.0             // a millimetre
	isRed := func(img image.Image, x, y float64) bool {
		r, g, b, _ := img.At(int(x*dots), int(y*dots)).RGBA()
		return r > 0xc000 && g < 0x6000 && b < 0x6000
	}
	// The proof draws an outline of 0.25 mm over each edge, so its red ends half of that inside.
	const outline = 0.125
	// reach is how far from the middle of an image red goes on, along the way that
	// the proof writes nothing over.
	reach := func(img image.Image, cx, cy, w, h, ux, uy float64) (most float64) {
		for part := -0.4; part <= 0.4; part += 0.1 {
			x, y, way := cx+part*w*uy*uy, cy+part*h*ux*ux, 0.0
			for isRed(img, x+way*ux, y+way*uy) {
				way += 1 / dots
			}
			most = max(most, way)
		}
		return most
	}
	dark := func(x, y float64) bool {
		r, g, b, _ := shown.At(int((x+edge)*dots), int((y+head)*dots)).RGBA()
		return max(r, g, b) < 0x6000
	}
	for _, it := range l.Items {
		w, h := it.W.Millimetres(), it.H.Millimetres()
		cx, cy := it.X.Millimetres()+w/2, it.Y.Millimetres()+h/2
		foot := [2]float64{0, 1}
		if it.Turned {
			foot = [2]float64{-1, 0}
		}
		for _, u := range [][2]float64{{-1, 0}, {1, 0}, {0, -1}, {0, 1}} {
			want := math.Abs(u[0])*w/2 + math.Abs(u[1])*h/2
			require.InDelta(t, want, reach(printed, cx, cy, w, h, u[0], u[1]), 0.1)
			if u == foot { // what it is stands along this edge: look at the outline instead
				require.True(t, dark(cx+u[0]*w/2-u[1]*w/4, cy+u[1]*h/2+u[0]*h/4), "the outline of %v", it)
				require.False(t, dark(cx+u[0]*(w/2+0.25)-u[1]*w/4, cy+u[1]*(h/2+0.25)+u[0]*h/4),
					"the outline of %v", it)
				continue
			}
			require.InDelta(t, want, reach(shown, cx+edge, cy+head, w, h, u[0], u[1])+outline, 0.1,
				"towards %v of %v", u, it)
		}
	}
}

// asDots is a page as poppler draws it, 20 dots a millimetre.
func asDots(t *testing.T, pdf []byte) image.Image {
	t.Helper()
	dir := t.TempDir()
	file := filepath.Join(dir, "page.pdf")
	require.NoError(t, os.WriteFile(file, pdf, 0o600))
	require.NoError(t, exec.CommandContext(t.Context(), "pdftoppm", "-png", "-r", "508", "-singlefile", file,
		filepath.Join(dir, "page")).Run())
	f, err := os.Open(filepath.Join(dir, "page.png"))
	require.NoError(t, err)
	defer f.Close()
	page, err := png.Decode(f)
	require.NoError(t, err)
	return page
}
