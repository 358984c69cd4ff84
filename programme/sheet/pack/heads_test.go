package pack

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// scanned is what choose must find, by a look at every slot in every way it may lie.
func scanned(s *skyline, g hollow) choice {
	best := choice{at: -1, score: -1}
	for i := range s.slots {
		p := &s.slots[i]
		upright := p.left > 0 && p.w <= g.w && p.h <= g.room
		turned := p.left > 0 && p.turn && p.h <= g.w && p.w <= g.room
		if s.plain {
			if turned && (p.flip || !upright) {
				return choice{at: i, w: p.h, h: p.w, turn: true}
			}
			if upright {
				return choice{at: i, w: p.w, h: p.h}
			}
			continue
		}
		if upright {
			if v := g.score(p.w, p.h, s.near); v > best.score {
				best = choice{i, v, p.w, p.h, false}
			}
		}
		if turned {
			if v := g.score(p.h, p.w, s.near); v > best.score {
				best = choice{i, v, p.h, p.w, true}
			}
		}
	}
	if s.plain {
		return choice{at: -1}
	}
	return best
}

// TestTheBestFitIsFound compares every choice while sheets are filled with a look
// at all pieces left.
func TestTheBestFitIsFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pieces := make([]Piece, rapid.IntRange(1, 8).Draw(t, "shapes"))
		for i := range pieces {
			pieces[i] = Piece{
				W: rapid.Int64Range(1, 5).Draw(t, "w"), H: rapid.Int64Range(1, 5).Draw(t, "h"),
				Count: rapid.IntRange(0, 9).Draw(t, "count"), Turn: rapid.Bool().Draw(t, "turn"),
			}
		}
		elems := elements(pieces)
		order := rapid.Permutation(sorted(elems, 0)).Draw(t, "order")
		for i := range order {
			order[i] ^= int32(rapid.IntRange(0, 1).Draw(t, "flip"))
		}
		s := newSkyline(elems, rapid.Bool().Draw(t, "plain"))
		s.near = rapid.Int64Range(0, 1).Draw(t, "near")
		s.load(order)
		limit := rapid.SampledFrom([]int64{8, unbounded}).Draw(t, "limit")
		for range 3 { // sheets of one sequence
			s.segs, s.places = append(s.segs[:0], segment{w: 7}), s.places[:0]
			for len(s.heads) > 0 {
				at := lowestOf(s.segs)
				g := s.gap(at, limit)
				c := s.choose(g)
				require.Equal(t, scanned(s, g), c)
				if c.at >= 0 {
					s.put(at, g, c)
				} else if !s.raise(at, limit) {
					break
				}
			}
			require.Equal(t, len(s.heads) == 0, s.remaining() == 0)
		}
	})
}
