package sheet

import (
	"fmt"
	"math"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet/gang"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// problem states the choice of layouts; money is in hundredths.
func (f *field) problem() *gang.Problem {
	p := &gang.Problem{SetUp: func(c []int) float64 { return float64(f.setUp(c)) }, PerOrder: f.kind.BreaksPerOrder}
	p.Fits = func(copies []int) bool {
		_, ok := f.fit(copies, pack.Options{Iterations: f.effort})
		return ok
	}
	p.TryHard = func(copies []int, effort int) bool {
		_, ok := f.fit(copies, pack.Options{Seed: uint64(effort), Iterations: effort, Stop: f.stop})
		return ok
	}
	floor := f.floor()
	for _, w := range f.wants {
		p.Need = append(p.Need, w.line.Print)
		p.Size = append(p.Size, f.share(w))
	}
	one := f.tariff.quantity(f.size.Height, 1)
	for _, b := range f.tariff.breaks {
		p.Breaks = append(p.Breaks, gang.Break{From: int(math.Ceil(b.From/one - 1e-9)), Price: float64(b.Price) * one})
	}
	if f.kind.BreaksPerOrder && f.whole > floor { // the sheets of other parts count towards the break
		p.Breaks = []gang.Break{{From: 1, Price: f.eachAbout(math.Ceil(f.whole))}}
	}
	if slots, ok := f.slots(); ok {
		p.Slots = slots
		for j := range p.Size {
			p.Size[j] = 1 / float64(slots)
		}
	}
	if f.kind.OverWorth > 0 {
		each := f.eachAbout(math.Ceil(floor))
		for j, w := range f.wants {
			p.Worth = append(p.Worth, f.kind.OverWorth*each*p.Size[j])
			p.Useful = append(p.Useful, f.useful(w))
		}
	}
	return p
}

// share returns the part of a sheet that one copy takes up at the least.
func (f *field) share(w want) float64 {
	piece := f.piece(w, 1)
	return float64(piece.W) * float64(piece.H) / (float64(f.width) * float64(f.height))
}

// floor returns the least number of sheets by area alone.
func (f *field) floor() (sheets float64) {
	for _, w := range f.wants {
		sheets += float64(w.line.Print) * f.share(w)
	}
	return sheets
}

// eachOf returns what a sheet costs when n are printed.
func (f *field) eachOf(n float64) float64 {
	one := f.tariff.quantity(f.size.Height, 1)
	return float64(priceAt(f.tariff.breaks, n*one)) * one
}

// eachAbout returns what a sheet costs when about n are printed: the price at the
// next break where ordering up to it is no dearer.
func (f *field) eachAbout(n float64) float64 {
	one := f.tariff.quantity(f.size.Height, 1)
	return f.eachOf(f.tariff.filled(n*one) / one)
}

// useful returns how many overs of an artwork will be used before they are too old.
func (f *field) useful(w want) int {
	months := f.kind.MaxOversMonths
	if f.kind.ShelfDays > 0 {
		months = min(months, float64(f.kind.ShelfDays)/30.44)
	}
	return int(months * w.perMonth)
}

// setUp returns what one layout costs to set up: once, and once for each ink colour.
func (f *field) setUp(copies []int) programme.Money {
	return f.kind.SetUp + f.kind.SetUpPerInk*programme.Money(f.inks(copies))
}

// inks counts the ink colours on a layout. Artworks of one ink set share their
// colours; an artwork without an ink set brings its own.
func (f *field) inks(copies []int) (n int) {
	if f.kind.Process != programme.ScreenPrinted {
		return 0
	}
	for j, c := range copies {
		if c == 0 {
			continue
		}
		a := f.wants[j].art
		if a.InkSet == "" {
			n += a.Inks
			continue
		}
		// Count the set once, with the most colours any of its artworks here uses,
		// at the first artwork that reaches it.
		first := true
		for i := range copies {
			b := f.wants[i].art
			if copies[i] > 0 && b.InkSet == a.InkSet && (b.Inks > a.Inks || (b.Inks == a.Inks && i < j)) {
				first = false
				break
			}
		}
		if first {
			n += a.Inks
		}
	}
	return n
}

// fit lays the copies out on one sheet, remembering what it found, so that a
// layout that was chosen can be drawn.
func (f *field) fit(copies []int, opt pack.Options) ([]pack.Place, bool) {
	key := fmt.Sprint(copies)
	if places, known := f.fitted[key]; known && (places != nil || opt.Iterations <= f.effort) {
		return places, places != nil
	}
	pieces := make([]pack.Piece, len(copies))
	for j, c := range copies {
		pieces[j] = f.piece(f.wants[j], c)
	}
	opt.Guillotine = f.kind.Cut == programme.Trimmer
	places, ok := pack.Fit(pieces, f.width, f.height, opt)
	if ok || f.fitted[key] == nil {
		f.fitted[key] = places // nil says that the usual effort was in vain
	}
	return places, ok
}

// slots returns how many images one sheet holds when all are of one size.
func (f *field) slots() (int, bool) {
	first := f.piece(f.wants[0], 1)
	for _, w := range f.wants[1:] {
		if f.piece(w, 1) != first {
			return 0, false
		}
	}
	n := 0
	for {
		first.Count = n + 1
		if _, ok := pack.Fit([]pack.Piece{first}, f.width, f.height,
			pack.Options{Iterations: f.effort, Guillotine: f.kind.Cut == programme.Trimmer}); !ok {
			return n, true
		}
		n++
	}
}
