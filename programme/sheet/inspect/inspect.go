// Package inspect checks transfer plans against the rules of the trade without
// sharing any code with the planner that made them: nothing overlaps, margins
// and gutters are kept, images are turned only where allowed, a trimmer can
// really take the sheet apart, the need is met and the money adds up.
package inspect

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
)

// Plan returns one sentence for every rule that the plan breaks; none when it is sound.
func Plan(shop *programme.Shop, plan *sheet.Plan) (faults []string) {
	printed := map[string]int{}
	var cost sheet.Cost
	for i := range plan.Orders {
		o := &plan.Orders[i]
		faults = append(faults, Order(shop, o)...)
		cost.SetUp += o.Cost.SetUp
		cost.Print += o.Cost.Print
		cost.TopUp += o.Cost.TopUp
		for _, l := range o.Layouts {
			for _, it := range l.Items {
				printed[it.Artwork] += l.Copies
			}
		}
	}
	for _, l := range plan.Lines {
		if l.Asked+l.Spoilage-l.FromShelf != l.Print || l.Print < 0 {
			faults = append(faults, fmt.Sprintf("%s: to print is %d, which does not add up", l.Artwork, l.Print))
		}
		if printed[l.Artwork] != l.Printed || l.Printed < l.Print {
			faults = append(faults, fmt.Sprintf("%s: needs %d, the sheets carry %d, the line says %d", l.Artwork,
				l.Print, printed[l.Artwork], l.Printed))
		}
	}
	if cost.Total() != plan.Cost.Total() {
		faults = append(faults, "the cost of the orders does not add up to the plan's")
	}
	return append(faults, shares("plan", plan.Shares, plan.Cost)...)
}

// Order returns the faults of one order.
func Order(shop *programme.Shop, o *sheet.Order) (faults []string) {
	kind, ok := madeBy(shop, o)
	if !ok {
		return []string{"unknown transfer kind or printer " + o.Kind + " " + o.Printer}
	}
	for i := range o.Layouts {
		l := &o.Layouts[i]
		say := func(format string, args ...any) {
			faults = append(faults, fmt.Sprintf("%s layout %s: ", o.Kind, l.Name)+fmt.Sprintf(format, args...))
		}
		if l.Copies < 1 || (len(l.Items) == 0 && !o.Sheet.Roll) {
			say("%d copies of %d images", l.Copies, len(l.Items))
		}
		if l.Width != o.Sheet.Width || (!o.Sheet.Roll && l.Height != o.Sheet.Height) ||
			(o.Sheet.Roll && o.Sheet.Height > 0 && l.Height > o.Sheet.Height) {
			say("is %v by %v, the sheet %v by %v", l.Width, l.Height, o.Sheet.Width, o.Sheet.Height)
		}
		images(shop, kind, l, say)
		spacing(kind, l, say)
		if kind.Cut == programme.Trimmer && !Guillotine(Boxes(l)) {
			say("straight cuts cannot take it apart")
		}
		if kind.Cut == programme.Trimmer && o.Sheet.Roll && kind.LongestCut > 0 {
			if long := Stretch(l); long > max(kind.LongestCut, longestSide(shop, l)) {
				say("a cut along the roll is %v long", long)
			}
		}
	}
	if want := price(kind, o); want != o.Cost.SetUp+o.Cost.Print {
		faults = append(faults, fmt.Sprintf("%s: costs %v, worked out again %v", o.Kind,
			o.Cost.SetUp+o.Cost.Print, want))
	}
	return append(faults, shares(o.Kind, o.Shares, o.Cost)...)
}

// images checks every image's size, turn and place inside the margins.
func images(shop *programme.Shop, kind *programme.TransferKind, l *sheet.Layout, say func(string, ...any)) {
	m := kind.Margin
	for _, it := range l.Items {
		a, ok := shop.Artwork(it.Artwork)
		if !ok || a.Kind != kind.Code || a.Client != it.Client {
			say("artwork %s is not of this kind and client", it.Artwork)
			continue
		}
		w, h := a.Width, a.Height
		if it.Turned {
			w, h = h, w
		}
		if w != it.W || h != it.H || (it.Turned && !a.Turn) {
			say("%s lies as %v by %v turned %v", it.Artwork, it.W, it.H, it.Turned)
		}
		if it.X < m || it.Y < m || it.X+it.W > l.Width-m || it.Y+it.H > l.Height-m {
			say("%s at %v, %v reaches into the margin", it.Artwork, it.X, it.Y)
		}
	}
}

// spacing checks the gutter between every two images.
func spacing(kind *programme.TransferKind, l *sheet.Layout, say func(string, ...any)) {
	g := kind.Gutter
	for i, a := range l.Items {
		for _, b := range l.Items[:i] {
			if a.X < b.X+b.W+g && b.X < a.X+a.W+g && a.Y < b.Y+b.H+g && b.Y < a.Y+a.H+g {
				say("%s at %v, %v is nearer than the gutter to %s at %v, %v", a.Artwork, a.X, a.Y, b.Artwork, b.X, b.Y)
			}
		}
	}
}

