// Package stock reads what lies on the shop's shelves and what is on order.
package stock

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/ledger"
	"github.com/kitmuster/kitmuster/programme/match"
	"github.com/kitmuster/kitmuster/programme/table"
)

// Options say how a statement of stock is to be read.
type Options struct {
	Headings  map[string]string
	Stated    map[string]string // see table.Options
	Dates     table.DateOrder
	Sheet     string
	Catalogue *ledger.Catalogue
	// Artworks and Clients are the codes there are; nil takes any.
	Artworks, Clients *match.Choices
	// Latest is the last day for which a stock can be stated; no date = any.
	Latest programme.Date
}

// List is what a file says.
type List struct {
	Table *table.Table
	Lines []programme.StockLine
	At    []int // the line of the file of each
}

// Columns of a statement of stock, in the order of columns.
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

func columns() []table.Column {
	return []table.Column{
		colAsOf:     {Name: "as_of", Required: true, Date: true, Also: []string{"date", "day", "stock date", "counted on"}},
		colKind:     {Name: "kind", Required: true, Also: []string{"type", "stock kind"}},
		colCode:     {Name: "code", Required: true, Also: []string{"garment", "item", "product", "article", "artwork", "style", "sku"}},
		colColour:   {Name: "colour", Also: []string{"color", "shade"}},
		colSize:     {Name: "size", Also: []string{"sizes"}},
		colPieces:   {Name: "pieces", Required: true, Also: []string{"qty", "quantity", "count", "units", "pcs", "on hand", "stock"}},
		colExpected: {Name: "expected_on", Date: true, Also: []string{"expected", "due", "due date", "eta", "delivery date", "arrives"}},
		colClient:   {Name: "client", Also: []string{"customer", "account", "for"}},
		colMade:     {Name: "made_on", Date: true, Also: []string{"made", "printed", "printed on", "print date"}},
		colWashes:   {Name: "washes", Also: []string{"washes before", "wash count"}},
	}
}

// Read reads a statement of stock. Rows without an error come back even when
// others have one; the error is of type table.Errors. made_on is an optional
// column: the day transfers were printed, from which their shelf life runs.
// washes is another: how many finished pieces that were worn before have behind
// them.
func Read(file string, data []byte, opt Options) (*List, error) {
	t, err := table.Open(file, data, table.Options{Columns: columns(), Headings: opt.Headings, Stated: opt.Stated, Dates: opt.Dates, Sheet: opt.Sheet})
	if err != nil {
		return nil, err
	}
	r := &reader{t: t, opt: &opt, list: &List{Table: t}}
	if err := t.Read(r.row, r.wrong); err != nil {
		return nil, err
	}
	r.settle()
	r.doubles()
	if len(r.errs) > 0 {
		r.errs.Sort()
		r.drop()
		return r.list, r.errs
	}
	if len(r.list.Lines) == 0 {
		return nil, table.Errors{{File: file, Want: "there is no row below the heading; write one for each thing in stock"}}
	}
	return r.list, nil
}

type reader struct {
	t     *table.Table
	opt   *Options
	list  *List
	errs  table.Errors
	dates [][3]int // as_of, expected_on, made_on
}

func (r *reader) wrong(e *table.Error) { r.errs = append(r.errs, e) }

var kinds = match.NewChoices(string(programme.Blank), string(programme.Finished), string(programme.Transfer))

// maxPieces is more than a small shop's shelf holds of one thing.
const maxPieces = 1000000

func (r *reader) row(row *table.Row) {
	before := len(r.errs)
	kind, ok := kinds.Find(row.Text(colKind))
	if !ok {
		r.wrong(row.Wrong(colKind, kinds.Want("kind of stock", row.Text(colKind))))
		return
	}
	l := programme.StockLine{Goods: programme.Goods{Kind: programme.StockKind(kind)}}
	if row.Text(colAsOf) == "" {
		r.wrong(row.Wrong(colAsOf, "the date of the stock is missing; write it as year-month-day, such as 2026-03-09"))
	}
	if l.Kind == programme.Transfer {
		r.transfer(row, &l)
	} else {
		r.garment(row, &l)
	}
	r.client(row, &l)
	n, want := ledger.Pieces(row.Text(colPieces), 0, maxPieces)
	if want != "" {
		r.wrong(row.Wrong(colPieces, want))
	}
	l.Pieces = n
	r.washes(row, &l)
	if len(r.errs) > before {
		return
	}
	r.list.Lines = append(r.list.Lines, l)
	r.list.At = append(r.list.At, row.Line)
	r.dates = append(r.dates, [3]int{row.Date(colAsOf), row.Date(colExpected), row.Date(colMade)})
}

func (r *reader) transfer(row *table.Row, l *programme.StockLine) {
	l.Code = strings.Clone(row.Text(colCode))
	if r.opt.Artworks != nil {
		code, ok := r.opt.Artworks.Find(l.Code)
		if !ok {
			r.wrong(row.Wrong(colCode, r.opt.Artworks.Want("artwork in the shop's catalogue", l.Code)))
		}
		l.Code = code
	} else if l.Code == "" {
		r.wrong(row.Wrong(colCode, "the artwork is missing"))
	}
	for _, col := range []int{colColour, colSize} {
		if row.Text(col) != "" {
			r.wrong(row.Wrong(col, "but a transfer has no colour or size of garment; leave it empty"))
		}
	}
}

