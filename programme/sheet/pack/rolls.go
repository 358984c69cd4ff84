package pack

import "slices"

// RollSearch packs all pieces on lengths of a strip that are no longer than
// Longest each, so that they are short together. It can be taken up again.
type RollSearch struct {
	given   []Piece
	unit    int64
	pieces  []Piece
	longest int64
	search  *search
	beam    *beam
	sweeps  int
	best    []rollPiece
	total   int64
}

// rollPiece is one length of the strip.
type rollPiece struct {
	places []Place
	length int64
}

// NewRolls makes a first packing; pieces are cut with scissors.
func NewRolls(pieces []Piece, width, longest int64, opt Options) (*RollSearch, error) {
	scaled, w, h, unit := scale(upright(pieces), width, longest)
	for i, p := range scaled {
		if p.Count > 0 && !fitsAlone(p, w, h) {
			return nil, TooLarge{i}
		}
	}
	b := newBeam(scaled, w, gapSteps, nil)
	r := &RollSearch{given: pieces, unit: unit, pieces: scaled, longest: h, beam: b,
		search: newSearch(area(scaled), stripCooling, opt), total: unbounded}
	r.sweep()
	r.part()
	b.stop = opt.Stop
	return r, nil
}

// Improve searches for about so many tries more and returns how many it took.
func (r *RollSearch) Improve(tries int) int {
	from := r.search.tries
	r.search.opt.Iterations = r.search.tries + tries
	for r.beam.pieces > 0 && !r.search.over() && r.kept() <= mostKept {
		r.sweep()
	}
	return r.search.tries - from
}

func (r *RollSearch) kept() int { return 1 << (r.sweeps / sweepsEach) }

// sweep fills length after length with what is worth most, packs the last one
// short, and learns from it.
func (r *RollSearch) sweep() {
	r.beam.price(recipes[r.sweeps/2%len(recipes)])
	kept := r.kept()
	r.sweeps++
	before := r.beam.opened
	patterns, ok := r.beam.fillAll(r.longest, kept)
	r.search.tries += 1 + (r.beam.opened-before)*sweepTries/max(1, r.beam.pieces)
	if !ok {
		return
	}
	r.beam.learnSheets(patterns, r.longest)
	var out []rollPiece
	var total int64
	for i, p := range patterns {
		if i == len(patterns)-1 && p.times == 1 {
			p.places = r.shorten(p.places, kept)
		}
		top := topOf(p.places)
		for range p.times {
			out = append(out, rollPiece{p.places, top})
			total += top
		}
	}
	if total < r.total {
		r.best, r.total = out, total
	}
}

// part tries to give every length its share of each shape. To fill length after length
// leaves the last one what is hardest to place, such as large pieces without the small
// ones that would fill the room beside them.
func (r *RollSearch) part() {
	for full := int64(100); full >= 94 && len(r.best) > 1; full-- {
		left, ahead := r.shapes(nil), r.total
		for i := range r.beam.shapes {
			left[i].Count = int(r.beam.shapes[i].count)
		}
		var out []rollPiece
		var total int64
		for len(out) < len(r.best) {
			share := slices.Clone(left)
			if most := r.longest * full / 100; ahead > most {
				for i := range share {
					share[i].Count = int((int64(left[i].Count)*most + ahead/2) / ahead)
				}
				ahead -= most
			}
			places, ok := r.low(share, r.longest, 4)
			if !ok {
				break
			}
			for i := range left {
				left[i].Count -= share[i].Count
			}
			out = append(out, rollPiece{places, topOf(places)})
			total += topOf(places)
		}
		if len(out) == len(r.best) && countOf(left) == 0 && total < r.total {
			r.best, r.total = out, total
		}
	}
}

func countOf(pieces []Piece) (n int) {
	for i := range pieces {
		n += pieces[i].Count
	}
	return n
}

// shapes lists how many pieces of each shape are among places.
func (r *RollSearch) shapes(places []Place) []Piece {
	counts := make([]Piece, len(r.beam.shapes))
	for i, s := range r.beam.shapes {
		counts[i] = Piece{W: s.w, H: s.h, Turn: s.turn}
	}
	for i := range places {
		counts[places[i].Piece].Count++
	}
	return counts
}

// shorten packs the pieces of one length again, as low as a beam does.
func (r *RollSearch) shorten(places []Place, kept int) []Place {
	if lower, ok := r.low(r.shapes(places), topOf(places)-1, 4*kept); ok {
		return lower
	}
	return places
}

// low packs pieces as low as a beam does; false where none is as low as most.
func (r *RollSearch) low(counts []Piece, most int64, beamWidth int) (places []Place, done bool) {
	b := newBeam(counts, r.beam.width, gapSteps, r.beam.stop)
	for _, hard := range recipes[:3] {
		b.price(hard)
		found, top, ok := b.pass(most, beamWidth)
		r.search.tries += b.opened * sweepTries / max(1, r.beam.pieces)
		b.opened = 0
		if !ok || top > most {
			continue
		}
		places, most, done = b.name(found, counts), top-1, true
	}
	return places, done
}

// Best returns the lengths, the places on each, and how long each is.
func (r *RollSearch) Best() (rolls [][]Place, lengths []int64) {
	var all []Place
	for _, p := range r.best {
		all = append(all, p.places...)
	}
	all = asGiven(unscale(r.beam.name(all, r.pieces), r.unit), r.given)
	for _, p := range r.best {
		rolls = append(rolls, slices.Clone(all[:len(p.places)]))
		lengths = append(lengths, p.length*r.unit)
		all = all[len(p.places):]
	}
	return rolls, lengths
}

// Bands parts places on a strip where lines across it meet no piece, and groups
// the parts, longest first, into lengths of at most longest; ok is false when a
// part is longer. The parts of a length follow each other without a gap.
func Bands(places []Place, longest int64) (rolls [][]Place, lengths []int64, ok bool) {
	sorted := slices.Clone(places)
	slices.SortStableFunc(sorted, func(a, b Place) int { return int(min(1, max(-1, a.Y-b.Y))) })
	type part struct {
		places  []Place
		y, high int64
	}
	var parts []part
	for _, p := range sorted {
		n := len(parts)
		if n == 0 || p.Y >= parts[n-1].y+parts[n-1].high {
			parts = append(parts, part{y: p.Y})
			n++
		}
		last := &parts[n-1]
		last.places = append(last.places, p)
		last.high = max(last.high, p.Y+p.H-last.y)
	}
	slices.SortStableFunc(parts, func(a, b part) int { return int(min(1, max(-1, b.high-a.high))) })
	for _, part := range parts {
		if part.high > longest {
			return nil, nil, false
		}
		at := slices.IndexFunc(lengths, func(l int64) bool { return l+part.high <= longest })
		if at < 0 {
			at = len(lengths)
			rolls, lengths = append(rolls, nil), append(lengths, 0)
		}
		for _, p := range part.places {
			p.Y += lengths[at] - part.y
			rolls[at] = append(rolls[at], p)
		}
		lengths[at] += part.high
	}
	return rolls, lengths, true
}
