// Package ledger reads what happened to pieces: issued, ended, counted. It also
// turns a shop's past orders into a ledger that is marked as assumed.
package ledger

import (
	"io"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Options say how a ledger is to be read.
type Options struct {
	table.Options // Latest is the last day on which something can have happened
	Catalogue     *Catalogue
	// Staff are the client's people, leavers included; nil takes any number.
	Staff []programme.Person
}

// List is the result of reading a file. Skipped counts the rows of a count form that nobody filled in.
type List = table.List[programme.Movement]

// Read reads a ledger. Rows without an error come back even when others have
// one; the error is of type table.Errors. washes is an optional column: how
// many washes the pieces had behind them when issued.
func Read(file string, data []byte, opt Options) (*List, error) {
	list, err := table.Read(file, data, opt.Options, newReader(opt).form())
	if err == nil && len(list.Rows) == 0 {
		return nil, table.Errors{{File: file,
			Want: "no row of this count form is filled in; write the numbers into the column pieces"}}
	}
	return list, err
}

// Write writes movements as a ledger that Read reads as the same movements,
// but for what the program itself adds to them.
func Write(w io.Writer, list []programme.Movement) error {
	return newReader(Options{}).form().Write(w, list)
}

// ReadOrders reads past orders as movements without a kind: date, garment, colour, size,
// pieces and, where they are known, staff_id (empty = nobody knows who got them) and ref.
func ReadOrders(file string, data []byte, opt Options) (*List, error) {
	r := newReader(opt)
	r.orders = true
	list, err := table.OpenList(file, data, opt.Options, r.form())
	if err != nil {
		return nil, err
	}
	if list.Has(colMovement) {
		return nil, table.Errors{{File: file, Want: "this file has a column movement, so it is a ledger and not a list of orders; import it without --orders"}}
	}
	return list.Read()
}

// reader reads the cells of a ledger or, with orders, of a list of past orders.
type reader struct {
	catalogue *Catalogue
	orders    bool
	staff     *match.Choices
	known     map[string]bool // staff numbers; nil = any
	refs      map[string]int  // lines
}

func newReader(opt Options) *reader {
	r := &reader{catalogue: opt.Catalogue, refs: map[string]int{}}
	if opt.Staff != nil {
		r.known = make(map[string]bool, len(opt.Staff))
		r.staff = match.ChoicesOf(opt.Staff, func(p *programme.Person) (string, string) { return p.StaffID, p.Name })
		for i := range opt.Staff {
			r.known[opt.Staff[i].StaffID] = true
		}
	}
	return r
}
