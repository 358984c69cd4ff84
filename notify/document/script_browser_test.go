//go:build browser

package document

import (
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"github.com/stretchr/testify/require"
)

// The outlines stand where poppler draws them: the page has ink there.
func TestScriptsReachThePage(t *testing.T) {
	p := newPaper(Head{Shop: "Millbrook", Client: "王小明"}, "Names", fpdf.SizeType{})
	p.letterhead(Head{Shop: "Millbrook", Client: "王小明"}, "سلام and क्षितिज")
	for _, s := range []string{"1 × polo, burgundy, XL for נועה לוי (B7)", "2 × tee, navy for 王小明; swap one for one",
		"क्षितिज शर्मा, محمد علي"} {
		p.para(s, 12, false, inkRGB)
		p.para(s, 12, true, markRGB)
	}
	data, warnings, err := p.finish("names", "foot")
	require.NoError(t, err)
	require.Empty(t, warnings)
	dir := t.TempDir()
	if keep := os.Getenv("KITMUSTER_PICTURES"); keep != "" {
		dir = keep
	}
	file := filepath.Join(dir, "names.pdf")
	require.NoError(t, os.WriteFile(file, data, 0o600))
	out, err := exec.Command("pdftoppm", "-r", "100", "-png", file, filepath.Join(dir, "names")).CombinedOutput()
	require.NoError(t, err, string(out))
	picture, err := os.Open(filepath.Join(dir, "names-1.png"))
	require.NoError(t, err)
	defer func() { require.NoError(t, picture.Close()) }()
	page, err := png.Decode(picture)
	require.NoError(t, err)
	dark := 0
	for x := 740; x < 790; x++ { // where the client's name ends, right of the letterhead
		for y := 62; y < 82; y++ {
			if v, _, _, _ := page.At(x, y).RGBA(); v < 0xc000 {
				dark++
			}
		}
	}
	require.Greater(t, dark, 60, "three Chinese letters at 9 points")
}
