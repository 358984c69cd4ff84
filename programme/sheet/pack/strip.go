package pack

import (
	"math"
	"slices"
)

// Strip packs all pieces on a strip of the given width and returns where they
// lie and the height used. Width runs along X. An error of type TooLarge names
// a piece wider than the strip.
func Strip(pieces []Piece, width int64, opt Options) ([]Place, int64, error) {
	s, err := NewStrip(pieces, width, opt)
	if err != nil {
		return nil, 0, err
	}
	s.Improve(opt.Iterations)
	places, height := s.Best()
	return places, height, nil
}

// StripSearch is a search for a low strip that can be taken up again: improving
// it twice is the same as improving it once for as long as both.
type StripSearch struct {
	given []Piece
	unit  int64
	strip *strip
}

// NewStrip packs without a search; see Strip.
func NewStrip(pieces []Piece, width int64, opt Options) (*StripSearch, error) {
	scaled, w, _, unit := scale(upright(pieces), width, 0)
	for i, p := range scaled {
		if p.Count > 0 && p.W > w && (!p.Turn || p.H > w) {
			return nil, TooLarge{i}
		}
	}
	opt.LongestCut /= unit
	s := newStrip(scaled, w, opt)
	s.first()
	return &StripSearch{pieces, unit, s}, nil
}

// Improve searches for about so many tries more, to the end of a run, and
// returns how many it took.
func (s *StripSearch) Improve(tries int) int {
	return s.strip.goOn(tries, s.strip.improve)
}

// Best returns the lowest packing found and its height.
func (s *StripSearch) Best() ([]Place, int64) {
	return asGiven(unscale(slices.Clone(s.strip.best), s.unit), s.given), s.strip.height * s.unit
}

// Packing holds the places of pieces on a strip and the height they take up.
type Packing struct {
	Places []Place
	Height int64
}

// Nearly is the part of the height that counts for little against less work for
// the person who cuts.
const Nearly = 0.003

// Near returns the packings for a trimmer found since it was last asked that are
// nearly as low as the best of their time, or lower.
func (s *StripSearch) Near() []Packing {
	near := s.strip.near
	s.strip.near = nil
	for i, p := range near {
		near[i] = Packing{asGiven(unscale(slices.Clone(p.Places), s.unit), s.given), p.Height * s.unit}
	}
	return near
}

// Bound returns a height that no packing is below.
func (s *StripSearch) Bound() int64 { return s.strip.floor * s.unit }

// strip is the state of one strip search, in scaled units.
type strip struct {
	*search
	pieces []Piece
	elems  []element
	width  int64
	floor  int64 // no packing is lower
	height int64 // of best
	best   []Place
	// along builds with the strip upright; across lays it on its side, filling
	// a strip as wide as the target height up to the true width. A perfect
	// packing is as good either way, and the two heuristics fail differently.
	along, across []builder
	step          int64 // by which the height is to fall next
	runs          int   // starts of the search over sequences
	begun         int   // of them, those that began anew
	leader        leader
	beam          *beam
	sections      *sections // in the place of the beam where cuts are straight
	near          []Packing // of the sections, since last asked for
	sweeps        int
	beamTries     int // of tries, those of the beam
	beamShare     float64
	leastShare    float64
	missed        bool // the last pass of the beam found nothing
}

func newStrip(pieces []Piece, width int64, opt Options) *strip {
	elems := elements(pieces)
	sideways := make([]element, len(elems))
	for i, e := range elems {
		e.w, e.h = e.h, e.w
		sideways[i] = e
	}
	total := area(pieces)
	s := &strip{
		search: newSearch(total, stripCooling, opt), pieces: pieces, elems: elems, width: width,
		floor:  stripBound(pieces, width, total),
		along:  stripBuilders(elems, opt.Guillotine, opt.LongestCut),
		across: stripBuilders(sideways, opt.Guillotine, 0), // its long cuts run across the strip
	}
	if len(elems) > 0 {
		s.beam = newBeam(pieces, width, gapSteps, opt.Stop)
		s.beam.judged = fewWays
		if opt.Guillotine {
			s.sections = newSections(s.beam, opt.LongestCut, opt.Seed)
		}
	}
	s.beamShare, s.leastShare = 0.5, leastShare
	switch {
	case s.beam == nil || s.beam.pieces <= manyPieces:
	case s.beam.pieces < fewCopies*len(s.beam.shapes):
		s.beamShare, s.leastShare = hardlyShare, hardlyShare
	default:
		s.beamShare = 0.85
	}
	return s
}

const (
	// manyPieces is the number of pieces from which sequences are so long that a beam gets most of
	// the effort.
	manyPieces = 120
	// fewCopies is the number of pieces of each shape that this takes: where hardly two
	// are alike, a beam is often left with what fits nowhere, and then gets hardly any.
	fewCopies   = 2
	hardlyShare = 0.05
)

// stripBuilders returns the heuristics that take turns.
func stripBuilders(elems []element, guillotine bool, longestCut int64) []builder {
	if guillotine {
		return []builder{&guillotiner{elems: elems, longest: longestCut}}
	}
	return []builder{newBuilder(elems, false), newPlainBuilder(elems)}
}

// StripBound returns a height that no packing on a strip of that width is below.
func StripBound(pieces []Piece, width int64) int64 { return stripBound(pieces, width, area(pieces)) }

