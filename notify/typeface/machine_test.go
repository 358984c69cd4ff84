//go:build browser

package typeface

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// With the fonts of this machine (.ci/run installs Noto) every script that a
// roster may carry is drawn: lam and alef join into one glyph (The Unicode
// Standard 15, 9.2), a Devanagari cluster is reordered and joined (12.1).
func TestScriptsAreShapedWithTheFontsOfTheMachine(t *testing.T) {
	faces := Of("")
	for _, c := range []struct {
		name, text string
		fewer      bool // glyphs than letters
	}{
		{"Chinese", "王小明", false}, {"Hebrew", "נועה לוי", false}, {"Arabic", "سلام", true},
		{"Devanagari", "क्षितिज", true}, {"Greek and Latin", "Ελένη Çelik", false},
	} {
		for _, r := range c.text {
			require.True(t, faces.Shows(r), "%s: %c", c.name, r)
		}
		glyphs := 0
		for _, run := range faces.Set(c.text, 12, false).runs {
			for _, g := range run.Glyphs {
				require.NotZero(t, g.GlyphID, c.name)
			}
			glyphs += len(run.Glyphs)
		}
		if c.fewer {
			require.Less(t, glyphs, len([]rune(c.text)), c.name)
		} else {
			require.Equal(t, len([]rune(c.text)), glyphs, c.name)
		}
	}
}