// madeBy returns the kind as the order's printer makes it.
func madeBy(shop *programme.Shop, o *sheet.Order) (*programme.TransferKind, bool) {
	kind, ok := shop.Kind(o.Kind)
	if !ok || kind.Printer == o.Printer {
		return kind, ok
	}
	for _, offer := range kind.Offers {
		if offer.Printer != o.Printer {
			continue
		}
		k := *kind
		k.Sheets, k.Prices, k.PricedBy, k.SetUp, k.SetUpPerInk = offer.Sheets, offer.Prices, offer.PricedBy,
			offer.SetUp, offer.SetUpPerInk
		k.BreaksPerOrder, k.MinimumOrder = offer.BreaksPerOrder, offer.MinimumOrder
		return &k, true
	}
	return nil, false
}

// Stretch returns the longest part of a roll that no line across parts.
func Stretch(l *sheet.Layout) (long programme.Length) {
	items := slices.Clone(l.Items)
	slices.SortFunc(items, func(a, b sheet.Item) int { return cmp.Compare(a.Y, b.Y) })
	var from, to programme.Length
	for i, it := range items {
		if i == 0 || it.Y >= to {
			from = it.Y
		}
		to = max(to, it.Y+it.H)
		long = max(long, to-from)
	}
	return long
}

func longestSide(shop *programme.Shop, l *sheet.Layout) (side programme.Length) {
	for _, it := range l.Items {
		if a, ok := shop.Artwork(it.Artwork); ok {
			side = max(side, a.Width, a.Height)
		}
	}
	return side
}

// price works out set-up and print cost again from the shop file.
func price(kind *programme.TransferKind, o *sheet.Order) programme.Money {
	prices := kind.Prices
	if len(o.Sheet.Prices) > 0 {
		prices = o.Sheet.Prices
	}
	each := func(q float64) float64 {
		p := prices[0].Price
		for _, b := range prices {
			if b.From <= q+1e-9 {
				p = b.Price
			}
		}
		return float64(p)
	}
	if o.Sheet.Roll {
		return kind.SetUp + roll(kind, o, each)
	}
	one := 1.0 // units of price that a sheet is
	switch kind.PricedBy {
	case programme.PerSquareMetre:
		one = o.Sheet.Width.Millimetres() * o.Sheet.Height.Millimetres() / 1e6
	case programme.PerSquareFoot:
		one = o.Sheet.Width.Inches() * o.Sheet.Height.Inches() / 144
	case programme.BySize, programme.PerSheet, programme.PerMetre, programme.PerFoot: // a sheet is the unit
	}
	var cost programme.Money
	var print float64
	for _, l := range o.Layouts {
		n := l.Copies
		if kind.BreaksPerOrder || kind.Process == programme.Digital {
			n = o.Sheets()
		}
		v := each(float64(n)*one) * one * float64(l.Copies)
		print += v
		if kind.Process == programme.ScreenPrinted {
			cost += kind.SetUp + kind.SetUpPerInk*programme.Money(l.Inks) + programme.Money(math.Round(v))
		}
	}
	if kind.Process == programme.Digital {
		return kind.SetUp + programme.Money(math.Round(print))
	}
	return cost
}

// roll returns the price of pieces of roll.
func roll(kind *programme.TransferKind, o *sheet.Order, each func(float64) float64) programme.Money {
	var length programme.Length // added up exactly: half a cent must not hang on the order of a sum
	var set programme.Money
	for _, l := range o.Layouts {
		length += l.Height
		for _, p := range o.Sheet.Lengths {
			if p.Length == l.Height {
				set += p.Price
			}
		}
	}
	if len(o.Sheet.Lengths) > 0 {
		return set
	}
	quantity := length.Millimetres() / 1000
	switch kind.PricedBy {
	case programme.PerFoot:
		quantity = length.Inches() / 12
	case programme.PerSquareMetre:
		quantity *= o.Sheet.Width.Millimetres() / 1000
	case programme.PerSquareFoot:
		quantity = length.Inches() * o.Sheet.Width.Inches() / 144
	case programme.BySize, programme.PerSheet, programme.PerMetre: // by the metre
	}
	return programme.Money(math.Round(each(quantity)*quantity + 1e-6))
}

func shares(of string, shares []sheet.Share, cost sheet.Cost) (faults []string) {
	var sum sheet.Cost
	var area float64
	for _, s := range shares {
		sum.SetUp += s.Cost.SetUp
		sum.Print += s.Cost.Print
		sum.TopUp += s.Cost.TopUp
		area += s.Area
	}
	if sum.SetUp != cost.SetUp || sum.Print != cost.Print || sum.TopUp != cost.TopUp {
		faults = append(faults, fmt.Sprintf("%s: the clients' shares add up to %v, the cost is %v", of, sum.Total(),
			cost.Total()))
	}
	if len(shares) > 0 && math.Abs(area-1) > 1e-9 {
		faults = append(faults, fmt.Sprintf("%s: the clients' areas add up to %v", of, area))
	}
	return faults
}
