//go:build browser

package document_test

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/programme/sheet"
)

// TestRenderedProofMeasures renders the proof with pdftoppm (Debian package
// poppler-utils) and measures a transfer of 4 in between the middles of its
// outline: it must be within five thousandths of an inch.
func TestRenderedProofMeasures(t *testing.T) {
	const dpi = 800
	p := proofs(t)[0]
	pdf, _, err := p.PDF()
	require.NoError(t, err)
	page, it := fourInch(t, p.Order)
	file := filepath.Join(t.TempDir(), "proof.pdf")
	require.NoError(t, os.WriteFile(file, pdf, 0o600))
	px := func(mm float64) int { return int(mm / 25.4 * dpi) }
	// A thin band below the label: 12 mm and 24 mm are the proof's edge and head.
	x0, y0 := px(12+it.X.Millimetres()-2), px(24+it.Y.Millimetres()+it.H.Millimetres()*0.85)
	width := px(4*25.4 + 4)
	cmd := exec.Command("pdftoppm", "-gray", "-r", fmt.Sprint(dpi), "-f", fmt.Sprint(page), "-l", fmt.Sprint(page),
		"-x", fmt.Sprint(x0), "-y", fmt.Sprint(y0), "-W", fmt.Sprint(width), "-H", "1", "-singlefile", file, file)
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, string(out))
	pgm, err := os.ReadFile(file + ".pgm")
	require.NoError(t, err)
	row := pgm[bytes.LastIndexByte(pgm[:20], '\n')+1:]
	require.Len(t, row, width)
	left, right := middle(t, row[:px(4)]), float64(width-px(4))+middle(t, row[width-px(4):])
	require.InDelta(t, 4.000, (right-left)/dpi, 0.005)
}

func fourInch(t *testing.T, o *sheet.Order) (page int, it *sheet.Item) {
	t.Helper()
	for i := range o.Layouts {
		for j := range o.Layouts[i].Items {
			if it := &o.Layouts[i].Items[j]; it.W == 4*inch {
				return i + 1, it
			}
		}
	}
	t.Fatal("the fixture has no image of 4 in")
	return 0, nil
}

// middle is the mean place of the dark pixels.
func middle(t *testing.T, row []byte) float64 {
	t.Helper()
	var sum, n float64
	for i, v := range row {
		if v < 128 {
			sum += float64(i)
			n++
		}
	}
	require.Positive(t, n, "no outline found")
	return sum / n
}
