package pack

// Fit packs all pieces on one sheet; false when no way was found.
func Fit(pieces []Piece, width, height int64, opt Options) ([]Place, bool) {
	scaled, w, h, unit := scale(pieces, width, height)
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
			return unscale(toPieces(b.build.result(), b.elems), unit), true
		}
	}
	b.flips = opt.Guillotine
	for run := 0; !b.over(); run++ {
		if b.fewer(sorted(b.elems, run), 1) {
			return unscale(b.best[0], unit), true
		}
	}
	return nil, false
}
