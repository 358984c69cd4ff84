package pack

// recipes are the factors by which a beam raises the value of pieces that are hard to place.
var recipes = []float64{0.3, 0.1, 0.6, 0.03, 1}

const (
	// sweepsEach is the number of passes that are made before the beam gets twice as wide.
	sweepsEach = 4
	// learnGain is the share of the waste around a piece by which its value rises.
	learnGain = 0.5
	// mostKept is the width beyond which the states of a beam fill too much memory.
	mostKept = 1 << 13
	// sweepTries is the price of a beam's pass of width 1, in tries of sequences.
	sweepTries = 20
)

// sweep is one pass of the beam. What it finds teaches the next pass, even
// when it is no better; where the height sought was too low to find anything,
// the next pass may be as high as it likes, to learn again.
func (s *strip) sweep() {
	if s.sections != nil {
		s.section()
		return
	}
	b := s.beam
	b.price(recipes[s.sweeps/2%len(recipes)])
	kept := 1 << (s.sweeps / sweepsEach)
	if kept > mostKept {
		s.beam = nil
		return
	}
	s.sweeps++
	limit := s.height - max(1, s.height/4000)
	if s.missed {
		limit = unbounded
	}
	before := b.opened
	places, top, ok := b.pass(limit, kept)
	tries := 1 + (b.opened-before)*sweepTries/max(1, b.pieces)
	s.tries += tries
	s.beamTries += tries
	if s.missed = !ok; !ok {
		return
	}
	b.learn(places, top, learnGain)
	if top < s.height {
		s.height, s.best = top, b.name(places, s.pieces)
	}
}

// sectionTries is the number of tries that filling a thousand sections counts for.
const sectionTries = 1500

// section is one build of sections.
func (s *strip) section() {
	b := s.beam
	b.price(recipes[s.sweeps%len(recipes)])
	before := b.opened
	s.sections.otherWay = otherWays[s.sweeps%len(otherWays)]
	places, top := s.sections.build(8 << min(3, s.sweeps/8))
	s.sweeps++
	tries := 1 + (b.opened-before)*sectionTries/1000
	s.tries += tries
	s.beamTries += tries
	b.learn(places, top, learnGain)
	if float64(top) > float64(s.height)*(1+Nearly) {
		return
	}
	near := Packing{b.name(s.sections.tidy(), s.pieces), top}
	s.near = append(s.near, near)
	if top < s.height {
		s.height, s.best = top, near.Places
	}
}

// name replaces shape numbers by numbers of pieces.
func (b *beam) name(places []Place, pieces []Piece) []Place {
	type stack struct{ piece, left int }
	of := make([][]stack, len(b.shapes))
	for i, p := range pieces {
		if p.Count > 0 {
			k := b.shapeOf(p)
			of[k] = append(of[k], stack{i, p.Count})
		}
	}
	out := make([]Place, len(places))
	for i, at := range places {
		list := of[at.Piece]
		p := pieces[list[0].piece]
		out[i] = Place{list[0].piece, at.X, at.Y, at.W, at.H, at.W != p.W}
		if list[0].left--; list[0].left == 0 {
			of[at.Piece] = list[1:]
		}
	}
	return out
}

func (b *beam) shapeOf(p Piece) int {
	key := keyOf(p)
	for i, s := range b.shapes {
		s.count = 0
		if s == key {
			return i
		}
	}
	return -1
}
