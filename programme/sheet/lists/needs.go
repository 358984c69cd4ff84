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

// Columns of a list of needs.
const (
	colArtwork = iota
	colPieces
	colPerMonth
)

// mostPieces is more of one artwork than any shop presses for one order.
const mostPieces = 1_000_000

// ReadNeeds reads a list of artworks and how many good transfers of each are
// wanted: columns artwork, pieces and, if known, per_month, the usual need a
// month. The error is of type table.Errors and lists every bad row.
func ReadNeeds(file string, data []byte, shop *programme.Shop) ([]sheet.Need, error) {
	t, err := table.Open(file, data, table.Options{Columns: []table.Column{
		colArtwork:  {Name: "artwork", Required: true, Also: []string{"art", "design", "code", "transfer"}},
		colPieces:   {Name: "pieces", Required: true, Also: []string{"qty", "quantity", "count", "number"}},
		colPerMonth: {Name: "per_month", Also: []string{"monthly", "a month"}},
	}})
	if err != nil {
		return nil, err
	}
	r := needReader{shop: shop}
	if err := t.Read(r.row, r.wrong); err != nil {
		return nil, err
	}
	if len(r.errs) > 0 {
		return nil, r.errs
	}
	if len(r.needs) == 0 {
		return nil, table.Errors{{File: file, Want: "there are no rows below the heading; write one for each artwork"}}
	}
	return r.needs, nil
}

type needReader struct {
	shop  *programme.Shop
	needs []sheet.Need
	errs  table.Errors
}

func (r *needReader) wrong(e *table.Error) { r.errs = append(r.errs, e) }

func (r *needReader) row(row *table.Row) {
	n := sheet.Need{Artwork: row.Text(colArtwork)}
	if _, ok := r.shop.Artwork(n.Artwork); !ok {
		r.wrong(row.Wrong(colArtwork, r.nearest(n.Artwork)))
		return
	}
	var err error
	if n.Pieces, err = strconv.Atoi(row.Text(colPieces)); err != nil || n.Pieces < 0 || n.Pieces > mostPieces {
		r.wrong(row.Wrong(colPieces, "but a whole number of transfers is wanted, 0 to 1000000"))
		return
	}
	if s := row.Text(colPerMonth); row.Has(colPerMonth) && s != "" {
		if n.PerMonth, err = strconv.ParseFloat(s, 64); err != nil || !(n.PerMonth >= 0 && n.PerMonth <= mostPieces) {
			r.wrong(row.Wrong(colPerMonth, "but here stands how many are usually needed a month, such as 12 or 7.5"))
			return
		}
	}
	r.needs = append(r.needs, n)
}

func (r *needReader) nearest(code string) string {
	var codes []string
	for _, a := range r.shop.Artworks {
		codes = append(codes, a.Code)
	}
	if near, ok := match.Near(code, codes); ok {
		return "but the shop file has no such artwork; did you mean " + near + "?"
	}
	return "but the shop file has no such artwork; add it there or correct the code"
}
