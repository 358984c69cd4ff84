// Package sheettest invents needs of transfers as shops meet them, and knows how well
// they can be laid out at best or by common means: bounds, a search through every way
// to print a small need, packers for general use. Tests and the laboratory hold plans
// against it.
package sheettest

import (
	"fmt"
	"math/rand/v2"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

const inch = programme.Inch

// asOf is the day that needs are planned on; nothing of them depends on it.
var asOf = programme.NewDate(2026, 3, 2)

// Roll is a common width of roll, and Page a common fixed size for digital printing.
var (
	Roll = programme.SheetSize{Code: "22in", Width: 22 * inch, Roll: true}
	Page = programme.SheetSize{Code: "330x483", Width: 330 * programme.Millimetre, Height: 483 * programme.Millimetre}
)

// ShopNeed is a need as a shop meets it: 3 to 40 artworks of 40 to 330 mm, to a
// tenth of a millimetre, 1 to 60 of each, small ones more often.
func ShopNeed(seed uint64, cut programme.CutStyle, size programme.SheetSize) sheet.Request {
	rng := rand.New(rand.NewPCG(seed, 1830))
	kind := programme.TransferKind{
		Code: "film", Process: programme.Digital, Cut: cut, Gutter: 6 * programme.Millimetre,
		Margin: 6 * programme.Millimetre,
		Prices: []programme.PriceBreak{{From: 0, Price: 1600}}, Sheets: []programme.SheetSize{size},
	}
	if cut == programme.Trimmer {
		kind.LongestCut = 1200 * programme.Millimetre
	}
	shop := &programme.Shop{Currency: "USD", Kinds: []programme.TransferKind{kind}}
	req := sheet.Request{AsOf: asOf, Shop: shop}
	side := func() programme.Length {
		u := rng.Float64()
		return programme.Length(400+int(2900*u*u*rng.Float64())) * programme.Millimetre / 10
	}
	for i := range 3 + rng.IntN(38) {
		a := programme.Artwork{Code: fmt.Sprintf("art%02d", i), Client: fmt.Sprint("client", i%4), Kind: "film",
			Width: side(), Height: side(), Turn: true}
		shop.Artworks = append(shop.Artworks, a)
		req.Needs = append(req.Needs, sheet.Need{Artwork: a.Code, Pieces: 1 + rng.IntN(60)})
	}
	return req
}

// LengthFloor is a length that no packing of the need is below.
func LengthFloor(req sheet.Request) float64 {
	k := &req.Shop.Kinds[0]
	var pieces []pack.Piece
	for i, n := range req.Needs {
		a := &req.Shop.Artworks[i]
		pieces = append(pieces, pack.Piece{W: int64(a.Width + k.Gutter), H: int64(a.Height + k.Gutter), Count: n.Pieces,
			Turn: true})
	}
	return float64(pack.StripBound(pieces, int64(k.Sheets[0].Width-2*k.Margin+k.Gutter)) - int64(k.Gutter) +
		int64(2*k.Margin))
}

// PageNeed is a need of the same kind for fixed sheets, with artworks that fit one.
func PageNeed(seed uint64) sheet.Request {
	req := ShopNeed(seed, programme.Scissors, Page)
	req.Shop.Kinds[0].Prices = []programme.PriceBreak{{From: 1, Price: 500}}
	for j := range req.Shop.Artworks {
		a := &req.Shop.Artworks[j]
		a.Width, a.Height = min(a.Width, 300*programme.Millimetre), min(a.Height, 300*programme.Millimetre)
	}
	return req
}

// GangNeed is a screen-printed need small enough to go through every way to print it.
func GangNeed(seed uint64, clients, artworks int) sheet.Request {
	rng := rand.New(rand.NewPCG(seed, 77))
	kind := programme.TransferKind{
		Code: "k", Process: programme.ScreenPrinted, Cut: programme.Scissors, Gutter: inch / 4, Margin: inch / 4,
		SetUp: programme.Money(200 + 400*rng.IntN(7)), SetUpPerInk: programme.Money(300 * rng.IntN(3)),
		BreaksPerOrder: rng.IntN(3) == 0,
		Prices:         []programme.PriceBreak{{From: 1, Price: 900}, {From: 10, Price: 620}, {From: 25, Price: 410}},
		Sheets:         []programme.SheetSize{{Code: "13x19", Width: 13 * inch, Height: 19 * inch}},
	}
	shop := &programme.Shop{Currency: "USD", Kinds: []programme.TransferKind{kind}}
	req := sheet.Request{AsOf: asOf, Shop: shop}
	same := rng.IntN(3) == 0
	w, h := programme.Length(24+rng.IntN(20))*inch/8, programme.Length(24+rng.IntN(20))*inch/8
	for i := range artworks {
		if !same {
			w, h = programme.Length(24+rng.IntN(45))*inch/8, programme.Length(24+rng.IntN(45))*inch/8
		}
		a := programme.Artwork{
			Code: fmt.Sprint("art", i), Client: fmt.Sprint("client", i%clients), Kind: "k", Width: w,
			Height: h, Turn: true,
			Inks: 1 + rng.IntN(3), InkSet: []string{"white", "team"}[rng.IntN(2)],
		}
		shop.Artworks = append(shop.Artworks, a)
		req.Needs = append(req.Needs, sheet.Need{Artwork: a.Code, Pieces: 4 + rng.IntN(30)*(1+rng.IntN(5))})
	}
	return req
}
