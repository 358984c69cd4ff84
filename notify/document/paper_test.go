package document

import (
	"testing"

	"github.com/go-pdf/fpdf"
	"github.com/stretchr/testify/require"
)

// Wherever on a page a short table begins, its head stands once, above its row.
func TestAHeadIsNeverAloneAtTheFootOfAPage(t *testing.T) {
	p := newPaper(Head{Shop: "Fern Street Prints"}, "job 3", fpdf.SizeType{})
	table := Table{Head: []string{"Colour", "Pieces"}, Rows: [][]string{{"charcoal", "8"}}, Shares: []float64{0.5, 0.5}}
	whole := p.rowHeight(table, table.Head, true) + p.rowHeight(table, table.Rows[0], false)
	turned := 0
	for y := p.bottom - 40; y < p.bottom; y++ {
		p.AddPage()
		top := p.GetY()
		p.SetXY(margin, y)
		page := p.PageNo()
		p.table(table)
		if p.PageNo() == page {
			require.InDelta(t, y+whole, p.GetY(), 0.01)
			continue
		}
		turned++
		require.InDelta(t, top+whole, p.GetY(), 0.01, "the table of %.0f mm goes to the next page as one", y)
	}
	require.Positive(t, turned)
}
