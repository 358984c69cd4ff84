package document

import (
	"strings"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"github.com/stretchr/testify/require"
)

// Names in Hebrew run from right to left inside an English line: Unicode
// Standard Annex 9, rules L2 and N1.
func TestHebrewRunsFromTheRight(t *testing.T) {
	faces := facesOf(t.TempDir())
	set := faces.line("1 × polo, נועה לוי (B7)", 10, false)
	require.Greater(t, len(set.runs), 2)
	var order []int
	for i := range set.runs {
		for _, g := range set.runs[i].Glyphs {
			order = append(order, g.TextIndex())
		}
	}
	text := []rune("1 × polo, נועה לוי (B7)")
	var shown strings.Builder
	for _, i := range order {
		shown.WriteRune(text[i])
	}
	require.Equal(t, "1 × polo, יול העונ (B7)", shown.String())
}

// A line that is set in outlines is as long as its glyphs' advances, which for
// letters of the embedded font are those of the plain line.
func TestOutlinesAreAsLongAsPlainLetters(t *testing.T) {
	p := newPaper(Head{Fonts: t.TempDir()}, "x", fpdf.SizeType{})
	p.AddPage()
	for _, isBold := range []bool{false, true} {
		p.font(11, isBold, inkRGB)
		plain := p.GetStringWidth("Six-panel cap 24")
		set := facesOf(p.fonts).line("Six-panel cap 24", 11, isBold)
		require.InDelta(t, plain, set.width, 0.25)
		require.InDelta(t, plain+facesOf(p.fonts).line(" נועה", 11, isBold).width, p.long("Six-panel cap 24 נועה"), 0.3)
	}
}

func TestLinesWithOtherLettersBreakAtWords(t *testing.T) {
	p := newPaper(Head{Fonts: t.TempDir()}, "x", fpdf.SizeType{})
	p.AddPage()
	p.font(10, false, inkRGB)
	words := strings.TrimSpace(strings.Repeat("polo לוי burgundy ", 12))
	lines := p.lines(words, 60)
	require.Greater(t, len(lines), 4)
	require.Equal(t, words, strings.Join(lines, " "), "nothing is lost at a break")
	for _, l := range lines {
		require.LessOrEqual(t, p.long(l), 60.0)
	}
	cut := p.cut(p.text(words), 60)
	require.True(t, strings.HasSuffix(cut, "…"))
	require.LessOrEqual(t, p.long(cut), 60.0)
}

func TestAFolderWithoutFontsIsSaid(t *testing.T) {
	require.ErrorContains(t, CheckFonts(t.TempDir()), "holds no font file")
	require.Error(t, CheckFonts(t.TempDir()+"/none"))
}
