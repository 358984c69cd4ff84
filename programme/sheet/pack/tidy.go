package pack

// Islands counts the groups of equal pieces that lie together the same way: a
// person who cuts a sheet apart takes off one group at a time. both is how many
// kinds of piece lie both ways.
func Islands(places []Place) (islands, both int) {
	group := make([]int, len(places))
	for i := range group {
		group[i] = i
	}
	root := func(i int) int {
		for group[i] != i {
			group[i] = group[group[i]]
			i = group[i]
		}
		return i
	}
	ways := map[int]int{}
	islands = len(places)
	for i := range places {
		p := &places[i]
		way := 1
		if p.Turned {
			way = 2
		}
		if seen := ways[p.Piece]; seen != 3 && seen|way == 3 {
			both++
		}
		ways[p.Piece] |= way
		for j := range places[:i] {
			q := &places[j]
			if p.Piece != q.Piece || p.Turned != q.Turned || !touch(p, q) {
				continue
			}
			if a, b := root(i), root(j); a != b {
				group[a] = b
				islands--
			}
		}
	}
	return islands, both
}

// touch reports that two places share a part of an edge.
func touch(p, q *Place) bool {
	across := min(p.X+p.W, q.X+q.W) - max(p.X, q.X)
	along := min(p.Y+p.H, q.Y+q.H) - max(p.Y, q.Y)
	return (across == 0 && along > 0) || (along == 0 && across > 0)
}

const (
	// tidyWork bounds one pass of a tidying beam, in ways to lay a piece that are judged.
	tidyWork = 1_000_000
	// tidyKept is the greatest width of it.
	tidyKept = 64
)

// tidyHabit is the cost of beginning another island in every search: a trifle,
// which leads a beam to full rows of equal pieces too, and so to shorter rolls.
const tidyHabit = 0.05

// untidy is the cost of beginning another island, in areas of a mean piece.
var untidy = []float64{0.1, 0.25, 0.6}

// Tidy looks for a packing of the same pieces that is no higher than limit and
// has fewer islands and fewer kinds that lie both ways. It returns places where
// it finds none. The effort is small and always the same.
func Tidy(pieces []Piece, width, limit int64, places []Place) []Place {
	counts := make([]Piece, len(pieces))
	for i, p := range pieces {
		p.Count = 0
		counts[i] = p
	}
	for i := range places {
		counts[places[i].Piece].Count++
	}
	scaled, w, h, unit := scale(upright(counts), width, limit)
	b := newBeam(scaled, w, gapSteps, nil)
	islands, both := Islands(places)
	kinds := len(b.shapes)
	if b.pieces == 0 || islands+both <= kinds {
		return places
	}
	kept := max(1, min(tidyKept, tidyWork/max(1, b.pieces*len(b.lays))))
	least := islands + both
	for _, b.untidy = range untidy {
		for _, hard := range recipes[:2] {
			b.price(hard)
			found, _, ok := b.pass(h, kept)
			if !ok {
				continue
			}
			named := asGiven(unscale(b.name(found, scaled), unit), pieces)
			if n, both := Islands(named); n+both < least {
				least, places = n+both, named
			}
		}
	}
	return places
}
