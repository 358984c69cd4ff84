package message

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"github.com/kitmuster/kitmuster/notify/chart"
	"github.com/kitmuster/kitmuster/notify/page"
	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/clean"
	"github.com/kitmuster/kitmuster/programme/reorder"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// heldCaution stands wherever protective clothing is held. (Trade practice:
// the maker answers for the garment, the employer for the choice.)
const heldCaution = "Protective clothing is never ordered by the program. Look at the garments and their labels, ask the maker in writing before anything is pressed on them, and follow local codes and the client's own safety rules."

func (r *Round) allHeld() []Held {
	var out []Held
	for i := range r.Due {
		if len(r.Due[i].Proposal.Holds) > 0 {
			out = append(out, Held{r.Due[i].Client, r.Due[i].Proposal.Holds})
		}
	}
	return append(out, r.Held...)
}

// holdWords returns a line for each held garment and colour, with its sizes.
func (t notation) holdWords(holds []reorder.Hold) []string {
	var pieces []tally
	at := map[string]*reorder.Hold{}
	spent := map[programme.SKU][]string{}
	for i := range holds {
		pieces = append(pieces, tally{holds[i].SKU, holds[i].Pieces})
		at[holds[i].Garment] = &holds[i]
		line := programme.SKU{Garment: holds[i].Garment, Colour: holds[i].Colour}
		spent[line] = append(spent[line], holds[i].LabelSpent()...)
	}
	var out []string
	for _, table := range t.sizeTables(pieces) {
		h := at[table.code]
		for _, r := range table.Rows {
			out = append(out, fmt.Sprintf("%s, %s: %s (%s), %s. %s", table.Garment, r.Colour,
				programme.NumberOf(r.Total, "piece"), table.sizesOf(r), protectiveWords(h.Protective),
				labelWords(h.LabelWashes, headcount(spent[programme.SKU{Garment: h.Garment, Colour: r.Colour}]))))
		}
	}
	return out
}

// labelWords says what a label allows, and how many people wear pieces that have had all of it.
func labelWords(washes float64, spent int) string {
	switch {
	case washes <= 0:
		return "The records know of no limit on its label: look."
	case spent == 1:
		return fmt.Sprintf("Its label allows %.0f washes and no more; by our reckoning 1 person wears pieces that have had them all.",
			washes)
	case spent > 1:
		return fmt.Sprintf("Its label allows %.0f washes and no more; by our reckoning %d people wear pieces that have had them all.",
			washes, spent)
	}
	return fmt.Sprintf("Its label allows %.0f washes and no more.", washes)
}

// headcount counts staff numbers, each once.
func headcount(staff []string) int {
	seen := map[string]bool{}
	for _, s := range staff {
		seen[s] = true
	}
	return len(seen)
}

// bought is the blanks to buy from one supplier over all clients.
type bought struct {
	supplier string // code
	pieces   int
	value    programme.Money
	orderBy  programme.Date
}

// blanks sums the blanks to buy over all proposals, in the shop's order of suppliers.
func (r *Round) blanks(t notation) []bought {
	var out []bought
	for i := range r.Due {
		for _, l := range r.Due[i].Proposal.Lines {
			if l.Buy <= 0 {
				continue
			}
			code := t.supplierOf(l.Garment)
			at := slices.IndexFunc(out, func(b bought) bool { return b.supplier == code })
			if at < 0 {
				at = len(out)
				out = append(out, bought{supplier: code, orderBy: l.OrderBlanksBy})
			}
			b := &out[at]
			b.pieces += l.Buy
			b.value += l.UnitCost * programme.Money(l.Buy)
			b.orderBy = min(b.orderBy, l.OrderBlanksBy)
		}
	}
	place := func(b bought) uint { // one that the shop has no more is -1, which is the last
		return uint(slices.IndexFunc(t.shop.Suppliers, func(s programme.Supplier) bool { return s.Code == b.supplier }))
	}
	slices.SortFunc(out, func(a, b bought) int { return cmp.Compare(place(a), place(b)) })
	return out
}

func (t notation) supplierOf(garment string) string {
	if g, ok := t.shop.Garment(garment); ok {
		return g.Supplier
	}
	return ""
}

// freeFreight is said of an order that is sent for nothing.
const freeFreight = "freight is free"

// freight says how far an order is from free freight and from the supplier's minimum.
func (t notation) freight(code string, value programme.Money) string {
	s, ok := t.shop.Supplier(code)
	if !ok {
		return ""
	}
	switch {
	case value < s.MinimumOrder:
		return fmt.Sprintf("%s below the minimum order of %s", t.money(s.MinimumOrder-value), t.money(s.MinimumOrder))
	case s.FreeFreightFrom > 0 && value < s.FreeFreightFrom:
		return fmt.Sprintf("freight %s; %s more would make it free", t.money(s.Freight),
			t.money(s.FreeFreightFrom-value))
	case s.FreeFreightFrom > 0:
		return freeFreight
	case s.Freight > 0:
		return "freight " + t.money(s.Freight)
	}
	return ""
}

