// Package orderlist reads the list that goes out with a proposal and comes back
// with other numbers in it.
package orderlist

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Options say what the list is about.
type Options struct {
	table.Options
	// Proposal is the number that the rows must carry, if they carry any.
	Proposal  int64
	Catalogue *ledger.Catalogue
	// Staff are the staff numbers there are; nil takes any.
	Staff *match.Choices
}

// Columns of the list, in the order of the form.
const (
	colProposal = iota
	colStaff
	colItem
	colColour
	colSize
	colPieces
)

// maxPieces is more than anybody orders of one line.
const maxPieces = 10000

// Read reads a list: pieces for people and, in rows without a staff number, for
// the pool; rows that say the same thing add up. Every fault is reported, of
// type table.Errors, and then nothing is taken. An empty number of pieces is a
// fault: none is written as 0.
func Read(file string, data []byte, opt Options) ([]reorder.Listed, error) {
	list, err := table.Read(file, data, opt.Options, opt.form())
	if err != nil {
		return nil, err
	}
	at := map[reorder.Listed]int{} // by row without pieces
	kept := list.Rows[:0]
	for _, l := range list.Rows {
		n := l.Pieces
		l.Pieces = 0
		i, seen := at[l]
		if !seen {
			i = len(kept)
			at[l] = i
			kept = append(kept, l)
		}
		kept[i].Pieces += n
	}
	return kept, nil
}

func (o *Options) form() *table.Form[reorder.Listed] {
	type row = reorder.Listed
	return &table.Form[row]{
		Columns: []table.Column[row]{
			colProposal: {Name: "proposal", Also: []string{"proposal number", "order", "no"}, Read: o.proposal},
			colStaff: {Name: "staff_id", Also: []string{"staff number", "employee", "employee no", "person"},
				Read: o.person},
			colItem: {Name: "item", Required: true, Also: []string{"garment", "product", "article"},
				Read: func(c table.Cell, l *row) { l.SKU = o.Catalogue.Read(c.Row, colItem, colColour, colSize) }},
			colColour: {Name: "colour", Also: []string{"color", "shade"}},
			colSize:   {Name: "size", Also: []string{"sizes"}},
			colPieces: {Name: "pieces", Required: true, Also: []string{"qty", "quantity", "units", "pcs"},
				Read: func(c table.Cell, l *row) { l.Pieces = ledger.ReadPieces(c, 0, maxPieces) }},
		},
		Empty: "there is no row below the heading",
	}
}

func (o *Options) proposal(c table.Cell, _ *reorder.Listed) {
	if raw := c.Text(); raw != "" && raw != strconv.FormatInt(o.Proposal, 10) {
		c.Wrong(fmt.Sprintf("but this list is taken for proposal %d; see whether it is the right file", o.Proposal))
	}
}

func (o *Options) person(c table.Cell, l *reorder.Listed) {
	raw := c.Word()
	if raw == "" || o.Staff == nil {
		l.StaffID = raw
		return
	}
	code, ok := o.Staff.Find(raw)
	if !ok {
		code, ok = withoutZeros(o.Staff.Codes(), raw)
	}
	if !ok {
		c.Wrong(o.Staff.Want("staff number in the roster", raw))
	}
	l.StaffID = code
}

// withoutZeros finds the one staff number whose leading zeros a spreadsheet has
// taken: customers look at the list in one before they send it back.
func withoutZeros(codes []string, raw string) (code string, ok bool) {
	bare := strings.TrimLeft(raw, "0")
	if bare == "" || strings.Trim(raw, "0123456789") != "" {
		return "", false
	}
	for _, c := range codes {
		if strings.TrimLeft(c, "0") != bare {
			continue
		}
		if ok {
			return "", false
		}
		code, ok = c, true
	}
	return code, ok
}
