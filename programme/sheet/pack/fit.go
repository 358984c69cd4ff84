package pack

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
	b.flips = opt.Guillotine
	for run := 0; !b.over(); run++ {
		if b.fewer(sorted(b.elems, run), 1) {
			return asGiven(unscale(b.best[0], unit), pieces), true
		}
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

// count is the number of pieces.
func (b *bins) count() (n int) {
	for _, p := range b.pieces {
		n += p.Count
	}
	return n
}
