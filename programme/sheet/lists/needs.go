// Package lists reads the two lists that transfers are planned from: needed
// artworks, and bare rectangles.
package lists

import (
	"strconv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/table"
)

// mostPieces is more of one artwork than any shop presses for one order.
const mostPieces = 1_000_000

// ReadNeeds reads a list of artworks and how many good transfers of each are
// wanted: columns artwork, pieces and, if known, per_month, the usual need a
// month. The error is of type table.Errors and lists every bad row.
func ReadNeeds(file string, data []byte, shop *programme.Shop) ([]sheet.Need, error) {
	list, err := table.Read(file, data, table.Options{}, &table.Form[sheet.Need]{
		Columns: []table.Column[sheet.Need]{
			{Name: "artwork", Required: true, Also: []string{"art", "design", "code", "transfer"},
				Read: artworkOf(shop)},
			{Name: "pieces", Required: true, Also: []string{"qty", "quantity", "count", "number"}, Read: readPieces},
			{Name: "per_month", Also: []string{"monthly", "a month"}, Read: readPerMonth},
		},
		Empty: "there are no rows below the heading; write one for each artwork",
	})
	if err != nil {
		return nil, err
	}
	return list.Rows, nil
}

func artworkOf(shop *programme.Shop) func(table.Cell, *sheet.Need) {
	var codes []string
	for _, a := range shop.Transfers() {
		codes = append(codes, a.Code)
	}
	return func(c table.Cell, n *sheet.Need) {
		n.Artwork = c.Word()
		if _, ok := shop.Artwork(n.Artwork); ok {
			return
		}
		if near, ok := match.Near(n.Artwork, codes); ok {
			c.Wrong("but the shop file has no such artwork; did you mean " + near + "?")
			return
		}
		c.Wrong("but the shop file has no such artwork; add it there or correct the code")
	}
}

func readPieces(c table.Cell, n *sheet.Need) {
	var err error
	if n.Pieces, err = strconv.Atoi(c.Text()); err != nil || n.Pieces < 0 || n.Pieces > mostPieces {
		c.Wrong("but a whole number of transfers is wanted, 0 to 1000000")
	}
}

func readPerMonth(c table.Cell, n *sheet.Need) {
	if c.Text() == "" {
		return
	}
	var err error
	if n.PerMonth, err = strconv.ParseFloat(c.Text(), 64); err != nil ||
		!(n.PerMonth >= 0 && n.PerMonth <= mostPieces) {
		c.Wrong("but here stands how many are usually needed a month, such as 12 or 7.5")
	}
}
