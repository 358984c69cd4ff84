package document_test

import (
	"bytes"
	"compress/zlib"
	"io"
	"regexp"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/document"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// TestProofPDFIsTrueToScale reads the rectangles out of the page description:
// PDF counts in points of 1/72 in (ISO 32000-1, 8.3.2.3), so an image of
// 4 by 3 in must be drawn 288 by 216 points large. proofmeasure_test.go
// measures the rendered page.
func TestProofPDFIsTrueToScale(t *testing.T) {
	p := proofs(t)[0]
	drawn := rectangles(t, &p)
	n := 0
	for _, l := range p.Order.Layouts {
		for _, it := range l.Items {
			if it.Artwork == "bakery-chest" && !it.Turned {
				n++
			}
		}
	}
	require.Positive(t, n)
	require.Equal(t, n, drawn["288.00x216.00"])
}

func rectangles(t *testing.T, p *document.Proof) map[string]int {
	t.Helper()
	pdf, _, err := p.PDF()
	require.NoError(t, err)
	re := regexp.MustCompile(`[-\d.]+ [-\d.]+ ([-\d.]+) ([-\d.]+) re`)
	found := map[string]int{}
	for part := range bytes.SplitSeq(pdf, []byte("stream\n")) {
		z, err := zlib.NewReader(bytes.NewReader(part))
		if err != nil {
			continue
		}
		page, err := io.ReadAll(z)
		if err != nil {
			continue
		}
		for _, m := range re.FindAllStringSubmatch(string(page), -1) {
			w, err := strconv.ParseFloat(m[1], 64)
			require.NoError(t, err)
			h, err := strconv.ParseFloat(m[2], 64)
			require.NoError(t, err)
			found[strconv.FormatFloat(max(w, -w), 'f', 2, 64)+"x"+strconv.FormatFloat(max(h, -h), 'f', 2, 64)]++
		}
	}
	return found
}

func TestALongRollIsSplitWithOverlap(t *testing.T) {
	p := proofs(t)[1]
	roll := *p.Order
	l := roll.Layouts[0]
	l.Items = append([]sheet.Item(nil), l.Items...)
	last := l.Items[len(l.Items)-1]
	last.Y += 300 * inch
	l.Items = append(l.Items, last)
	l.Height += 300 * inch
	roll.Layouts = []sheet.Layout{l}
	p.Order = &roll
	svgs, _ := p.SVG()
	require.Len(t, svgs, 3)
	require.Contains(t, string(svgs[0]), "also on the next page")
	require.NotContains(t, string(svgs[0]), "also on the page before")
	require.Contains(t, string(svgs[1]), "also on the page before")
	require.Contains(t, string(svgs[2]), "also on the page before")
	pdf, _, err := p.PDF()
	require.NoError(t, err)
	for _, m := range regexp.MustCompile(`/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]`).FindAllSubmatch(pdf, -1) {
		h, err := strconv.ParseFloat(string(m[2]), 64)
		require.NoError(t, err)
		require.LessOrEqual(t, h, 14400.0, "a PDF page is at most 200 in long")
	}
}
