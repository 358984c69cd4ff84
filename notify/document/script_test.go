package document

import (
	"strings"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"github.com/stretchr/testify/require"

	"github.com/kitmuster/kitmuster/notify/typeface"
)

// A line that is set in outlines is as long as its glyphs' advances, which for
// letters of the embedded font are those of the plain line.
func TestOutlinesAreAsLongAsPlainLetters(t *testing.T) {
	p := newPaper(Head{Fonts: t.TempDir()}, "x", fpdf.SizeType{})
	p.AddPage()
	for _, isBold := range []bool{false, true} {
		p.font(11, isBold, inkRGB)
		plain := p.GetStringWidth("Six-panel cap 24")
		set := typeface.Of(p.fonts).Set("Six-panel cap 24", 11, isBold)
		require.InDelta(t, plain, set.Width, 0.25)
		require.InDelta(t, plain+typeface.Of(p.fonts).Set(" נועה", 11, isBold).Width,
			p.long("Six-panel cap 24 נועה"), 0.3)
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
