// Package catalogue reads suppliers' price lists: item numbers, costs, packs and
// what is to be had, by garment, colour and size.
package catalogue

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

// Options say how a price list is to be read.
type Options struct {
	table.Options
	Garments *ledger.Catalogue
}

// List holds what a price list says of the shop's garments.
type List struct {
	*table.List[programme.Item]
	// Others counts rows of garments that the shop does not have.
	Others int
	// Unlisted are rows of its garments in a colour or size that shop.yaml does not have.
	Unlisted Passed
	// Open are rows of its garments that leave the size or the colour empty where there are
	// several, and so say nothing of any one of them.
	Open Passed
}

// Passed counts rows that were passed over; Examples are some, as they stand in the list.
type Passed struct {
	Rows     int
	Examples []string
}

// Columns of a price list, in the order of the form.
const (
	colGarment = iota
	colColour
	colSize
	colNumber
	colGTIN
	colCost
	colPack
	colSupply
)

// examples is the number of rows that are shown of those passed over.
const examples = 5

// add counts a row.
func (p *Passed) add(row *table.Row) {
	if p.Rows++; p.Rows > examples {
		return
	}
	words := slices.DeleteFunc([]string{row.Text(colGarment), row.Text(colColour), row.Text(colSize)},
		func(w string) bool { return w == "" })
	p.Examples = append(p.Examples, fmt.Sprintf("line %d: %s", row.Line, strings.Join(words, ", ")))
}

// Read reads a price list. A supplier's list has many garments that a shop does
// not sell: their rows are passed over and counted. Rows without an error come
// back even when others have one; the error is of type table.Errors.
func Read(file string, data []byte, opt Options) (*List, error) {
	r := reader{garments: opt.Garments, seen: map[programme.SKU]int{}}
	form := r.form()
	form.Skip = r.skip
	list, err := table.Read(file, data, opt.Options, form)
	if list == nil {
		return nil, err
	}
	return &List{List: list, Others: r.others, Unlisted: r.unlisted, Open: r.open}, err
}

// Write writes items as a price list that Read reads as the same items.
func Write(w io.Writer, items []programme.Item) error {
	r := reader{}
	return r.form().Write(w, items)
}

// Sorted returns items by garment, colour and size.
func Sorted(items map[programme.SKU]programme.Item) []programme.Item {
	out := make([]programme.Item, 0, len(items))
	for _, it := range items {
		out = append(out, it)
	}
	slices.SortFunc(out, func(a, b programme.Item) int { return strings.Compare(a.String(), b.String()) })
	return out
}

type reader struct {
	garments       *ledger.Catalogue
	seen           map[programme.SKU]int // lines
	others         int
	unlisted, open Passed
}

func (r *reader) form() *table.Form[programme.Item] {
	type row = programme.Item
	return &table.Form[row]{
		Columns: []table.Column[row]{
			colGarment: {Name: "garment", Required: true, Also: []string{"style", "style number", "style no",
				"style code", "product", "product code", "article", "model"}, Words: table.OrLeftOut,
				Read:  func(c table.Cell, it *row) { it.SKU = r.garments.Read(c.Row, colGarment, colColour, colSize) },
				Write: func(it *row) string { return it.Garment }},
			colColour: {Name: "colour", Words: table.OrEmpty,
				Also:  []string{"color", "colour name", "color name", "shade"},
				Write: func(it *row) string { return it.Colour }},
			colSize: {Name: "size", Also: []string{"size name", "size code"}, Words: table.OrEmpty,
				Write: func(it *row) string { return it.Size }},
			colNumber: {Name: "item_number", Also: []string{"item", "item no", "item code", "sku", "article number",
				"part number", "order code"},
				Read:  func(c table.Cell, it *row) { it.Number = c.Word() },
				Write: func(it *row) string { return it.Number }},
			colGTIN: {Name: "gtin", Sparse: true, Also: []string{"ean", "ean13", "upc", "barcode", "bar code"},
				Read: readGTIN, Write: func(it *row) string { return it.GTIN }},
			colCost: {Name: "cost", Also: []string{"price", "net price", "unit price", "piece price", "your price",
				"cost price"}, Read: readCost, Write: writeCost},
			colPack: {Name: "pack", Sparse: true, Also: []string{"pack size", "inner pack", "case", "case size",
				"sold in"}, Read: readPack, Write: writePack},
			colSupply: {Name: "availability", Sparse: true,
				Also: []string{"status", "stock status", "available", "supply"}, Words: table.OrEmpty,
				Read: readSupply, Write: func(it *row) string { return string(it.Supply) }},
		},
		Row:   r.twice,
		Empty: "there is no row below the heading",
	}
}

