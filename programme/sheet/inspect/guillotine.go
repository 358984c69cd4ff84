package inspect

import (
	"cmp"
	"slices"

	"github.com/kitmuster/kitmuster/programme/sheet"
)

// Box is a rectangle from (X0, Y0) to (X1, Y1).
type Box struct{ X0, Y0, X1, Y1 int64 }

// Boxes returns the images of a layout.
func Boxes(l *sheet.Layout) []Box {
	out := make([]Box, 0, len(l.Items))
	for _, it := range l.Items {
		out = append(out, Box{int64(it.X), int64(it.Y), int64(it.X + it.W), int64(it.Y + it.H)})
	}
	return out
}

// Guillotine reports whether straight cuts from edge to edge part all boxes.
// A cut that meets no box can always be made first without harm, so the first
// one found is taken and both sides are looked at by themselves.
func Guillotine(boxes []Box) bool {
	if len(boxes) <= 1 {
		return true
	}
	n, ok := split(boxes, func(b Box) (int64, int64) { return b.X0, b.X1 })
	if !ok {
		n, ok = split(boxes, func(b Box) (int64, int64) { return b.Y0, b.Y1 })
	}
	return ok && Guillotine(slices.Clone(boxes[:n])) && Guillotine(slices.Clone(boxes[n:]))
}

// split sorts boxes by where they begin and finds a line with n of them wholly before it.
func split(boxes []Box, ends func(Box) (from, to int64)) (n int, ok bool) {
	slices.SortFunc(boxes, func(a, b Box) int {
		fa, _ := ends(a)
		fb, _ := ends(b)
		return cmp.Compare(fa, fb)
	})
	_, reach := ends(boxes[0])
	for i := 1; i < len(boxes); i++ {
		from, to := ends(boxes[i])
		if from >= reach {
			return i, true
		}
		reach = max(reach, to)
	}
	return 0, false
}