func (r *reader) garment(row *table.Row, l *programme.StockLine) {
	if row.Text(colMade) != "" {
		r.wrong(row.Wrong(colMade, "but only transfers have a day on which they were printed; leave it empty"))
	}
	g, c, s := row.Text(colCode), row.Text(colColour), row.Text(colSize)
	if r.opt.Catalogue == nil {
		l.Code, l.Colour, l.Size = strings.Clone(g), strings.Clone(c), strings.Clone(s)
		return
	}
	sku, bad := r.opt.Catalogue.Find(g, c, s)
	if bad != nil {
		r.wrong(row.Wrong([]int{colCode, colColour, colSize}[bad.Part], bad.Want))
		return
	}
	l.Code, l.Colour, l.Size = sku.Garment, sku.Colour, sku.Size
}

// client is needed for finished pieces, which carry somebody's mark, and for
// nothing else.
func (r *reader) client(row *table.Row, l *programme.StockLine) {
	raw := row.Text(colClient)
	if l.Kind != programme.Finished {
		if raw != "" {
			r.wrong(row.Wrong(colClient, fmt.Sprintf("but a %s belongs to no client; leave it empty", l.Kind)))
		}
		return
	}
	l.Client = strings.Clone(raw)
	switch {
	case r.opt.Clients != nil:
		code, ok := r.opt.Clients.Find(raw)
		if !ok {
			r.wrong(row.Wrong(colClient, r.opt.Clients.Want("client", raw)))
		}
		l.Client = code
	case raw == "":
		r.wrong(row.Wrong(colClient, "finished pieces belong to a client; name it"))
	}
}

// maxWashes is more than any garment lasts.
const maxWashes = 2000

func (r *reader) washes(row *table.Row, l *programme.StockLine) {
	raw := row.Text(colWashes)
	if raw == "" {
		return
	}
	n, want := ledger.Pieces(raw, 0, maxWashes)
	switch {
	case want != "":
		r.wrong(row.Wrong(colWashes, fmt.Sprintf("which is not a whole number of washes between 0 and %d", maxWashes)))
	case n > 0 && (l.Kind != programme.Finished || row.Text(colExpected) != ""):
		r.wrong(row.Wrong(colWashes, "but only finished pieces on the shelf can have been worn before; leave it empty"))
	}
	l.Washes = n
}

func (r *reader) settle() {
	for i := range r.list.Lines {
		l := &r.list.Lines[i]
		for j, into := range []*programme.Date{&l.AsOf, &l.Expected, &l.Made} {
			col := []int{colAsOf, colExpected, colMade}[j]
			date, want := r.t.Dates.Date(r.dates[i][j])
			if want == "" && col != colExpected && !r.opt.Latest.IsZero() && date > r.opt.Latest {
				want = fmt.Sprintf("but that is after %s; check the year and the order of day and month", r.opt.Latest)
			}
			if want != "" {
				r.wrong(r.t.Wrong(r.list.At[i], col, r.t.Dates.Text(r.dates[i][j]), want))
			}
			*into = date
		}
	}
}

// doubles refuses the same thing stated twice: nobody knows which holds.
func (r *reader) doubles() {
	type stated struct {
		programme.Goods
		expected, made programme.Date
		washes         int
	}
	seen := map[stated]int{}
	for i := range r.list.Lines {
		l := &r.list.Lines[i]
		key := stated{l.Goods, l.Expected, l.Made, l.Washes}
		if first, twice := seen[key]; twice {
			r.wrong(r.t.Wrong(r.list.At[i], colCode, key.Code, fmt.Sprintf("but line %d states the same already; write one row with the sum, or remove one", first)))
			continue
		}
		seen[key] = r.list.At[i]
	}
}

func (r *reader) drop() {
	bad := r.errs.Lines()
	kept := 0
	for i := range r.list.Lines {
		if !bad[r.list.At[i]] {
			r.list.Lines[kept], r.list.At[kept] = r.list.Lines[i], r.list.At[i]
			kept++
		}
	}
	r.list.Lines, r.list.At = r.list.Lines[:kept], r.list.At[:kept]
}

// Mend writes the rows with errors to a file that can be corrected and imported again.
func (l *List) Mend(w io.Writer, errs table.Errors) error { return l.Table.Mend(w, errs) }

// Write writes lines as a statement of stock that Read reads as the same lines;
// the column of washes stands there where any piece was worn before.
func Write(w io.Writer, list []programme.StockLine) error {
	heading := []string{"as_of", "kind", "code", "colour", "size", "pieces", "expected_on", "client", "made_on"}
	worn := slices.ContainsFunc(list, func(l programme.StockLine) bool { return l.Washes > 0 })
	if worn {
		heading = append(heading, "washes")
	}
	return table.Write(w, heading, func(yield func([]string) bool) {
		for i := range list {
			l := &list[i]
			cells := []string{l.AsOf.String(), string(l.Kind), l.Code, l.Colour, l.Size, strconv.Itoa(l.Pieces), l.Expected.String(), l.Client, l.Made.String()}
			if worn {
				cells = append(cells, strconv.Itoa(l.Washes))
			}
			if !yield(cells) {
				return
			}
		}
	})
}
