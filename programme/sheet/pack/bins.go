package pack

import "slices"

// Bins packs all pieces on as few sheets of width by height as it can. An
// error of type TooLarge names a piece that fits no sheet.
func Bins(pieces []Piece, width, height int64, opt Options) ([][]Place, error) {
	s, err := NewBins(pieces, width, height, opt)
	if err != nil {
		return nil, err
	}
	s.Improve(opt.Iterations)
	return s.Best(), nil
}

// BinSearch is a search for few sheets that can be taken up again.
type BinSearch struct {
	given []Piece
	unit  int64
	bins  *bins
}

// NewBins packs without a search; see Bins.
func NewBins(pieces []Piece, width, height int64, opt Options) (*BinSearch, error) {
	scaled, w, h, unit := scale(upright(pieces), width, height)
	for i, p := range scaled {
		if p.Count > 0 && !fitsAlone(p, w, h) {
			return nil, TooLarge{i}
		}
	}
	b := newBins(scaled, w, h, opt)
	b.first()
	b.equal()
	b.floor = binBound(b.pieces, b.width, b.height)
	return &BinSearch{pieces, unit, b}, nil
}

// Improve searches for about so many tries more, to the end of a run, and
// returns how many it took.
func (s *BinSearch) Improve(tries int) int {
	return s.bins.goOn(tries, s.bins.improve)
}

// Best returns the sheets of the best packing found.
func (s *BinSearch) Best() [][]Place {
	out := make([][]Place, len(s.bins.best))
	for i, sheet := range s.bins.best {
		out[i] = asGiven(unscale(slices.Clone(sheet), s.unit), s.given)
	}
	return out
}

// Bound returns a number of sheets that no packing is below.
func (s *BinSearch) Bound() int { return s.bins.floor }

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
	runs     int
	starts   int
	floor    int // no packing takes fewer sheets

	beam      *beam
	sweeps    int
	beamTries int
	beamShare float64
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

// startBeam prepares the beam, which only a search for fewer sheets needs.
func (b *bins) startBeam() {
	if b.opt.Guillotine {
		return
	}
	b.beam, b.beamShare = newBeam(b.pieces, b.width, gapSteps, b.opt.Stop), 0.5
	if b.beam.pieces > manyPieces {
		b.beamShare = 0.85
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

// equal fills sheets of one size of piece with as many as one holds.
func (b *bins) equal() {
	one, ok := oneShape(b.pieces)
	if !ok {
		return
	}
	places, ok := OneSize(one, b.width, b.height, b.opt.Guillotine)
	n := b.count()
	if !ok || len(places) == 0 || (n+len(places)-1)/len(places) > len(b.best) {
		return
	}
	var all []Place
	for range (n + len(places) - 1) / len(places) {
		all = append(all, places...)
	}
	deal(all[:n], b.pieces)
	b.best = b.best[:0]
	for from := 0; from < n; from += len(places) {
		to := min(n, from+len(places))
		b.best = append(b.best, all[from:to:to])
	}
}

// improve tries to do with fewer sheets until the bound or the end of the
// budget. A beam that fills one sheet after the other and the search over
// sequences take turns.
func (b *bins) improve() {
	if len(b.best) <= b.floor || b.over() {
		return
	}
	if b.elems != nil && b.sweeps == 0 && b.beam == nil {
		b.startBeam()
	}
	for len(b.best) > b.floor && !b.over() {
		if b.beam != nil && float64(b.beamTries)*(1-b.beamShare) <= float64(b.tries-b.beamTries)*b.beamShare {
			b.sweep()
			continue
		}
		b.build = b.builders[b.starts%len(b.builders)]
		b.flips = b.opt.Guillotine || b.starts%2 == 1
		order := sorted(b.elems, b.starts)
		b.starts++
		for len(b.best) > b.floor && b.fewer(order, len(b.best)-1) {
		}
	}
}

// sweep fills all sheets once more and learns from it.
func (b *bins) sweep() {
	kept := 1 << (b.sweeps / (2 * sweepsEach))
	if kept > mostKept {
		b.beam = nil
		return
	}
	b.beam.price(recipes[b.sweeps/2%len(recipes)])
	b.sweeps++
	before := b.beam.opened
	patterns, ok := b.beam.fillAll(b.height, kept)
	tries := 1 + (b.beam.opened-before)*sweepTries/max(1, b.beam.pieces)
	b.tries += tries
	b.beamTries += tries
	if !ok {
		return
	}
	b.beam.learnSheets(patterns, b.height)
	if n := sheetsOf(patterns); n < len(b.best) {
		b.take(patterns)
	}
}

// take keeps patterns as the best sheets.
func (b *bins) take(patterns []pattern) {
	var all []Place
	var ends []int
	for _, p := range patterns {
		for range p.times {
			all = append(all, p.places...)
			ends = append(ends, len(all))
		}
	}
	all = b.beam.name(all, b.pieces)
	b.best = b.best[:0]
	from := 0
	for _, to := range ends {
		b.best = append(b.best, all[from:to:to])
		from = to
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
	steps := runLength(len(order), b.runs)
	b.runs++
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