// sheetView is the sheets of one transfer kind: what, and at what price.
type sheetView struct{ title, price string }

func (t notation) sheetView(s *SheetToOrder) sheetView {
	c := s.Cost
	return sheetView{
		title: fmt.Sprintf("%s: %s", t.kindName(s.Kind), t.copies(s)),
		price: fmt.Sprintf("%s (set-up %s, printing %s%s)", t.money(c.Total()), t.money(c.SetUp), t.money(c.Print),
			t.topUp(c.TopUp)),
	}
}

// kindName returns what people call a transfer kind.
func (t notation) kindName(code string) string {
	return clean.Short(t.shop.KindName(code))
}

// artwork returns what people call an artwork; where two have the same name,
// its code, which no other has, stands behind it.
func (t notation) artwork(code string) string {
	a, ok := t.shop.Artwork(code)
	if !ok || a.Name == "" {
		return clean.Short(code)
	}
	for i := range t.shop.Artworks {
		if x := &t.shop.Artworks[i]; x.Name == a.Name && x.Code != code {
			return clean.Short(a.Title()) + " (" + clean.Short(code) + ")"
		}
	}
	return clean.Short(a.Title())
}

// copies says how much is to be printed: 12 sheets, or a length of roll.
func (t notation) copies(s *SheetToOrder) string {
	if s.Length > 0 {
		return t.shop.Units.Length(s.Length) + " of roll"
	}
	return programme.NumberOf(s.Sheets(), "sheet")
}

// carriage says what the way of the i-th sheets costs: once for all sheets of a
// printer, and nothing when that house sends blanks of the round too.
func (r *Round) carriage(t notation, i int) string {
	printer := r.Sheets[i].Printer
	said := t.freight(printer, r.printed(printer))
	switch {
	case said == "":
		return ""
	case r.sendsBlanks(t, printer):
		return "in one delivery with the blanks"
	case slices.ContainsFunc(r.Sheets[:i], func(s SheetToOrder) bool { return s.Printer == printer }):
		return "in one delivery with the other sheets"
	}
	return said
}

// sendsBlanks reports whether blanks of the round are bought from a supplier.
func (r *Round) sendsBlanks(t notation, supplier string) bool {
	return slices.ContainsFunc(r.Due, func(d Due) bool {
		return slices.ContainsFunc(d.Proposal.Lines,
			func(l reorder.Line) bool { return l.Buy > 0 && t.supplierOf(l.Garment) == supplier })
	})
}

// printed returns what all sheets of one printer cost in this round.
func (r *Round) printed(printer string) programme.Money {
	var sum programme.Money
	for i := range r.Sheets {
		if r.Sheets[i].Printer == printer {
			sum += r.Sheets[i].Cost.Total()
		}
	}
	return sum
}

func (t notation) topUp(m programme.Money) string {
	if m == 0 {
		return ""
	}
	return ", to the minimum order " + t.money(m)
}

// layouts draws the layouts of the order's sheets and says what is on them.
func (t notation) layouts(m *Mail, p *page.Page, s *SheetToOrder, order int) error {
	for j := range s.Layouts {
		l := &s.Layouts[j]
		size := t.shop.Units.Length(l.Width) + " × " + t.shop.Units.Length(l.Height)
		if j < layoutPictures {
			png, width, height, err := chart.Layout(l)
			if err != nil {
				return err
			}
			pic := page.Picture{CID: id("sheet", order+1, l.Name),
				Alt: fmt.Sprintf("Layout %s, %s: %s", clean.Short(l.Name), size, t.itemWords(l)), Width: width,
				Height: height}
			m.Inline = append(m.Inline, Part{Name: pic.CID + ".png", Type: typePNG, CID: pic.CID, Data: png})
			p.Add(pic)
		}
		words := fmt.Sprintf(": %s, %s: %s, %.0f%% used", programme.NumberOf(l.Copies, "copy"), size,
			t.itemWords(l), 100*l.Fill)
		p.Add(page.Paragraph{Words: page.Strong("Layout " + clean.Short(l.Name)).And(page.Plain(words))})
	}
	return nil
}

// itemWords lists what is on one copy of a layout: 8 × Kettle chest, 4 × Kettle cap.
func (t notation) itemWords(l *sheet.Layout) string {
	n := maps.Collect(l.Artworks())
	var parts []string
	for _, c := range slices.Sorted(maps.Keys(n)) {
		parts = append(parts, fmt.Sprintf("%d × %s", n[c], t.artwork(c)))
	}
	return sentence(parts)
}
