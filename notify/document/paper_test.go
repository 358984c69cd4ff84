package document

import (
	"strings"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"github.com/stretchr/testify/require"
)

// A bag tag that lost its size would send the wrong shirt.
func TestAPieceOnATagKeepsItsSize(t *testing.T) {
	p := newPaper(Head{}, "tags", fpdf.SizeType{Wd: 215.9, Ht: 279.4})
	p.AddPage()
	const room = 60.0
	p.font(leastSize, false, inkRGB)
	for _, s := range []string{
		"1 × Crew tee, black, M",
		"1 × Polyester/cotton polo, burgundy, 3XL",
		"12 × Long-sleeved performance polyester work shirt with two pockets, midnight blue, 2XL tall",
	} {
		got := p.cutMiddle(s, room)
		require.LessOrEqual(t, p.GetStringWidth(got), room)
		require.Equal(t, s[strings.LastIndex(s, ","):], got[strings.LastIndex(got, ","):])
		require.Equal(t, s[:5], got[:5], "and how many there are")
		if p.GetStringWidth(s) <= room {
			require.Equal(t, s, got)
		} else {
			require.Contains(t, got, "…")
		}
	}
}