// skip passes over rows of what the shop does not have.
func (r *reader) skip(row *table.Row) bool {
	if r.garments == nil {
		return false
	}
	words, _ := r.garments.Words(row, colGarment, colColour, colSize)
	_, bad := r.garments.Find(words[0], words[1], words[2])
	switch {
	case bad == nil:
		return false
	case bad.Part == 0:
		r.others++
	case words[bad.Part] == "":
		r.open.add(row)
	default:
		r.unlisted.add(row)
	}
	return true
}

// twice refuses an item that stands on two lines with two meanings.
func (r *reader) twice(row *table.Row, it *programme.Item) {
	if row.Bad() || r.seen == nil {
		return
	}
	if first, twice := r.seen[it.SKU]; twice {
		row.Cell(colGarment).Wrong(fmt.Sprintf("but line %d is the same garment, colour and size already; remove one",
			first))
		return
	}
	r.seen[it.SKU] = row.Line
}

// readGTIN checks the last digit, which makes the sum of the digits, weighted 3
// and 1 in turn from the right, a multiple of ten (GS1 General Specifications, 7.9).
func readGTIN(c table.Cell, it *programme.Item) {
	digits := c.Text()
	if digits == "" {
		return
	}
	sum := 0
	for i := range len(digits) {
		d := digits[len(digits)-1-i]
		if d < '0' || d > '9' {
			c.Wrong("but a GTIN is made of digits alone; a spreadsheet may have shortened it, so format the column as text")
			return
		}
		sum += int(d-'0') * (1 + 2*(i%2))
	}
	switch n := len(digits); {
	case n != 8 && n != 12 && n != 13 && n != 14:
		c.Wrong(fmt.Sprintf("but a GTIN has 8, 12, 13 or 14 digits and this has %d", n))
	case sum%10 != 0:
		c.Wrong("but its last digit does not fit the others: a digit is wrong")
	default:
		it.GTIN = c.Word()
	}
}

func readCost(c table.Cell, it *programme.Item) {
	if c.Text() == "" {
		return
	}
	cost, ok := amount(c.Text())
	if !ok || cost <= 0 {
		c.Wrong("which is not the cost of one piece; write it as 4.10")
	}
	it.Cost = cost
}

// amount reads money as price lists write it: with a currency's sign or code,
// and a point or a comma before the hundredths. A single mark before three
// digits could be either and is not read.
func amount(s string) (programme.Money, bool) {
	s = strings.TrimFunc(s, func(r rune) bool { return (r < '0' || r > '9') && r != '-' })
	mark := strings.LastIndexAny(s, ".,")
	if mark < 0 {
		m, err := programme.ParseMoney(s)
		return m, err == nil
	}
	whole, frac := s[:mark], s[mark+1:]
	grouped := strings.ContainsAny(whole, ".,' \u00a0")
	if len(frac) == 3 && !grouped || len(frac) > 3 {
		return 0, false
	}
	whole = strings.NewReplacer(".", "", ",", "", "'", "", " ", "", "\u00a0", "").Replace(whole)
	if len(frac) == 3 {
		whole, frac = whole+frac, "0"
	}
	m, err := programme.ParseMoney(whole + "." + frac)
	return m, err == nil
}

func writeCost(it *programme.Item) string {
	if it.Cost == 0 {
		return ""
	}
	return it.Cost.Decimal()
}

// mostPack is more than any supplier packs together.
const mostPack = 10_000

func readPack(c table.Cell, it *programme.Item) {
	n, ok := c.Whole()
	switch {
	case c.Text() == "":
		return
	case !ok || n < 1 || n > mostPack:
		c.Wrong(fmt.Sprintf("which is not a number of pieces between 1 and %d", mostPack))
	}
	it.Pack = n
}

func writePack(it *programme.Item) string {
	if it.Pack == 0 {
		return ""
	}
	return strconv.Itoa(it.Pack)
}

// supplies are the words by which price lists say what is to be had.
var supplies = map[string]programme.Supply{
	"available": programme.InSupply, "yes": programme.InSupply, "y": programme.InSupply, "in stock": programme.InSupply,
	"instock": programme.InSupply, "active": programme.InSupply,
	"out of stock": programme.OutOfStock, "no": programme.OutOfStock, "n": programme.OutOfStock,
	"sold out": programme.OutOfStock, "back order": programme.OutOfStock, "backorder": programme.OutOfStock,
	"discontinued": programme.Discontinued, "discontinue": programme.Discontinued, "closeout": programme.Discontinued,
	"obsolete": programme.Discontinued, "ended": programme.Discontinued,
}

func readSupply(c table.Cell, it *programme.Item) {
	word := strings.ToLower(c.Text())
	if word == "" {
		return
	}
	if n, ok := c.Whole(); ok { // how many there are
		it.Supply = programme.InSupply
		if n <= 0 {
			it.Supply = programme.OutOfStock
		}
		return
	}
	for known, s := range supplies {
		if match.Plain(known) == match.Plain(word) {
			it.Supply = s
			return
		}
	}
	c.Unknown("but here stands available, out of stock or discontinued", "")
}
