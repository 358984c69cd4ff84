package pack

// Bins packs all pieces on as few sheets of width by height as it can. An
// error of type TooLarge names a piece that fits no sheet.
func Bins(pieces []Piece, width, height int64, opt Options) ([][]Place, error) {
	scaled, w, h, unit := scale(pieces, width, height)
	for i, p := range scaled {
		if p.Count > 0 && !fitsAlone(p, w, h) {
			return nil, TooLarge{i}
		}
	}
	b := newBins(scaled, w, h, opt)
	b.first()
	b.improve()
	for i := range b.best {
		unscale(b.best[i], unit)
	}
	return b.best, nil
}

func fitsAlone(p Piece, w, h int64) bool {
	return (p.W <= w && p.H <= h) || (p.Turn && p.H <= w && p.W <= h)
}

// bins is the state of one search for few sheets, in scaled units.
type bins struct {
	*search
	pieces        []Piece
	elems         []element
	width, height int64
	best          [][]Place
	build         builder
	// builders take turns: with scissors straight cuts are allowed too, and
	// the two heuristics fail on different instances.
	builders []builder
}

func newBins(pieces []Piece, width, height int64, opt Options) *bins {
	elems := elements(pieces)
	builders := []builder{newBuilder(elems, opt.Guillotine)}
	if !opt.Guillotine {
		builders = append(builders, newBuilder(elems, true))
	}
	return &bins{
		search: newSearch(area(pieces), binCooling, opt), pieces: pieces, elems: elems,
		width: width, height: height, build: builders[0], builders: builders,
	}
}

// first fills sheet after sheet from each sorted sequence.
func (b *bins) first() {
	for k := range starts {
		b.build.load(sorted(b.elems, k))
		var sheets [][]Place
		for b.build.remaining() > 0 {
			b.build.fill(b.width, b.height)
			sheets = append(sheets, toPieces(b.build.result(), b.elems))
		}
		if b.best == nil || len(sheets) < len(b.best) {
			b.best = sheets
		}
		if b.opt.Stop != nil && b.opt.Stop() {
			return
		}
	}
}

// improve tries to do with one sheet less until the bound or the end of the budget.
func (b *bins) improve() {
	if len(b.best) <= 1 || b.over() {
		return
	}
	floor := binBound(b.pieces, b.width, b.height)
	for run := 0; len(b.best) > floor && !b.over(); run++ {
		b.build = b.builders[run%len(b.builders)]
		b.flips = b.opt.Guillotine || run%2 == 1
		order := sorted(b.elems, run)
		for len(b.best) > floor && b.fewer(order, len(b.best)-1) {
		}
	}
}

// fewer searches for a packing on that many sheets.
func (b *bins) fewer(order []int32, sheets int) bool {
	build := func(order []int32) (placed int64) {
		b.build.load(order)
		for range sheets {
			placed += b.build.fill(b.width, b.height)
		}
		return placed
	}
	steps := runLength(len(order), b.opt.Iterations-b.tries)
	if !b.anneal(order, steps, build) {
		return false
	}
	b.build.load(order)
	b.best = b.best[:0]
	for b.build.remaining() > 0 {
		b.build.fill(b.width, b.height)
		b.best = append(b.best, toPieces(b.build.result(), b.elems))
	}
	return true
}
