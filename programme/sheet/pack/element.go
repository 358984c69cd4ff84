package pack

import "slices"

// element is an entry of the sequence that the search reorders: some equal
// pieces that the builder may use one by one.
type element struct {
	w, h  int64
	piece int32
	count int32
	turn  bool // turning is allowed and changes something
}

// maxElements bounds the length of the sequence: beyond it equal pieces share
// an entry, since a scan of the sequence is the cost of every placement.
const maxElements = 400

// elements spreads pieces over sequence entries, one each while there are few.
func elements(pieces []Piece) []element {
	total := 0
	for _, p := range pieces {
		total += p.Count
	}
	chunk := (total + maxElements - 1) / maxElements
	var out []element
	for i, p := range pieces {
		for left := p.Count; left > 0; left -= chunk {
			out = append(out, element{p.W, p.H, int32(i), int32(min(left, chunk)), p.Turn && p.W != p.H})
		}
	}
	return out
}

// upright has every piece that may be turned lie on its longer side, so that it
// makes no difference which way round its sides were given.
func upright(pieces []Piece) []Piece {
	out := slices.Clone(pieces)
	for i := range out {
		if p := &out[i]; p.Turn && p.W < p.H {
			p.W, p.H = p.H, p.W
		}
	}
	return out
}

// asGiven says again which places are turned from the way pieces were given.
func asGiven(places []Place, pieces []Piece) []Place {
	for i := range places {
		p := &pieces[places[i].Piece]
		places[i].Turned = p.W != p.H && places[i].W != p.W
	}
	return places
}

// oneShape returns the one size that all pieces have; ok is false when they
// have several, or there is none.
func oneShape(pieces []Piece) (p Piece, ok bool) {
	for _, q := range pieces {
		switch {
		case q.Count == 0:
		case p.Count == 0:
			p = q
		case q.W != p.W || q.H != p.H || (q.Turn != p.Turn && q.W != q.H):
			return p, false
		}
	}
	return p, p.Count > 0
}

// scale divides all lengths by their greatest common divisor, so that the
// target height can be lowered by one step of what the pieces can make. Width
// is rounded down to a multiple, which takes nothing away that could be used.
func scale(pieces []Piece, width, height int64) (scaled []Piece, w, h, unit int64) {
	for _, p := range pieces {
		unit = gcd(unit, gcd(p.W, p.H))
	}
	if unit <= 1 {
		return pieces, width, height, 1
	}
	scaled = slices.Clone(pieces)
	for i := range scaled {
		scaled[i].W /= unit
		scaled[i].H /= unit
	}
	return scaled, width / unit, height / unit, unit
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// unscale brings places back to the caller's unit.
func unscale(places []Place, unit int64) []Place {
	for i := range places {
		p := &places[i]
		p.X, p.Y, p.W, p.H = p.X*unit, p.Y*unit, p.W*unit, p.H*unit
	}
	return places
}

func area(pieces []Piece) int64 {
	var a int64
	for _, p := range pieces {
		a += p.W * p.H * int64(p.Count)
	}
	return a
}