// stripBound returns the greatest of the area bound, the tallest piece as it must lie,
// and the bounds by dual feasible functions of the widths (see binBound): what a
// line across the strip meets has weights that add up to 1 at the most.
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
	fs, _ := dualFeasible(pieces, width, width)
	for _, f := range fs {
		floor = max(floor, int64(math.Ceil(weighRows(pieces, width, f)*(1-1e-9))))
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
	if sky, ok := b.(*skyline); ok {
		sky.near = 0
	}
	b.load(order)
	b.fill(s.width, unbounded)
	if top := topOf(b.result()); top < s.height {
		s.height = top
		s.best = toPieces(b.result(), s.elems)
	}
}

func topOf(places []Place) int64 {
	var y int64
	for i := range places {
		y = max(y, places[i].Y+places[i].H)
	}
	return y
}

// improve lowers the height as long as the budget lasts. A beam and the search
// over sequences take turns, each with about half the effort: the one is better
// where many copies are needed, the other where pieces must fit exactly.
func (s *strip) improve() {
	for s.height > s.floor && !s.over() {
		share := s.beamShare
		if s.exact() {
			share = min(share, hardlyShare)
		}
		if s.beam != nil && float64(s.beamTries)*(1-share) <= float64(s.tries-s.beamTries)*share {
			s.inTurn(s.sweep, shareStep)
			continue
		}
		s.inTurn(s.descend, -shareStep)
	}
}

// exact reports that the next height sought leaves less over than a mean element of
// the sequence takes up: hardly anything may be wasted, and a beam that judges by what
// is wasted cannot tell its states apart. In the published sets of small whole numbers
// it is the last step to the optimum, and a beam has not once made it.
func (s *strip) exact() bool {
	return s.width*(s.height-1)-s.total < s.total/int64(max(1, len(s.elems)))
}

// The beam's share of the effort goes up and down with what it and the other
// search still find.
const shareStep, leastShare, mostShare = 0.1, 0.15, 0.85

// inTurn lets one of the two search, and gives it more of the effort where that helped.
func (s *strip) inTurn(search func(), step float64) {
	before := s.height
	search()
	if s.height < before {
		s.beamShare = min(mostShare, max(s.leastShare, s.beamShare+step))
	}
}

// variant is a way to build from a sequence: with the strip upright or on its side,
// by which heuristic, and which part of the width lengths may differ by and still be
// taken as equal (0 = by nothing).
type variant struct {
	sideways, plain bool
	near            int64
}

// variants take turns. Lengths to a tenth of a millimetre hardly ever are equal, so
// that near ones are tried early.
var variants = []variant{
	{}, {sideways: true}, {plain: true}, {sideways: true, plain: true},
	{near: 250}, {sideways: true, near: 250}, {near: 1000}, {sideways: true, near: 1000},
	{plain: true, near: 500}, {sideways: true, plain: true, near: 500}, {near: 500}, {sideways: true, near: 500},
}

// leader holds the try that lowered the height last, and how often it was taken up again in vain.
type leader struct {
	order   []int32
	variant variant
	vain    int
}

const (
	// takenUp is the number of runs, of takenOf, that take up what lowered the height last, once
	// every variant had its turn; the others begin anew.
	takenUp, takenOf = 3, 4
	// mostVain is the number of times that one is taken up in vain before all runs begin anew.
	mostVain = 24
	// gentle is which part of the usual heat it is taken up with.
	gentle = 0.3
	// finest is the part of the height that it is to fall by at the least.
	finest = 10_000
)

// descend searches sequences from one start until that leads no further.
func (s *strip) descend() {
	if s.step == 0 {
		s.step = max(1, s.height/500)
	}
	var order []int32
	var v variant
	steps := runLength(len(s.elems), s.runs)
	again := s.begun >= len(variants) && s.leader.order != nil && s.leader.vain < mostVain && s.runs%takenOf < takenUp
	if again {
		order, v = slices.Clone(s.leader.order), s.leader.variant
		s.leader.vain++
		s.cool.hot = stripCooling.hot * gentle
	} else {
		s.cool.hot = stripCooling.hot
		steps = min(longestRun, steps<<min(8, s.begun/(2*len(variants))))
		order, v = sorted(s.elems, s.begun), variants[s.begun%len(variants)]
		s.begun++
	}
	met := false
	for s.height > s.floor && s.lower(order, max(s.floor, s.height-s.step), v, steps) {
		met = true
		s.leader = leader{order: slices.Clone(order), variant: v}
	}
	s.runs++
	if met {
		return
	}
	s.step = max(1, s.height/finest, s.step/2)
	if !again {
		s.open(order)
	}
}

// lower runs the search for a packing no higher than target.
func (s *strip) lower(order []int32, target int64, v variant, steps int) bool {
	if s.opt.LongestCut > 0 && target > s.opt.LongestCut {
		v.sideways = false // its first cuts run along the whole strip
	}
	builders, width, limit := s.along, s.width, target
	if v.sideways {
		builders, width, limit = s.across, target, s.width
	}
	b := builders[0]
	if v.plain {
		b = builders[len(builders)-1]
	}
	if sky, ok := b.(*skyline); ok {
		sky.near = 0
		if v.near > 0 {
			sky.near = s.width / v.near
		}
	}
	s.flips = len(builders) == 1 || v.plain
	build := func(order []int32) int64 {
		b.load(order)
		return b.fill(width, limit)
	}
	if !s.anneal(order, steps, build) {
		return false
	}
	build(order)
	s.best = toPieces(b.result(), s.elems)
	if v.sideways {
		for i := range s.best {
			p := &s.best[i]
			p.X, p.Y, p.W, p.H = p.Y, p.X, p.H, p.W
		}
	}
	s.height = topOf(s.best)
	return true
}
