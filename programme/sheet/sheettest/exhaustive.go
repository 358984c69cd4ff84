package sheettest

import (
	"fmt"
	"math"
	"slices"

	"github.com/kitmuster/kitmuster/programme"
	"github.com/kitmuster/kitmuster/programme/sheet"
	"github.com/kitmuster/kitmuster/programme/sheet/pack"
)

// exhaustive goes through every set of at most three layouts and all their runs.
type exhaustive struct {
	kind   *programme.TransferKind
	arts   []programme.Artwork
	need   []int
	layout [][]int
	setUp  []float64
	best   float64
}

// LeastCost returns what a small need costs at least, in hundredths: the cheapest of all
// sets of at most three layouts with all their runs.
func LeastCost(req sheet.Request) float64 {
	e := &exhaustive{kind: &req.Shop.Kinds[0], arts: req.Shop.Artworks, best: math.Inf(1)}
	for _, n := range req.Needs {
		e.need = append(e.need, n.Pieces)
	}
	e.grow(make([]int, len(e.need)), 0)
	e.maximal()
	for i := range e.layout {
		e.try(i, -1, -1)
	}
	least := slices.Min(e.setUp)
	for i := range e.layout {
		for j := i; j < len(e.layout); j++ {
			if e.setUp[i]+e.setUp[j]+e.sheetsFloor() < e.best {
				e.try(i, j, -1)
			}
		}
	}
	if 3*least+e.sheetsFloor() >= e.best {
		return e.best
	}
	for i := range e.layout {
		for j := i; j < len(e.layout); j++ {
			for k := j; k < len(e.layout); k++ {
				if e.setUp[i]+e.setUp[j]+e.setUp[k]+e.sheetsFloor() < e.best {
					e.try(i, j, k)
				}
			}
		}
	}
	return e.best
}

// grow lists every set of copies that fits a sheet; images are packed by a
// search far longer than the planner's.
func (e *exhaustive) grow(copies []int, from int) {
	for j := from; j < len(copies); j++ {
		copies[j]++
		if e.fits(copies) {
			e.layout = append(e.layout, slices.Clone(copies))
			e.grow(copies, j)
		}
		copies[j]--
	}
}

func (e *exhaustive) fits(copies []int) bool {
	var pieces []pack.Piece
	g, m := int64(e.kind.Gutter), e.kind.Margin
	for j, n := range copies {
		pieces = append(pieces, pack.Piece{W: int64(e.arts[j].Width) + g, H: int64(e.arts[j].Height) + g, Count: n,
			Turn: true})
	}
	s := e.kind.Sheets[0]
	_, ok := pack.Fit(pieces, int64(s.Width-2*m)+g, int64(s.Height-2*m)+g, pack.Options{Iterations: 400})
	return ok
}

// maximal drops layouts to which another copy could be added of an artwork that is on them.
func (e *exhaustive) maximal() {
	known := map[string]bool{}
	for _, l := range e.layout {
		known[fmt.Sprint(l)] = true
	}
	e.layout = slices.DeleteFunc(e.layout, func(l []int) bool {
		for j := range l {
			if l[j] > 0 {
				l[j]++
				more := known[fmt.Sprint(l)]
				l[j]--
				if more {
					return true
				}
			}
		}
		return false
	})
	for _, l := range e.layout {
		inks := map[string]int{}
		for j, n := range l {
			if n > 0 {
				inks[e.arts[j].InkSet] = max(inks[e.arts[j].InkSet], e.arts[j].Inks)
			}
		}
		n := 0
		for _, i := range inks {
			n += i
		}
		e.setUp = append(e.setUp, float64(e.kind.SetUp)+float64(e.kind.SetUpPerInk)*float64(n))
	}
}

func (e *exhaustive) each(n int) float64 {
	p := e.kind.Prices[0].Price
	for _, b := range e.kind.Prices {
		if float64(n) >= b.From {
			p = b.Price
		}
	}
	return float64(p)
}

// copies is the least that n sheets cost when more may be printed.
func (e *exhaustive) copies(n int) float64 {
	cost := e.each(n) * float64(n)
	for _, b := range e.kind.Prices {
		if int(b.From) > n {
			cost = min(cost, float64(b.Price)*b.From)
		}
	}
	return cost
}

func (e *exhaustive) sheetsFloor() float64 {
	var a float64
	s, g := e.kind.Sheets[0], e.kind.Gutter
	for j, n := range e.need {
		a += float64(n) * float64(e.arts[j].Width+g) * float64(e.arts[j].Height+g)
	}
	room := float64(s.Width-2*e.kind.Margin+g) * float64(s.Height-2*e.kind.Margin+g)
	return math.Ceil(a/room-1e-9) * float64(e.kind.Prices[len(e.kind.Prices)-1].Price)
}

// try goes through the runs of up to three layouts; the last run follows.
func (e *exhaustive) try(i, j, k int) {
	set := []int{i, j, k}
	for set[len(set)-1] < 0 {
		set = set[:len(set)-1]
	}
	var setUp float64
	for _, at := range set {
		setUp += e.setUp[at]
	}
	e.runs(set, slices.Clone(e.need), setUp, 0, 0)
}

func (e *exhaustive) runs(set, left []int, paid, copies float64, sheets int) {
	if paid+copies >= e.best {
		return
	}
	l := e.layout[set[0]]
	most := 0
	for j, n := range left {
		if l[j] > 0 {
			most = max(most, (n+l[j]-1)/l[j])
		}
	}
	finish := func(run int) float64 {
		if e.kind.BreaksPerOrder {
			return paid + e.copies(sheets+run)
		}
		return paid + copies + e.copies(run)
	}
	if len(set) == 1 {
		for j, n := range left {
			if n > 0 && l[j] == 0 {
				return
			}
		}
		if most > 0 {
			e.best = min(e.best, finish(most))
		}
		return
	}
	for run := 1; run <= most; run++ {
		rest := slices.Clone(left)
		for j := range rest {
			rest[j] = max(0, rest[j]-run*l[j])
		}
		cost := 0.0
		if !e.kind.BreaksPerOrder {
			cost = copies + e.copies(run)
		}
		e.runs(set[1:], rest, paid, cost, sheets+run)
	}
}
