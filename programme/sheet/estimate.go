package sheet

import (
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// Guess is about what a transfer of one artwork costs, in hundredths, when a
// number of them are ordered together and share their sheets with nothing else.
type Guess struct {
	// Print is each one's place on the sheet or roll; what is left of the last sheet
	// keeps for the next order. SetUp is its share of a layout's set-up.
	Print, SetUp float64
}

// Each returns the printing and the set-up of one image together.
func (g Guess) Each() float64 { return g.Print + g.SetUp }

// Estimate guesses what each of so many pieces of an artwork costs on the
// cheapest printer and size of its kind, under the prices that a plan is made
// by (price lists by size, breaks that pay, charged lengths), without a search;
// ok is false when no sheet of the kind holds it.
func Estimate(kind *programme.TransferKind, art *programme.Artwork, pieces int) (least Guess, ok bool) {
	least.Print = math.Inf(1)
	printers := kind.Ways()
	for i := range printers {
		k := &printers[i]
		for _, size := range sizesOf(k) {
			g, fits := estimateOn(k, size, art, max(1, pieces))
			if fits && g.Each() < least.Each() {
				least, ok = g, true
			}
		}
	}
	return least, ok
}

func estimateOn(k *programme.TransferKind, size programme.SheetSize, art *programme.Artwork, pieces int) (Guess, bool) {
	if len(k.PricesOf(&size)) == 0 && len(size.Lengths) == 0 {
		return Guess{}, false
	}
	f, err := newField("", k, size, []want{{art: art}})
	if err != nil {
		return Guess{}, false
	}
	setUp := float64(k.SetUp)
	if k.Process == programme.ScreenPrinted {
		setUp += float64(k.SetUpPerInk) * float64(max(1, art.Inks))
	}
	if f.size.Roll {
		return Guess{f.rollEach(pieces), setUp / float64(pieces)}, true
	}
	n := f.onOne()
	if n == 0 {
		return Guess{}, false
	}
	sheets := (pieces + n - 1) / n
	return Guess{f.eachAbout(float64(sheets)) / float64(n), setUp / float64(pieces)}, true
}

// onOne returns how many images of the only artwork a sheet holds.
func (f *field) onOne() int {
	one := f.piece(f.wants[0], 1)
	if places, ok := pack.OneSize(one, f.width, f.height, f.kind.Cut == programme.Trimmer); ok {
		return len(places)
	}
	rows := func(w, h int64) int { return int((f.width / w) * (f.height / h)) }
	n := rows(one.W, one.H)
	if one.Turn {
		n = max(n, rows(one.H, one.W))
	}
	return n
}

// rollEach returns what each image of the only artwork costs in rows across a roll.
func (f *field) rollEach(pieces int) float64 {
	one := f.piece(f.wants[0], 1)
	least := math.Inf(1)
	lay := func(w, h int64) {
		across := f.width / w
		if across == 0 || h > f.height {
			return
		}
		rows := (int64(pieces) + across - 1) / across
		var cost float64
		for most := f.height / h; rows > 0; rows -= most {
			cost += f.lengthCost(min(rows, most) * h)
		}
		least = min(least, cost/float64(pieces))
	}
	lay(one.W, one.H)
	if one.Turn {
		lay(one.H, one.W)
	}
	return least
}

// lengthCost returns what a piece of roll costs by itself.
func (f *field) lengthCost(length int64) float64 {
	if len(f.tariff.lengths) > 0 {
		return float64(f.tariff.setPrice(f.outer(length)))
	}
	return float64(f.tariff.price(f.tariff.filled(f.tariff.quantity(f.tariff.charged(f.outer(length)), 1))))
}
