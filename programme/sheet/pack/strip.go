package pack

// Strip packs all pieces on a strip of the given width and returns where they
// lie and the height used. Width runs along X. An error of type TooLarge names
// a piece wider than the strip.
func Strip(pieces []Piece, width int64, opt Options) ([]Place, int64, error) {
	scaled, w, _, unit := scale(pieces, width, 0)
	for i, p := range scaled {
		if p.Count > 0 && p.W > w && (!p.Turn || p.H > w) {
			return nil, 0, TooLarge{i}
		}
	}
	s := newStrip(scaled, w, opt)
	s.first()
	s.improve()
	return unscale(toPieces(s.best, s.elems), unit), s.height * unit, nil
}

// strip is the state of one strip search, in scaled units.
type strip struct {
	*search
	elems  []element
	width  int64
	floor  int64 // no packing is lower
	height int64 // of best
	best   []Place
	// along builds with the strip upright; across lays it on its side, filling
	// a strip as wide as the target height up to the true width. A perfect
	// packing is as good either way, and the two heuristics fail differently.
	along, across []builder
}

func newStrip(pieces []Piece, width int64, opt Options) *strip {
	elems := elements(pieces)
	sideways := make([]element, len(elems))
	for i, e := range elems {
		e.w, e.h = e.h, e.w
		sideways[i] = e
	}
	total := area(pieces)
	return &strip{
		search: newSearch(total, stripCooling, opt), elems: elems, width: width,
		floor:  stripBound(pieces, width, total),
		along:  stripBuilders(elems, opt.Guillotine),
		across: stripBuilders(sideways, opt.Guillotine),
	}
}

// stripBuilders are the heuristics that take turns.
func stripBuilders(elems []element, guillotine bool) []builder {
	best := newBuilder(elems, guillotine)
	if guillotine {
		return []builder{best}
	}
	return []builder{best, best, newPlainBuilder(elems)}
}

// StripBound returns a height that no packing on a strip of that width is below.
func StripBound(pieces []Piece, width int64) int64 { return stripBound(pieces, width, area(pieces)) }

// stripBound is the greater of the area bound and the tallest piece as it must lie.
func stripBound(pieces []Piece, width, total int64) int64 {
	floor := (total + width - 1) / max(1, width)
	for _, p := range pieces {
		if p.Count == 0 {
			continue
		}
		tall := p.H
		if p.Turn && p.H <= width {
			tall = min(tall, p.W)
			if p.W > width {
				tall = p.W
			}
		}
		floor = max(floor, tall)
	}
	return floor
}

// first tries each sorted sequence once without a limit of height.
func (s *strip) first() {
	s.height = unbounded
	if len(s.elems) == 0 {
		s.height = 0
	}
	for k := range starts {
		s.open(sorted(s.elems, k))
		if s.height <= s.floor || (s.opt.Stop != nil && s.opt.Stop()) {
			return
		}
	}
}

// open packs a sequence with no limit of height and keeps it if it is lower.
func (s *strip) open(order []int32) {
	b := s.along[0]
	b.load(order)
	b.fill(s.width, unbounded)
	if top := topOf(b.result()); top < s.height {
		s.height = top
		s.best = append(s.best[:0], b.result()...)
	}
}

func topOf(places []Place) int64 {
	var y int64
	for i := range places {
		y = max(y, places[i].Y+places[i].H)
	}
	return y
}

// improve lowers the height as long as the budget lasts.
func (s *strip) improve() {
	step := max(1, s.height/500)
	for run := 0; s.height > s.floor && !s.over(); run++ {
		order := sorted(s.elems, run)
		met := false
		for s.height > s.floor && s.lower(order, max(s.floor, s.height-step), run) {
			met = true
		}
		if !met {
			step = max(1, step/2)
			s.open(order)
		}
	}
}

// lower runs the search for a packing no higher than target. Runs take turns
// between the strip upright and on its side, and between heuristics.
func (s *strip) lower(order []int32, target int64, run int) bool {
	sideways := run%2 == 1
	which := run / 2 % len(s.along)
	b, width, limit := s.along[which], s.width, target
	if sideways {
		b, width, limit = s.across[which], target, s.width
	}
	s.flips = len(s.along) == 1 || which == len(s.along)-1
	build := func(order []int32) int64 {
		b.load(order)
		return b.fill(width, limit)
	}
	steps := runLength(len(order), s.opt.Iterations-s.tries)
	if !s.anneal(order, steps, build) {
		return false
	}
	build(order)
	s.best = append(s.best[:0], b.result()...)
	if sideways {
		for i := range s.best {
			p := &s.best[i]
			p.X, p.Y, p.W, p.H = p.Y, p.X, p.H, p.W
		}
	}
	s.height = topOf(s.best)
	return true
}
