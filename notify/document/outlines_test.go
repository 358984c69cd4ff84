package document_test

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/programme"
)

// outlined is the proof of the screen-printed order with SVG pictures: a chest
// print and a back that is turned on the sheet where that fits better.
func outlined(t *testing.T, pictures map[string]string) *document.Proof {
	t.Helper()
	p := proofs(t)[0]
	p.Pictures = map[string][]byte{}
	for code, svg := range pictures {
		p.Pictures[code] = []byte(svg)
	}
	return &p
}

func fixture(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("../vector/testdata", name))
	require.NoError(t, err)
	return string(b)
}

func TestSVGPicturesAreDrawnTheSameEveryTime(t *testing.T) {
	p := outlined(t, map[string]string{"bakery-chest": fixture(t, "badge.svg"),
		"garage-chest": fixture(t, "clipped.svg")})
	a, warnings, err := p.PDF()
	require.NoError(t, err)
	require.Len(t, warnings, 1, "the badge is 240 by 160, its artwork 4 by 3 in")
	require.Contains(t, warnings[0],
		"The picture of bakery-chest is 1.50 times as wide as it is high, its artwork 1.33 times")
	b, _, err := p.PDF()
	require.NoError(t, err)
	require.True(t, bytes.Equal(a, b))
	require.Equal(t, 1, bytes.Count(a, []byte("/Subtype /Form")),
		"opaque outlines are written once, see-through ones on the page")
	pages, warned := p.SVG()
	require.Equal(t, warnings, warned)
	for _, page := range pages {
		require.NoError(t, readXML(page))
		require.LessOrEqual(t, bytes.Count(page, []byte("<symbol ")), 2)
	}
}

func TestAnSVGThatCannotBeDrawnAsMeantIsABox(t *testing.T) {
	boxes := rectangles(t, outlined(t, nil))
	p := outlined(t, map[string]string{"bakery-chest": `<svg viewBox="0 0 4 3" xmlns="http://www.w3.org/2000/svg"><text>Crumb</text></svg>`})
	pdf, warnings, err := p.PDF()
	require.NoError(t, err)
	require.NotEmpty(t, pdf)
	require.Equal(t, []string{"The picture of bakery-chest cannot be drawn: line 1: it has text; turn text into outlines. The proof shows a box with its name instead; a PNG of it always works."}, warnings)
	require.Equal(t, boxes, rectangles(t, p), "the same page as without a picture")
}

// TestSVGPicturesKeepTheirShape reads the form's place on the page: a square in
// 3.5 by 3.5 in is 252 points wide (ISO 32000-1, 8.3.2.3: 72 to the inch).
func TestSVGPicturesKeepTheirShape(t *testing.T) {
	p := outlined(t, map[string]string{"garage-chest": `<svg viewBox="0 0 10 10"><rect width="10" height="10"/></svg>`,
		"garage-back": `<svg viewBox="0 0 22 12"><rect width="22" height="12"/></svg>`})
	pdf, warnings, err := p.PDF()
	require.NoError(t, err)
	require.Empty(t, warnings)
	require.Contains(t, string(pdf), "/BBox [0.00 0.00 252.00 252.00]")
	require.Contains(t, string(pdf), "/BBox [0.00 0.00 792.00 432.00]")
}

func TestCheckPicture(t *testing.T) {
	chest := &programme.Artwork{Code: "chest", Width: 6 * inch, Height: 4 * inch}
	require.NoError(t, document.CheckPicture(chest, []byte(fixture(t, "wheel.svg"))))
	whole := testPicture(t)
	require.ErrorContains(t, document.CheckPicture(chest, whole),
		"it is 1.83 times as wide as it is high, its artwork 1.50 times")
	require.ErrorContains(t, document.CheckPicture(chest, whole[:len(whole)/2]), "it is broken")
	require.ErrorContains(t, document.CheckPicture(chest, []byte("GIF89a")),
		"it is neither PNG, JPEG nor SVG; proofs show a box instead")
	require.ErrorContains(t, document.CheckPicture(chest, []byte(`<svg viewBox="0 0 1 1"><image/></svg>`)), "photo")
}

func BenchmarkProofWithOutlines(b *testing.B) {
	badge, err := os.ReadFile("../vector/testdata/badge.svg")
	require.NoError(b, err)
	order := proofs(b)[0]
	for b.Loop() {
		p := document.Proof{Head: order.Head, Ref: order.Ref, Order: order.Order, Kind: order.Kind,
			Pictures: map[string][]byte{"bakery-chest": badge}}
		_, _, err = p.PDF()
		require.NoError(b, err)
	}
}
