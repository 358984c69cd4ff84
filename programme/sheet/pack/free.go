package pack

import (
	"cmp"
	"slices"
)

// Rect is a rectangle on a sheet.
type Rect struct{ X, Y, W, H int64 }

// Free returns the largest rectangles of a sheet on which nothing lies, lowest
// and leftmost first; they overlap each other.
func Free(places []Place, width, height int64) []Rect {
	free := []Rect{{0, 0, width, height}}
	for i := range places {
		free = without(free, &places[i])
	}
	slices.SortFunc(free, func(a, b Rect) int {
		return cmp.Or(cmp.Compare(a.Y, b.Y), cmp.Compare(a.X, b.X), cmp.Compare(a.W, b.W))
	})
	return free
}

// without cuts a place out of free rectangles: each one that it touches is
// replaced by what is left beside it on four sides.
func without(free []Rect, p *Place) []Rect {
	out := make([]Rect, 0, len(free)+4)
	var fresh []Rect
	for _, r := range free {
		if p.X >= r.X+r.W || p.X+p.W <= r.X || p.Y >= r.Y+r.H || p.Y+p.H <= r.Y {
			out = append(out, r)
			continue
		}
		for _, s := range []Rect{
			{r.X, r.Y, p.X - r.X, r.H},
			{p.X + p.W, r.Y, r.X + r.W - p.X - p.W, r.H},
			{r.X, r.Y, r.W, p.Y - r.Y},
			{r.X, p.Y + p.H, r.W, r.Y + r.H - p.Y - p.H},
		} {
			if s.W > 0 && s.H > 0 {
				fresh = append(fresh, s)
			}
		}
	}
	for i, r := range fresh {
		inside := slices.ContainsFunc(out, func(o Rect) bool { return o.holds(r) }) ||
			slices.ContainsFunc(fresh[i+1:], func(o Rect) bool { return o.holds(r) })
		if !inside {
			out = append(out, r)
		}
	}
	return out
}

func (r Rect) holds(s Rect) bool {
	return r.X <= s.X && r.Y <= s.Y && r.X+r.W >= s.X+s.W && r.Y+r.H >= s.Y+s.H
}
