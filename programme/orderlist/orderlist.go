// Package orderlist reads the list that goes out with a proposal and comes back
// with other numbers in it.
package orderlist

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Options say what the list is about.
type Options struct {
	// Proposal is the number that the rows must carry, if they carry any.
	Proposal  int64
	Catalogue *ledger.Catalogue
	// Staff are the staff numbers there are; nil takes any.
	Staff *match.Choices
	// Headings maps headings of this file to ours; Sheet names the sheet of a workbook.
	Headings map[string]string
	Sheet    string
}

// Columns of the list, in the order of columns.
const (
	colProposal = iota
	colStaff
	colItem
	colColour
	colSize
	colPieces
)

func columns() []table.Column {
	return []table.Column{
		colProposal: {Name: "proposal", Also: []string{"proposal number", "order", "no"}},
		colStaff:    {Name: "staff_id", Also: []string{"staff number", "employee", "employee no", "person"}},
		colItem:     {Name: "item", Required: true, Also: []string{"garment", "product", "article"}},
		colColour:   {Name: "colour", Also: []string{"color", "shade"}},
		colSize:     {Name: "size", Also: []string{"sizes"}},
		colPieces:   {Name: "pieces", Required: true, Also: []string{"qty", "quantity", "units", "pcs"}},
	}
}

// Read reads a list: pieces for people and, in rows without a staff number, for
// the pool; rows that say the same thing add up. Every fault is reported, of
// type table.Errors, and then nothing is taken. An empty number of pieces is a
// fault: none is written as 0.
func Read(file string, data []byte, opt Options) ([]reorder.Listed, error) {
	t, err := table.Open(file, data, table.Options{Columns: columns(), Headings: opt.Headings, Sheet: opt.Sheet})
	if err != nil {
		return nil, err
	}
	r := reader{opt: &opt, at: map[reorder.Listed]int{}}
	if err := t.Read(r.row, r.wrong); err != nil {
		return nil, err
	}
	if len(r.errs) > 0 {
		r.errs.Sort()
		return nil, r.errs
	}
	if len(r.rows) == 0 {
		return nil, table.Errors{{File: file, Want: "there is no row below the heading"}}
	}
	return r.rows, nil
}

type reader struct {
	opt  *Options
	rows []reorder.Listed
	at   map[reorder.Listed]int // by row without pieces
	errs table.Errors
}

func (r *reader) wrong(e *table.Error) { r.errs = append(r.errs, e) }

func (r *reader) row(row *table.Row) {
	before := len(r.errs)
	if raw := row.Text(colProposal); raw != "" && raw != strconv.FormatInt(r.opt.Proposal, 10) {
		r.wrong(row.Wrong(colProposal, fmt.Sprintf("but this list is taken for proposal %d; see whether it is the right file", r.opt.Proposal)))
	}
	l := reorder.Listed{SKU: r.sku(row), StaffID: r.staff(row)}
	n, want := ledger.Pieces(row.Text(colPieces), 0, 10000)
	if want != "" {
		r.wrong(row.Wrong(colPieces, want))
	}
	if len(r.errs) > before {
		return
	}
	if i, seen := r.at[l]; seen {
		r.rows[i].Pieces += n
		return
	}
	r.at[l] = len(r.rows)
	l.Pieces = n
	r.rows = append(r.rows, l)
}

func (r *reader) sku(row *table.Row) programme.SKU {
	sku, bad := r.opt.Catalogue.Find(row.Text(colItem), row.Text(colColour), row.Text(colSize))
	if bad != nil {
		r.wrong(row.Wrong([]int{colItem, colColour, colSize}[bad.Part], bad.Want))
	}
	return sku
}

func (r *reader) staff(row *table.Row) string {
	raw := strings.Clone(row.Text(colStaff))
	if raw == "" || r.opt.Staff == nil {
		return raw
	}
	code, ok := r.opt.Staff.Find(raw)
	if !ok {
		r.wrong(row.Wrong(colStaff, r.opt.Staff.Want("staff number in the roster", raw)))
	}
	return code
}
