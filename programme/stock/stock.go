// Package stock reads what lies on the shop's shelves and what is on order.
package stock

import (
	"fmt"
	"io"
	"strconv"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Options say how a statement of stock is to be read.
type Options struct {
	table.Options // Latest is the last day for which a stock can be stated
	Catalogue     *ledger.Catalogue
	// Artworks and Clients are the codes there are; nil takes any.
	Artworks, Clients *match.Choices
}

// List is the result of reading a file.
type List = table.List[programme.StockLine]

// Read reads a statement of stock. Rows without an error come back even when
// others have one; the error is of type table.Errors. made_on is an optional
// column: the day transfers were printed, from which their shelf life runs.
// as_of is one too: without that column the stock is that of Latest. washes is another: how many finished pieces that
// were worn before have behind them.
func Read(file string, data []byte, opt Options) (*List, error) {
	return table.Read(file, data, opt.Options, form(&reader{opt: opt, seen: map[stated]int{}}))
}

// Write writes lines as a statement of stock that Read reads as the same lines.
func Write(w io.Writer, list []programme.StockLine) error { return form(&reader{}).Write(w, list) }

// Columns of a statement of stock, in the order of the form.
const (
	colAsOf = iota
	colKind
	colCode
	colColour
	colSize
	colPieces
	colExpected
	colClient
	colMade
	colWashes
)

func form(r *reader) *table.Form[programme.StockLine] {
	type row = programme.StockLine
	return &table.Form[row]{
		Columns: []table.Column[row]{
			colAsOf: {Name: "as_of", Also: []string{"date", "day", "stock date", "counted on"},
				Missing: "the date of the stock is missing; write it as year-month-day, such as 2026-03-09",
				Date:    func(l *row) *programme.Date { return &l.AsOf }},
			colKind: {Name: "kind", Required: true, Also: []string{"type", "stock kind"}, Words: table.OrLeftOut,
				Read:  readKind,
				Write: func(l *row) string { return string(l.Kind) }},
			colCode: {Name: "code", Required: true, Also: []string{"garment", "item", "product", "article", "artwork",
				"style", "sku"}, Words: table.OrLeftOut,
				Read: r.goods, Write: func(l *row) string { return l.Code }},
			colColour: {Name: "colour", Also: []string{"color", "shade"}, Words: table.OrEmpty,
				Read:  notOfTransfers,
				Write: func(l *row) string { return l.Colour }},
			colSize: {Name: "size", Also: []string{"sizes"}, Words: table.OrEmpty, Read: notOfTransfers,
				Write: func(l *row) string { return l.Size }},
			colPieces: {Name: "pieces", Required: true, Also: []string{"qty", "quantity", "count", "units", "pcs",
				"on hand", "stock"},
				Read:  func(c table.Cell, l *row) { l.Pieces = ledger.ReadPieces(c, 0, maxPieces) },
				Write: func(l *row) string { return strconv.Itoa(l.Pieces) }},
			colExpected: {Name: "expected_on", Ahead: true, Also: []string{"expected", "due", "due date", "eta",
				"delivery date", "arrives"},
				Date: func(l *row) *programme.Date { return &l.Expected }},
			colClient: {Name: "client", Also: []string{"customer", "account", "for"}, Words: table.OrLeftOut,
				Read:  r.client,
				Write: func(l *row) string { return l.Client }},
			colMade: {Name: "made_on", Also: []string{"made", "printed", "printed on", "print date"},
				Date: func(l *row) *programme.Date { return &l.Made }, Read: ofTransfers},
			colWashes: {Name: "washes", Sparse: true, Also: []string{"washes before", "wash count"}, Read: readWashes,
				Write: writeWashes},
		},
		Row:   r.twice,
		Empty: "there is no row below the heading; write one for each thing in stock",
	}
}

type reader struct {
	opt  Options
	seen map[stated]int // lines
}

// stated is the key of a line that may be stated only once.
type stated struct {
	programme.Goods
	expected, made programme.Date
	washes         int
}

var kinds = match.NewChoices(string(programme.Blank), string(programme.Finished), string(programme.Transfer))

// maxPieces is more than a small shop's shelf holds of one thing.
const maxPieces = 1000000

func readKind(c table.Cell, l *programme.StockLine) {
	l.Kind = programme.StockKind(c.Choose(kinds, "kind of stock"))
}

func (r *reader) goods(c table.Cell, l *programme.StockLine) {
	switch {
	case l.Kind == "": // nobody knows what it can be
	case l.Kind != programme.Transfer:
		sku := r.opt.Catalogue.Read(c.Row, colCode, colColour, colSize)
		l.Code, l.Colour, l.Size = sku.Garment, sku.Colour, sku.Size
	case r.opt.Artworks != nil:
		l.Code = c.Choose(r.opt.Artworks, "artwork in the shop's catalogue")
	case c.Text() == "":
		c.Wrong("the artwork is missing")
	default:
		l.Code = c.Word()
	}
}

func notOfTransfers(c table.Cell, l *programme.StockLine) {
	if l.Kind == programme.Transfer && c.Text() != "" {
		c.Wrong("but a transfer has no colour or size of garment; leave it empty")
	}
}

func ofTransfers(c table.Cell, l *programme.StockLine) {
	if l.Kind != programme.Transfer && l.Kind != "" && c.Text() != "" {
		c.Wrong("but only transfers have a day on which they were printed; leave it empty")
	}
}

// maxWashes is more than any garment lasts.
const maxWashes = 2000

func readWashes(c table.Cell, l *programme.StockLine) {
	n, ok := c.Whole()
	switch {
	case c.Text() == "":
		return
	case !ok || n < 0 || n > maxWashes:
		c.Wrong(fmt.Sprintf("which is not a whole number of washes between 0 and %d", maxWashes))
	case n > 0 && (l.Kind != programme.Finished || !l.Expected.IsZero()):
		c.Wrong("but only finished pieces on the shelf can have been worn before; leave it empty")
	}
	l.Washes = n
}

func writeWashes(l *programme.StockLine) string {
	if l.Washes == 0 {
		return ""
	}
	return strconv.Itoa(l.Washes)
}

// client is needed for finished pieces, which carry somebody's mark, and for
// nothing else.
func (r *reader) client(c table.Cell, l *programme.StockLine) {
	raw := c.Text()
	switch {
	case l.Kind == "":
	case l.Kind != programme.Finished:
		if raw != "" {
			c.Wrong(fmt.Sprintf("but a %s belongs to no client; leave it empty", l.Kind))
		}
	case r.opt.Clients != nil:
		l.Client = c.Choose(r.opt.Clients, "client")
	case raw == "":
		c.Wrong("finished pieces belong to a client; name it")
	default:
		l.Client = c.Word()
	}
}

// twice refuses the same thing stated twice: nobody knows which holds.
func (r *reader) twice(row *table.Row, l *programme.StockLine) {
	if row.Bad() {
		return
	}
	if l.AsOf.IsZero() {
		l.AsOf = r.opt.Latest
	}
	key := stated{l.Goods, l.Expected, l.Made, l.Washes}
	if first, twice := r.seen[key]; twice {
		row.Cell(colCode).Wrong(fmt.Sprintf("but line %d states the same already; write one row with the sum, or remove one", first))
		return
	}
	r.seen[key] = row.Line
}
