package pack

import "slices"

// Fit packs all pieces on one sheet; false when no way was found.
func Fit(pieces []Piece, width, height int64, opt Options) ([]Place, bool) {
	scaled, w, h, unit := scale(upright(pieces), width, height)
	for _, p := range scaled {
		if p.Count > 0 && !fitsAlone(p, w, h) {
			return nil, false
		}
	}
	total := area(scaled)
	if total > w*h {
		return nil, false
	}
	b := newBins(scaled, w, h, opt)
	if len(b.elems) == 0 {
		return nil, true
	}
	for k := range starts {
		b.build.load(sorted(b.elems, k))
		if b.build.fill(w, h) == total {
			return asGiven(unscale(toPieces(b.build.result(), b.elems), unit), pieces), true
		}
	}
	if one, ok := oneShape(scaled); ok {
		if places, ok := OneSize(one, w, h, opt.Guillotine); ok {
			if len(places) < b.count() {
				return nil, false
			}
			return asGiven(unscale(deal(places[:b.count()], scaled), unit), pieces), true
		}
	}
	if places, ok := b.byBeam(); ok {
		return asGiven(unscale(places, unit), pieces), true
	}
	b.flips = opt.Guillotine
	for run := 0; !b.over(); run++ {
		if b.fewer(sorted(b.elems, run), 1) {
			return asGiven(unscale(b.best[0], unit), pieces), true
		}
	}
	return nil, false
}

const (
	// fitSteps is the number of steps by which gaps are told apart when one sheet is packed.
	fitSteps = 256
	// beamFrom is the number of tries from which a beam is worth its time, and
	// acrossFrom that from which it is tried on the sheet laid across.
	beamFrom, acrossFrom = 25, 100
	// fitKept is which part of the tries a beam is wide, mostFitKept how wide at the most.
	fitKept, mostFitKept = 16, 16
)

// byBeam looks for a packing of all pieces on one sheet by a beam and by one
// laid across.
func (b *bins) byBeam() ([]Place, bool) {
	if b.opt.Guillotine || b.opt.Iterations < beamFrom {
		return nil, false
	}
	across := slices.Clone(b.pieces)
	for i := range across {
		if p := &across[i]; !p.Turn {
			p.W, p.H = p.H, p.W
		}
	}
	for k, pieces := range [][]Piece{b.pieces, across} {
		width, height := b.width, b.height
		if k == 1 {
			if b.opt.Iterations < acrossFrom {
				break
			}
			width, height = height, width
		}
		beam := newBeam(pieces, width, fitSteps, b.opt.Stop)
		beam.price(recipes[0])
		places, _, ok := beam.pass(height, min(mostFitKept, 1+b.opt.Iterations/fitKept))
		if !ok {
			continue
		}
		places = beam.name(places, pieces)
		if k == 1 {
			for i := range places {
				p := &places[i]
				p.X, p.Y, p.W, p.H = p.Y, p.X, p.H, p.W
			}
		}
		return places, true
	}
	return nil, false
}

// deal gives places of one size to the pieces in turn.
func deal(places []Place, pieces []Piece) []Place {
	at := 0
	for i, p := range pieces {
		for range min(p.Count, len(places)-at) {
			places[at].Piece = i
			at++
		}
	}
	return places
}

// count returns the number of pieces.
func (b *bins) count() (n int) {
	for _, p := range b.pieces {
		n += p.Count
	}
	return n
}
