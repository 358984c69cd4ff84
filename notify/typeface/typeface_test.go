package typeface

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// Names in Hebrew run from right to left inside an English line: Unicode
// Standard Annex 9, rules L2 and N1.
func TestHebrewRunsFromTheRight(t *testing.T) {
	faces := Of(t.TempDir())
	set := faces.Set("1 × polo, נועה לוי (B7)", 10, false)
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

func TestAFolderWithoutFontsIsSaid(t *testing.T) {
	require.ErrorContains(t, CheckFolder(t.TempDir()), "holds no font file")
	require.Error(t, CheckFolder(t.TempDir()+"/none"))
}
