package sheet

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// pieces lists all wants with what must be printed.
func (f *field) pieces() []pack.Piece {
	out := make([]pack.Piece, len(f.wants))
	for i, w := range f.wants {
		out[i] = f.piece(w, w.line.Print)
	}
	return out
}

// roll packs every image once per need on the least length of roll. What is
// longer than one piece of roll may be is first parted into pieces, then each
// is packed short.
func (f *field) roll(o *Order, req Request) error {
	if err := f.layRoll(o, req.Budget); err != nil {
		return err
	}
	for _, l := range o.Layouts {
		o.Length += l.Height
	}
	o.Cost.SetUp = f.kind.SetUp
	o.Cost.Print = rollPrice(f.kind.Prices, o.Length)
	for i := range o.Layouts {
		l := &o.Layouts[i]
		l.print = o.Cost.Print.Times(float64(l.Height) / float64(o.Length))
		l.setUp = l.print
	}
	return nil
}

func (f *field) layRoll(o *Order, b Budget) (err error) {
	if pack.StripBound(f.pieces(), f.width) <= f.height {
		places, length, err := pack.Strip(f.pieces(), f.width, f.options(b, f.images()))
		if err != nil {
			return err
		}
		if length <= f.height {
			o.Layouts = []Layout{f.rollPiece(places, length)}
			return nil
		}
	}
	o.Layouts, err = f.rollPieces(b)
	return err
}

func (f *field) rollPiece(places []pack.Place, length int64) Layout {
	height := programme.Length(length) - f.kind.Gutter + 2*f.kind.Margin
	return Layout{Copies: 1, Width: f.size.Width, Height: height, Items: f.items(places)}
}

func (f *field) rollPieces(b Budget) ([]Layout, error) {
	bins, err := pack.Bins(f.pieces(), f.width, f.height, f.options(b, f.images()))
	if err != nil {
		return nil, err
	}
	var out []Layout
	for _, bin := range bins {
		counts := make([]int, len(f.wants))
		for _, p := range bin {
			counts[p.Piece]++
		}
		pieces := f.pieces()
		for i := range pieces {
			pieces[i].Count = counts[i]
		}
		places, length, err := pack.Strip(pieces, f.width, f.options(b, len(bin)))
		if err != nil {
			return nil, err
		}
		if length > f.height {
			places, length = bin, topOf(bin)
		}
		out = append(out, f.rollPiece(places, length))
	}
	return out, nil
}

func topOf(places []pack.Place) (top int64) {
	for _, p := range places {
		top = max(top, p.Y+p.H)
	}
	return top
}

// rollPrice is the price of a length: so much a metre, by break of the whole length.
func rollPrice(prices []programme.PriceBreak, length programme.Length) programme.Money {
	metres := length.Millimetres() / 1000
	return programme.Money(math.Round(float64(priceAt(prices, metres)) * metres))
}

// priceAt returns the price each at a quantity, in copies or metres.
func priceAt(prices []programme.PriceBreak, quantity float64) programme.Money {
	price := prices[0].Price
	for _, b := range prices {
		if quantity >= b.From {
			price = b.Price
		}
	}
	return price
}

// sheets packs every image once per need on as few fixed sheets as possible;
// equal sheets are counted as copies of one layout.
func (f *field) sheets(o *Order, req Request) error {
	bins, err := pack.Bins(f.pieces(), f.width, f.height, f.options(req.Budget, f.images()))
	if err != nil {
		return err
	}
	for _, bin := range bins {
		o.add(Layout{Copies: 1, Width: f.size.Width, Height: f.size.Height, Items: f.items(bin)})
	}
	n := len(bins)
	o.Cost.SetUp = f.kind.SetUp
	o.Cost.Print = priceAt(f.kind.Prices, float64(n)) * programme.Money(n)
	for i := range o.Layouts {
		l := &o.Layouts[i]
		l.print = o.Cost.Print.Times(float64(l.Copies) / float64(n))
		l.setUp = l.print
	}
	return nil
}

// add appends a layout or, when an equal one is there, one copy more of it.
func (o *Order) add(l Layout) {
	for i := range o.Layouts {
		if sameItems(o.Layouts[i].Items, l.Items) {
			o.Layouts[i].Copies++
			return
		}
	}
	o.Layouts = append(o.Layouts, l)
}

func sameItems(a, b []Item) bool {
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}
